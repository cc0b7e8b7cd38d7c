import type { Quantity } from '../../../station/cycle/judge.ts';

/** How a lot was decided about. */
export interface LotDecided {
  readonly at: string;
  readonly by: string;
  readonly reason: string;
  /** The audit that it rests on; null where it rests on none. */
  readonly audit: string | null;
  /** The lot that it was held with; null where it was decided on its own account. */
  readonly neighbourOf: string | null;
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
