import type { ProfileContent } from '../../station/profile/schema.ts';
import type { LedgerReader } from '../store/reader.ts';
import { admit } from './attempt.ts';
import type { Fixture, Loaded } from './fixture.ts';
import { Refusal } from './line.ts';

/** What decides whether a serial may be tested now. */
export interface Gatekeeper {
  readonly store: LedgerReader;
  readonly content: ProfileContent;
  readonly plant: readonly ProfileContent[];
  readonly retests: number;
}

const matches = (content: ProfileContent, serial: string): boolean =>
  content.serial.rule === 'required' && new RegExp(`^(?:${content.serial.pattern})$`, 'u').test(serial);

/**
 * A serial for the fed nest, checked in the order in which a person would: is it one, is it of this part number, is it
 * here already, was it tested before. Throws the Refusal that names what is wrong.
 */
export function admitSerial(
  serial: string,
  typed: boolean,
  fixture: Fixture,
  { store, content, plant, retests }: Gatekeeper,
): Loaded {
  if (!matches(content, serial)) {
    const other = plant.find((each) => each.partNumber !== content.partNumber && matches(each, serial));
    if (other === undefined) throw new Refusal('not-a-serial', { serial, partNumber: content.partNumber });
    throw new Refusal('other-part-number', { serial, other: other.partNumber, partNumber: content.partNumber });
  }
  const there = fixture.loaded.find((each) => each.serial === serial);
  if (there !== undefined) throw new Refusal('already-in-nest', { serial, nest: there.nest });
  const admission = admit(store.historyOf(serial), retests);
  if (!admission.admitted) throw new Refusal(admission.code, { serial, ...admission.facts });
  return { serial, attempt: admission.attempt, wasJudged: admission.wasJudged, typed };
}

/**
 * A part that was scanned a while ago, about to be tested: it may have been tested elsewhere since. Throws the Refusal
 * that names what is wrong.
 */
export function admitAgain(
  { serial, typed }: Loaded,
  store: LedgerReader,
  retests: number,
): Pick<Loaded, 'attempt' | 'wasJudged' | 'typed'> {
  const admission = admit(store.historyOf(serial), retests);
  if (!admission.admitted) throw new Refusal(admission.code, { serial, ...admission.facts });
  return { attempt: admission.attempt, wasJudged: admission.wasJudged, typed };
}
