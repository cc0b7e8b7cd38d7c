import type { Disposition } from '../store/entry-format.ts';
import type { Place } from '../store/ledger.ts';
import type { LedgerReader } from '../store/reader.ts';

export type KeptDecision = Place & { readonly content: Disposition };

/** What the decisions about a lot come to. */
export interface LotDecisions {
  /** The latest that was about the lot itself; null when there was none. */
  readonly own: KeptDecision | null;
  /** The lots for whose sake it is held and not let go since, the one that the next letting go answers first. */
  readonly heldFor: readonly { readonly lot: string; readonly by: KeptDecision }[];
  /** The one by which the lot stands now: a hold for a neighbour, else its own; null when there is none. */
  readonly standing: KeptDecision | null;
}

/** More than any lot has: none may be left out. */
const ALL = 1_000_000;
const NEIGHBOUR = 'neighbour of lot';
const NEIGHBOUR_LOT = /^neighbour of lot (.+?)(?:: |$)/;

/** What is written as the reason of a hold that another lot brings about. */
export const neighbourReason = (lot: string, reason: string): string => `${NEIGHBOUR} ${lot}: ${reason}`.slice(0, 500);

/** Whether it holds a lot for another one's sake only. Entries from before `neighbourOf` say so by their reason. */
export const isNeighbourHold = (content: Disposition): boolean => neighbourOf(content) !== null;

function neighbourOf({ decision, audit, reason, neighbourOf: named }: Disposition): string | null {
  if (named !== undefined) return named;
  return decision === 'hold' && audit === undefined ? (NEIGHBOUR_LOT.exec(reason)?.[1] ?? null) : null;
}

/** Of a lot that is held as a neighbour: whether this lets it go. */
const isLetGo = ({ decision, audit, concession }: Disposition): boolean =>
  decision === 'accept' && audit === undefined && concession === null;

/**
 * Neighbour holds and their letting go say nothing about the lot itself: once each lot that it was held for is answered,
 * it stands as it stood before. A decision about the lot itself answers them all.
 */
export function lotDecisions(reader: LedgerReader, partNumber: string, lot: string): LotDecisions {
  let own: KeptDecision | null = null;
  let heldFor: LotDecisions['heldFor'] = [];
  for (const by of reader.dispositions(partNumber, lot, ALL).toReversed()) {
    const named = neighbourOf(by.content);
    if (named !== null) {
      if (!heldFor.some((each) => each.lot === named)) heldFor = [...heldFor, { lot: named, by }];
    } else if (heldFor.length > 0 && isLetGo(by.content)) heldFor = heldFor.slice(1);
    else [own, heldFor] = [by, []];
  }
  return { own, heldFor, standing: heldFor[0]?.by ?? own };
}
