import { HttpProblem } from '../http/problem.ts';
import { csvText } from '../report/csv.ts';
import { lotDecisions, neighbourReason } from '../records/lot-decisions.ts';
import type { Disposition } from '../store/entry-format.ts';
import type { Actor } from '../store/record-format.ts';
import type { LedgerReader } from '../store/reader.ts';
import type { Store } from '../store/store.ts';
import { stateOfAudit } from './audits.ts';
import type { DecisionWish, SuspectLot } from './contract.ts';
import { lineResults, noSuchLot } from './line-results.ts';
import { countsOf } from './lots.ts';
import { checkAcceptance } from './standing.ts';
import type { LotOfPart } from './standing.ts';
import { phaseOf } from './state.ts';

/** Lots of one part number in the order in which the line began them. */
interface OrderedLot extends Omit<SuspectLot, 'is'> {
  /** An audit of its own accepted it, and nothing since but holds for a neighbour's sake that were taken back. */
  readonly isProved: boolean;
  /** Held or rejected for its own sake: no neighbour's hold is added to that. */
  readonly isRefused: boolean;
}

/** More lots than any plant has in its ledger: none may be left out of a hold without a word. */
const MOST_LOTS = 1_000_000;

/**
 * The lots that are suspect with one: those before it back to the last that an audit of its own accepted, and all after it
 * up to now, good audits or not: what went wrong may come and go (common practice, no source). The lot itself is among them.
 */
export function suspectLots(reader: LedgerReader, partNumber: string, lot: string): SuspectLot[] {
  return suspectsOf(reader, partNumber, lot).map(
    ({ isProved: _isProved, isRefused: _isRefused, ...suspect }) => suspect,
  );
}

function suspectsOf(reader: LedgerReader, partNumber: string, lot: string): (OrderedLot & SuspectLot)[] {
  const all = orderedLots(reader, partNumber);
  const own = all.findIndex((each) => each.lot === lot);
  if (own < 0) return [];
  const provedBefore = all.slice(0, own).findLastIndex(({ isProved }) => isProved);
  return all.slice(provedBefore + 1).map((suspect, index) => {
    const at = provedBefore + 1 + index;
    return { ...suspect, is: at === own ? 'this' : at < own ? 'before' : 'after' };
  });
}

function orderedLots(reader: LedgerReader, partNumber: string): OrderedLot[] {
  return reader.lots
    .lots(MOST_LOTS)
    .filter((each) => each.partNumber === partNumber)
    .flatMap(({ lot }): OrderedLot[] => {
      const results = lineResults(reader, partNumber, lot);
      const [first, last] = [results[0], results.at(-1)];
      if (first === undefined || last === undefined) return [];
      const { parts, passed } = countsOf(results);
      return [{ lot, firstAt: first.at, lastAt: last.at, parts, passed, ...decidedOn(reader, partNumber, lot) }];
    })
    .sort((a, b) => (a.firstAt < b.firstAt ? -1 : 1));
}

/** How a lot stands, and whether an audit of its own is the reason. */
function decidedOn(
  reader: LedgerReader,
  partNumber: string,
  lot: string,
): Pick<OrderedLot, 'decision' | 'neighbourOf' | 'isProved' | 'isRefused'> {
  const { own, heldFor, standing } = lotDecisions(reader, partNumber, lot);
  const its = own?.content;
  const isAccepted = heldFor.length === 0 && its?.decision === 'accept';
  return {
    decision: standing?.content.decision ?? null,
    neighbourOf: heldFor.map((each) => each.lot),
    isRefused: its?.decision === 'hold' || its?.decision === 'reject',
    isProved: isAccepted && its.audit !== undefined && its.concession === null,
  };
}

/**
 * Keeps what was decided on an audit: an entry for its lot and, when it is held or rejected, one that holds each
 * neighbour that is neither held or rejected for its own sake nor held for this lot yet; all or none. An earlier decision is followed, never edited.
 *
 * Throws the HttpProblems `no-such-audit`, `audit-unfinished` (only a hold waits for nothing), `concession-over` (its last
 * day is past), and what `checkAcceptance` throws where it is not accepted under a concession. `decidedAt` where that is not
 * now; `isNeighbour` where not every suspect lot is to be held.
 */
export function decide(
  store: Store,
  audit: string,
  wish: DecisionWish,
  actor: Actor,
  decidedAt?: string,
  isNeighbour: (partNumber: string, lot: string) => boolean = () => true,
): void {
  store.checkpoint();
  const state = stateOfAudit(store, audit);
  const phase = phaseOf(state, false);
  if (phase === 'abandoned' || (phase !== 'deciding' && wish.decision !== 'hold'))
    throw new HttpProblem(
      409,
      'audit-unfinished',
      'Not every part was tested yet. Until then the lot can only be held.',
      {
        phase,
      },
    );
  const { partNumber, lot } = state.drawn.content;
  checkConcession(wish, decidedAt === undefined ? store.now() : new Date(decidedAt));
  if (wish.decision === 'accept' && wish.concession === null) checkAcceptance(store, { partNumber, lot }, audit);
  const all = dispositionsOf(store, { partNumber, lot, audit }, wish, actor).filter(
    (each) => each.lot === lot || isNeighbour(each.partNumber, each.lot),
  );
  store.dispositionsTogether(decidedAt === undefined ? all : all.map((each) => ({ ...each, decidedAt })));
}

/**
 * Keeps what was decided about a lot without an audit: a neighbour that is let go, a lot that is held or rejected at sight.
 * Throws the HttpProblems `no-such-lot`, `concession-over`, and what `checkAcceptance` throws where it is not accepted under a concession.
 */
export function decideLot(store: Store, of: LotOfPart, wish: DecisionWish, actor: Actor): void {
  store.checkpoint();
  if (store.lots.results(of.partNumber, of.lot).length === 0) throw noSuchLot(of.partNumber, of.lot);
  checkConcession(wish, store.now());
  if (wish.decision === 'accept' && wish.concession === null) checkAcceptance(store, of, null);
  store.disposition(dispositionOf(of, wish, actor));
}

/** A day is named by its noon UTC and is over everywhere on earth 24 hours later. */
const DAY_MS = 86_400_000;

function checkConcession({ concession }: DecisionWish, now: Date): void {
  const until = concession?.until ?? null;
  if (until === null || now.getTime() <= Date.parse(until) + DAY_MS) return;
  throw new HttpProblem(
    409,
    'concession-over',
    `The concession ended on ${until.slice(0, 10)}. Ask for one that still holds, or leave the day open.`,
    { until },
  );
}

function dispositionsOf(
  store: Store,
  of: LotOfPart & { readonly audit: string },
  wish: DecisionWish,
  actor: Actor,
): Disposition[] {
  const own = { ...dispositionOf(of, wish, actor), audit: of.audit };
  if (wish.decision === 'accept') return [own];
  const neighbours = suspectsOf(store, of.partNumber, of.lot).filter(
    ({ is, isRefused, neighbourOf }) => is !== 'this' && !isRefused && !neighbourOf.includes(of.lot),
  );
  return [
    own,
    ...neighbours.map(
      ({ lot }): Disposition => ({
        partNumber: of.partNumber,
        lot,
        decision: 'hold',
        reason: neighbourReason(of.lot, wish.reason),
        concession: null,
        neighbourOf: of.lot,
        actor,
      }),
    ),
  ];
}

function dispositionOf(
  { partNumber, lot }: LotOfPart,
  { decision, reason, concession }: DecisionWish,
  actor: Actor,
): Disposition {
  const isGranted = decision === 'accept' && concession !== null;
  return {
    partNumber,
    lot,
    decision,
    reason,
    concession: isGranted ? concession.reference : null,
    ...(isGranted ? { terms: { quantity: concession.quantity, until: concession.until } } : {}),
    neighbourOf: null,
    actor,
  };
}

/** Suspect parts, one a row: lot, serial and what became of it at the line last. */
export function suspectsCsv(reader: LedgerReader, partNumber: string, lot: string): string {
  const rows = suspectLots(reader, partNumber, lot).flatMap((suspect) => {
    const last = new Map(lineResults(reader, partNumber, suspect.lot).map((result) => [result.serial, result]));
    return [...last.values()].map(({ serial, verdict, at, station, nest, origin }) => [
      partNumber,
      suspect.lot,
      serial,
      verdict,
      at,
      station,
      nest + 1,
      origin,
    ]);
  });
  return csvText([
    ['part number', 'lot', 'serial', 'last line verdict', 'tested at', 'station', 'nest', 'origin'],
    ...rows,
  ]);
}
