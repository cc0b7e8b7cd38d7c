import { capabilityIndices } from './capability-indices.ts';
import type { CapabilityIndices, Limits } from './capability-indices.ts';
import { checkLimits, checkValues, checkWhole } from '../checks.ts';
import type { Values } from '../checks.ts';
import { sortedCopy, sortedQuantile } from '../description/quantile.ts';

/** Values wanted for a capability that does not lean on the normal distribution (common practice, no source). */
export const FEWEST_NOT_NORMAL = 100;

/** Whether an index from a fitted distribution or from percentiles may be reported as the capability. */
export interface NonNormalClaim {
  readonly claimable: boolean;
  /** Why not; null when it may. */
  readonly reason: string | null;
}

/** A claim needs `FEWEST_NOT_NORMAL` values: below, the tails of such a fit are a guess. */
export function nonNormalClaim(n: number): NonNormalClaim {
  checkWhole(n, 'n', 1);
  if (n >= FEWEST_NOT_NORMAL) return { claimable: true, reason: null };
  return {
    claimable: false,
    reason: `${n} values; a capability by a fitted distribution or by percentiles needs ${FEWEST_NOT_NORMAL} or more`,
  };
}

/** Capability from the percentiles of the values themselves; percentiles in the unit of the values. */
export interface PercentileCapability {
  readonly n: number;
  readonly x00135: number;
  readonly x50: number;
  readonly x99865: number;
  readonly indices: CapabilityIndices;
  /**
   * False when the outer percentiles are the smallest and the largest value because too few values lie further out
   * (below 494): the true percentiles lie beyond, and the indices look too good.
   */
  readonly tailsReached: boolean;
}

/**
 * Percentile method of ISO 22514-2, without a distribution: (U - L)/(x99.865 - x0.135), (U - x50)/(x99.865 - x50), (x50
 * - L)/(x50 - x0.135), percentiles by definition 8 of Hyndman & Fan, The American Statistician 50 (1996) 361-365 (see
 * `sortedQuantile`). An index is null without its limit or where its percentiles are equal.
 *
 * @throws QualityError `too-few` (below 100), `empty`, `not-finite`, `no-limit`, `crossed-limits`
 */
export function percentileCapability(values: Values, limits: Limits): PercentileCapability {
  checkLimits(limits.lsl, limits.usl);
  checkValues(values, 'values', FEWEST_NOT_NORMAL);
  const sorted = sortedCopy(values);
  const n = sorted.length;
  const [x00135, x50, x99865] = [
    sortedQuantile(sorted, TAIL, 8),
    sortedQuantile(sorted, 0.5, 8),
    sortedQuantile(sorted, 1 - TAIL, 8),
  ];
  return {
    n,
    x00135,
    x50,
    x99865,
    indices: capabilityIndices(limits, { center: x50, below: x50 - x00135, above: x99865 - x50 }),
    // By that definition the smallest value stands at the probability (1 - 1/3)/(n + 1/3).
    tailsReached: 2 / 3 / (n + 1 / 3) <= TAIL,
  };
}

const TAIL = 0.00135;
