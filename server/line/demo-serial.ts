import type { ProfileContent } from '../../station/profile/schema.ts';
import type { LedgerReader } from '../store/reader.ts';

/** Far more than a demonstration tests; beyond it no serial is offered. */
const MOST = 100_000;

/**
 * The serials that the demo's parts are marked with: part number, year and lot, running number. Each is offered until
 * it was tested; null when the part number's pattern asks for others.
 */
export class DemoSerials {
  readonly #store: LedgerReader;
  #prefix = '';
  #running = 1;

  constructor(store: LedgerReader) {
    this.#store = store;
  }

  /** The next serial of a lot that is neither in the ledger nor among `taken`. */
  next(content: ProfileContent, lot: string, year: number, taken: readonly string[]): string | null {
    if (content.serial.rule !== 'required') return null;
    const prefix = `${content.partNumber.replace('-', '')}-${year % 100}${lot
      .toUpperCase()
      .replace(/[^A-Z0-9]/g, '')
      .slice(0, 5)}-`;
    if (prefix !== this.#prefix) {
      this.#prefix = prefix;
      this.#running = 1;
    }
    const whole = new RegExp(`^(?:${content.serial.pattern})$`, 'u');
    for (; this.#running < MOST; this.#running += 1) {
      const first = serialAt(prefix, this.#running);
      if (!whole.test(first)) return null;
      if (this.#store.historyOf(first).length > 0) continue;
      // Those in the nests are not tested yet: they are passed over without being used up.
      for (let running = this.#running; running < this.#running + 100; running += 1) {
        const serial = serialAt(prefix, running);
        if (!taken.includes(serial) && this.#store.historyOf(serial).length === 0) return serial;
      }
    }
    return null;
  }
}

const serialAt = (prefix: string, running: number): string => `${prefix}${String(running).padStart(5, '0')}`;
