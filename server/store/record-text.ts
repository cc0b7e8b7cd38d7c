import type { CycleRecord } from '../../station/cycle/record.ts';
import { Judgement } from '../../station/cycle/judge.ts';
import { Reading } from '../../station/cycle/reading.ts';
import { canonicalJson } from '../../station/hash.ts';
import { checkContent } from './entry-format.ts';
import { written } from './ledger.ts';
import type { Ready } from './ledger.ts';

/** The long parts of a record, which are final long before the record is. */
export type RecordPart = Reading | Judgement;

/** As many readings, or judgements, as a record holds. */
const MOST_PARTS = 10_000;

/**
 * The stored text of records. Readings and judgements may be checked and written out while their cycle runs, so that
 * a verdict waits for the rest only. The text is the same to the byte, made ready or not.
 */
export class RecordText {
  readonly #texts = new WeakMap<RecordPart, string>();

  /** Checks a part, writes it out and freezes it; what does not fit is left for the record, which names the place. */
  makeReady(part: RecordPart): void {
    if (!('kind' in part ? Reading : Judgement).safeParse(part).success) return;
    this.#texts.set(freeze(part), canonicalJson(part));
  }

  /** A record ready to be appended. Throws `invalid-content`. */
  of(record: CycleRecord): Ready<'cycle-closed'> {
    const { measurement } = record;
    const readings = this.#known(measurement.readings);
    const judgements = this.#known(measurement.judgements);
    if (readings === undefined || judgements === undefined) {
      checkContent('cycle-closed', record);
      return written('cycle-closed', record, canonicalJson(record));
    }
    const rest = { ...record, measurement: { ...measurement, readings: [], judgements: [] } };
    checkContent('cycle-closed', rest);
    // Nothing else can read like an empty list of that name: a quote inside of a text has a backslash before it.
    const text = canonicalJson(rest)
      .replace('"judgements":[]', () => `"judgements":[${judgements}]`)
      .replace('"readings":[]', () => `"readings":[${readings}]`);
    return written('cycle-closed', record, text);
  }

  /** The texts of parts in a list; undefined unless each was made ready. */
  #known(parts: readonly RecordPart[]): string | undefined {
    if (parts.length > MOST_PARTS) return undefined;
    const texts: string[] = [];
    for (const part of parts) {
      const text = this.#texts.get(part);
      if (text === undefined) return undefined;
      texts.push(text);
    }
    return texts.join();
  }
}

/** Freezes a plain value through and through: what was written out must not change any more. */
function freeze<T>(value: T): T {
  if (typeof value !== 'object' || value === null) return value;
  for (const inner of Object.values(value)) freeze<unknown>(inner);
  return Object.freeze(value);
}
