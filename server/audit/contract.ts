import { z } from 'zod';
import type { Quantity } from '../../station/cycle/judge.ts';

export const LotsQuery = z.object({
  limit: z.coerce.number().int().min(1).max(200).default(50).meta({ description: 'at most so many lots' }),
});
export const LotParams = z.object({ partNumber: z.string().min(1).max(40), lot: z.string().min(1).max(40) });

/** How a lot stands. Nobody decided yet: `open`. */
export type LotState = 'open' | 'accepted' | 'on-hold' | 'rejected';

/** The serials of a lot by their last line verdict, each once. Counts of parts, not of tests. */
export interface LotCounts {
  readonly parts: number;
  readonly passed: number;
  readonly failed: number;
  /** Never judged yet: their last test was cut off or stopped. */
  readonly notJudged: number;
  /** Judged more than once on the line. */
  readonly retested: number;
  /** Serials that passed at their first judged cycle, of those that were judged. */
  readonly firstPass: { readonly passed: number; readonly of: number };
}

/** A lot in a list. */
export interface LotLine {
  readonly partNumber: string;
  readonly lot: string;
  readonly state: LotState;
  readonly origin: 'real' | 'simulated';
  readonly firstAt: string;
  readonly lastAt: string;
  readonly counts: LotCounts;
}

/** Why parts of a lot failed at their first judged cycle, and in which nests (from 1). */
export interface LotReason {
  readonly reason: string;
  readonly parts: number;
  readonly nests: readonly {
    readonly station: string;
    readonly nest: number;
    readonly parts: number;
    readonly of: number;
  }[];
}

/** Values of one group at one point. `cpk` from the spread from one part to the next; null where it has no sense. */
export interface PointGroup {
  readonly n: number;
  readonly mean: number;
  readonly sd: number | null;
  readonly cpk: number | null;
}

/** What the line read at one point: first judged attempts only. Values and limits in `unit`. */
export interface LotPoint {
  readonly step: string;
  readonly quantity: Quantity;
  readonly pointKpaAbs: number | null;
  readonly unit: string;
  /** Limits as they were judged by; null at a side without one, or where they differ from part to part. */
  readonly low: number | null;
  readonly high: number | null;
  readonly all: PointGroup;
  readonly nests: readonly (PointGroup & { readonly station: string; readonly nest: number })[];
}

/** A lot in full. */
export interface LotView extends LotLine {
  readonly title: string;
  readonly pressureClass: string;
  /** Profile revisions that its parts were tested by. */
  readonly revisions: readonly number[];
  readonly reasons: readonly LotReason[];
  readonly points: readonly LotPoint[];
  readonly decided: { readonly at: string; readonly by: string; readonly reason: string } | null;
}
