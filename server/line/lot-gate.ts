import { lotState } from '../records/lot-standing.ts';
import type { LotName } from '../records/lot-standing.ts';
import type { LotState } from '../records/contract.ts';
import type { LedgerReader } from '../store/reader.ts';
import type { RefusalCode } from './contract.ts';
import { Refusal } from './line.ts';

const REFUSED: Readonly<Record<Exclude<LotState, 'open'>, RefusalCode>> = {
  closed: 'lot-closed',
  accepted: 'lot-accepted',
  'on-hold': 'lot-on-hold',
  rejected: 'lot-rejected',
};

/**
 * Whether the line may test for a lot: only an open one. A sample stands for the parts that the lot had when it was drawn,
 * and a decision is about those: a part that is made later, or one that failed and passes at a retest, would go out under
 * a sample that it could not be in. So a retest for a closed lot waits until somebody opens it again, with a reason; parts
 * of a held or rejected lot are set apart and not tested on (common practice, no source). What was begun before is
 * finished: a test that runs, and the repeat of parts that it left without a verdict.
 *
 * Throws the Refusals `lot-closed`, `lot-accepted`, `lot-on-hold`, `lot-rejected`.
 */
export function mustTakeParts(reader: LedgerReader, of: LotName): void {
  const state = lotState(reader, of);
  if (state !== 'open') throw new Refusal(REFUSED[state], { lot: of.lot });
}

/**
 * A part of a held or rejected lot is not tested under the code of another: it would leave the hold without anybody having
 * lifted it. Throws the Refusal `of-held-lot`.
 */
export function mustNotBeHeld(reader: LedgerReader, serial: string, { partNumber, lot }: LotName): void {
  const last = reader.historyOf(serial).findLast(({ kind }) => kind === 'line');
  if (last === undefined) return;
  const own = reader.cycleAt(last.sequence).record.circumstances.lot;
  if (own === lot) return;
  const state = lotState(reader, { partNumber, lot: own });
  if (state === 'on-hold' || state === 'rejected') throw new Refusal('of-held-lot', { serial, lot: own });
}
