import type { Clock } from '../../../station/clock.ts';

/** The clock of a plant whose past is being made: it goes on as the rig that it follows does, and by what is added between. */
export class PlantClock implements Clock {
  #baseMs: number;
  #rig: { readonly nowMs: number } | null = null;
  #fromMs = 0;

  constructor(begin: Date) {
    this.#baseMs = begin.getTime();
  }

  nowMs(): number {
    return this.#baseMs + (this.#rig === null ? 0 : this.#rig.nowMs - this.#fromMs);
  }

  wallTime(): Date {
    return new Date(Math.round(this.nowMs()));
  }

  /** Nobody waits in a past that is made as fast as it can be. */
  sleep(ms: number): Promise<void> {
    this.pass(ms);
    return Promise.resolve();
  }

  pass(ms: number): void {
    this.#baseMs += Math.max(0, ms);
  }

  /** From here on time is this rig's. */
  follow(rig: { readonly nowMs: number }): void {
    this.#baseMs = this.nowMs();
    this.#rig = rig;
    this.#fromMs = rig.nowMs;
  }

  /** Goes to an instant that is not past; stays where it is otherwise. */
  reach(instant: Date): void {
    this.pass(instant.getTime() - this.nowMs());
  }
}
