/**
 * What can be wrong with one instrument, whatever it measures: it can be shifted, drift, repeat its last reading or
 * say nothing. Values are in the unit of the instrument's own readings.
 */
export class Instrument {
  silent = false;
  offset = 0;
  #driftPerS = 0;
  #driftFromMs = 0;
  #stuck = false;
  #last = 0;

  drift(perS: number, fromMs: number): void {
    this.#driftPerS = perS;
    this.#driftFromMs = fromMs;
  }

  stick(): void {
    this.#stuck = true;
  }

  mend(): void {
    this.silent = false;
    this.offset = 0;
    this.#driftPerS = 0;
    this.#stuck = false;
  }

  /** What to add to a true reading at a time: constant over the few milliseconds of a block. */
  shiftAt(nowMs: number): number {
    return this.offset + (this.#driftPerS * (nowMs - this.#driftFromMs)) / 1000;
  }

  /** Lets a stuck instrument repeat itself in place of fresh readings. */
  finish(readings: Float64Array): void {
    if (this.#stuck) readings.fill(this.#last);
    else this.#last = readings[readings.length - 1]!;
  }

  /** The same for a single reading. */
  one(reading: number): number {
    if (!this.#stuck) this.#last = reading;
    return this.#last;
  }
}
