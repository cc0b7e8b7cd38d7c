import { Refusal } from './line.ts';

/**
 * Which parts are being tested now, and where, over all stations of one server: a part can be in one place only. What is
 * in the ledger already is the ledger's to say.
 */
export class PartsInTest {
  readonly #stationOf = new Map<string, string>();
  readonly #lastNumber = new Map<string, number>();

  /** A cycle takes these parts. Throws the Refusal `in-test-elsewhere`, naming the first; then none is taken. */
  take(station: string, serials: readonly string[]): void {
    for (const serial of serials) {
      const other = this.#stationOf.get(serial);
      if (other !== undefined && other !== station) throw new Refusal('in-test-elsewhere', { serial, station: other });
    }
    for (const serial of serials) this.#stationOf.set(serial, station);
  }

  /** The cycle of a station is over. */
  free(station: string): void {
    for (const [serial, at] of this.#stationOf) if (at === station) this.#stationOf.delete(serial);
  }

  /** The next running number of a lot's parts without serials; no number twice, whichever station asks. */
  nextNumber(lot: string, kept: number): number {
    const number = Math.max(kept, this.#lastNumber.get(lot) ?? 0) + 1;
    this.#lastNumber.set(lot, number);
    return number;
  }
}
