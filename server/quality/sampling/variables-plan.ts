import { checkFinite, checkLimits, checkProbability, checkRange, checkWhole } from '../checks.ts';
import type { Values } from '../checks.ts';
import { noncentralTCdf, noncentralTNoncentrality } from '../distributions/noncentral-t.ts';
import { normalCdf, normalQuantile } from '../distributions/normal.ts';
import type { Tail } from '../distributions/tail.ts';
import { moments, sampleSd } from '../moments.ts';

/**
 * A plan by variables, standard deviation unknown, k method (the "s" method): the lot is accepted when the sample mean
 * keeps `k` sample standard deviations of distance from the limit. The characteristic must be normally distributed.
 */
export interface VariablesPlan {
  readonly n: number;
  readonly k: number;
}

/**
 * Probability that the plan accepts a lot of which the fraction `p` lies beyond the one limit:
 * P(T >= k sqrt n), T noncentral t with n - 1 degrees of freedom and noncentrality z sqrt n, z the normal quantile of 1 - p
 * (Lieberman & Resnikoff, "Sampling plans for inspection by variables", Journal of the American Statistical Association
 * 50 (1955) 457-516; MIL-STD-414 Form 1; ISO 3951-1 s method). `tail` `upper` gives the probability of refusal.
 *
 * @param p 0 to 1
 * @throws QualityError `not-whole`, `not-finite`, `out-of-range` (fewer than two parts)
 */
export function variablesAcceptance({ n, k }: VariablesPlan, p: number, tail: Tail = 'lower'): number {
  checkVariablesPlan(n, k);
  checkRange(p, 'p', 0, 1);
  if (p === 0 || p === 1) return Number((p === 0) === (tail === 'lower'));
  const noncentrality = normalQuantile(p, 'upper') * Math.sqrt(n);
  // Accepted is the upper tail of T.
  return noncentralTCdf(k * Math.sqrt(n), n - 1, noncentrality, tail === 'lower' ? 'upper' : 'lower');
}

/**
 * The fraction beyond the limit that the plan accepts with probability `pa`; the inverse of `variablesAcceptance`.
 *
 * @throws QualityError `not-whole`, `not-finite`, `out-of-range`
 */
export function variablesQualityAt({ n, k }: VariablesPlan, pa: number): number {
  checkVariablesPlan(n, k);
  checkProbability(pa, 'pa');
  const noncentrality = noncentralTNoncentrality(1 - pa, k * Math.sqrt(n), n - 1);
  return normalCdf(noncentrality / Math.sqrt(n), 'upper');
}

/** What the readings of a sample say under a plan by variables. */
export interface VariablesDecision {
  readonly n: number;
  /** Unit of the values. */
  readonly mean: number;
  /** Divisor n - 1, unit of the values; null (undefined) for a single reading. */
  readonly sd: number | null;
  /** Quality index (U - mean)/s; null without the limit or without a spread. */
  readonly qUpper: number | null;
  /** Quality index (mean - L)/s; null without the limit or without a spread. */
  readonly qLower: number | null;
  /**
   * Whether the lot is accepted; null (undecided) when the readings have no spread to measure a distance in, though they
   * lie within the limits: equal readings are rather a coarse or dead instrument than a perfect lot.
   */
  readonly accept: boolean | null;
}

/**
 * Decision on a sample: accept if the quality index of every limit given is at least `k` (MIL-STD-414 Form 1; ISO 3951-1
 * s method). With two limits each is judged on its own with the same `k` (separate control), which is not the combined
 * double-limit method of the standards.
 *
 * @throws QualityError `empty`, `not-finite`, `no-limit`, `crossed-limits`
 */
export function variablesDecision(
  values: Values,
  lower: number | null,
  upper: number | null,
  k: number,
): VariablesDecision {
  checkLimits(lower, upper);
  checkFinite(k, 'k');
  const found = moments(values);
  const { n, mean } = found;
  const sd = sampleSd(found);
  const index = (room: number): number | null => (sd === null || sd === 0 ? null : room / sd);
  const roomAbove = upper === null ? null : upper - mean;
  const roomBelow = lower === null ? null : mean - lower;
  const rooms = [roomAbove, roomBelow].filter((room) => room !== null);
  const qUpper = roomAbove === null ? null : index(roomAbove);
  const qLower = roomBelow === null ? null : index(roomBelow);
  return { n, mean, sd, qUpper, qLower, accept: judged(rooms, { mean, sd }, k) };
}

const ROUNDING = 8 * Number.EPSILON;

function judged(
  rooms: readonly number[],
  { mean, sd }: { readonly mean: number; readonly sd: number | null },
  k: number,
): boolean | null {
  if (sd === null) return null;
  if (sd === 0) return rooms.some((room) => room < 0) ? false : null;
  // A margin that is met exactly in decimals must not fail by the rounding of mean and limit.
  return rooms.every(
    (room) => room / sd >= k - (ROUNDING * (Math.abs(mean) + Math.abs(mean + room))) / sd - ROUNDING * Math.abs(k),
  );
}

function checkVariablesPlan(n: number, k: number): void {
  checkWhole(n, 'n', 2);
  checkFinite(k, 'k');
}
