import { HttpProblem } from '../http/problem.ts';
import { ABOUT_LOT, lotState, lotSubject } from '../records/lot-standing.ts';
import type { LotName } from '../records/lot-standing.ts';
import type { Journal } from '../store/entry-format.ts';
import type { Actor } from '../store/record-format.ts';
import type { Store } from '../store/store.ts';
import { unfinishedAudit } from './drawing.ts';
import { noSuchLot } from './line-results.ts';

/**
 * Closes a lot: the line tests nothing more for it. Throws the HttpProblems `no-such-lot` and `lot-not-open` (closed or
 * decided already).
 */
export function closeLot(store: Store, of: LotName, reason: string | null, actor: Actor): void {
  const state = stateOf(store, of);
  if (state !== 'open')
    throw new HttpProblem(409, 'lot-not-open', `Lot ${of.lot} is ${state} already. Nothing was changed.`, {
      lot: of.lot,
      state,
    });
  keep(store, { action: ABOUT_LOT.closed, subject: lotSubject(of), facts: { how: 'person' }, comment: reason, actor });
}

/**
 * Opens a closed lot again, for parts that belong to it after all. Not while an audit of it is under way: its sample was
 * drawn of the lot as it was. Not once it was decided: the decision is about the parts that were there. Throws the
 * HttpProblems `no-such-lot`, `lot-not-closed`, `audit-open`.
 */
export function openLot(store: Store, of: LotName, reason: string, actor: Actor): void {
  const state = stateOf(store, of);
  if (state === 'open')
    throw new HttpProblem(409, 'lot-not-closed', `Lot ${of.lot} is open. Nothing was changed.`, { lot: of.lot, state });
  if (state !== 'closed')
    throw new HttpProblem(
      409,
      'lot-not-closed',
      `Lot ${of.lot} is ${state}: the decision is about the parts that it had. Begin a new lot.`,
      { lot: of.lot, state, why: 'decided' },
    );
  const audit = unfinishedAudit(store, of.partNumber, of.lot);
  if (audit !== null)
    throw new HttpProblem(
      409,
      'audit-open',
      `An audit of lot ${of.lot} is not finished yet. Finish it or give it up first.`,
      { audit, lot: of.lot },
    );
  keep(store, { action: ABOUT_LOT.opened, subject: lotSubject(of), facts: {}, comment: reason, actor });
}

function stateOf(store: Store, of: LotName): ReturnType<typeof lotState> {
  store.checkpoint();
  if (store.lots.results(of.partNumber, of.lot).length === 0) throw noSuchLot(of.partNumber, of.lot);
  return lotState(store, of);
}

function keep(store: Store, content: Journal): void {
  store.journal(content);
  // The line asks the index what became of its lot.
  store.checkpoint();
}
