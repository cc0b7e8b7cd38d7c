import type { Disposition, Journal } from '../store/entry-format.ts';
import type { Actor } from '../store/record-format.ts';
import type { LedgerReader } from '../store/reader.ts';
import type { LotClosing, LotState } from './contract.ts';
import { lotDecisions } from './lot-decisions.ts';

/** A lot by its part number and code. */
export interface LotName {
  readonly partNumber: string;
  readonly lot: string;
}

/** What the journal says of a lot: that it was closed, or opened again. */
export const ABOUT_LOT = { closed: 'lot-closed', opened: 'lot-opened' } as const;

/** The subject of a lot's entries in the journal. */
export const lotSubject = ({ partNumber, lot }: LotName): string => `lot/${partNumber}/${lot}`;

const STATES: Readonly<Record<Disposition['decision'], LotState>> = {
  accept: 'accepted',
  hold: 'on-hold',
  reject: 'rejected',
};

/**
 * How a lot stands: held while it is held for a neighbour, else by the latest decision about itself; without one by whether
 * it was closed and not opened since. A lot that nobody said anything about is open. Of the journal what the writer has caught up with.
 */
export function lotState(reader: LedgerReader, of: LotName): LotState {
  const { standing } = lotDecisions(reader, of.partNumber, of.lot);
  if (standing !== null) return STATES[standing.content.decision];
  return lotClosing(reader, of) === null ? 'open' : 'closed';
}

/** When and by whom a lot was closed; null for one that is open, or was opened again. */
export function lotClosing(reader: LedgerReader, of: LotName): LotClosing | null {
  const [last] = reader.journalOf(lotSubject(of), 1);
  if (last?.content.action !== ABOUT_LOT.closed) return null;
  const { facts, comment, actor } = last.content;
  return {
    at: typeof facts['happenedAt'] === 'string' ? facts['happenedAt'] : last.at,
    by: actor.name,
    reason: comment,
    isByDraw: facts['how'] === 'draw',
  };
}

/** What goes into the journal with a draw: that it closed its lot; nothing where the lot was not open any more. */
export function closedByDraw(
  reader: LedgerReader,
  of: LotName,
  {
    audit,
    actor,
    happenedAt,
  }: { readonly audit: string; readonly actor: Actor; readonly happenedAt?: string | undefined },
): Journal[] {
  if (lotState(reader, of) !== 'open') return [];
  const facts = { how: 'draw', audit, ...(happenedAt === undefined ? {} : { happenedAt }) };
  return [{ action: ABOUT_LOT.closed, subject: lotSubject(of), facts, comment: null, actor }];
}
