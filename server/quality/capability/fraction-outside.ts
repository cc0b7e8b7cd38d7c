import type { Limits } from './capability-indices.ts';
import { checkValues } from '../checks.ts';
import type { Values } from '../checks.ts';
import { normalCdf } from '../distributions/normal.ts';

/** Expected fractions beyond the limits, 0 to 1; null on a side without a limit. */
export interface FractionOutside {
  readonly below: number | null;
  readonly above: number | null;
  readonly total: number;
}

/** Values counted strictly beyond a limit; a value on a limit is inside. */
export interface ObservedOutside {
  readonly countBelow: number;
  readonly countAbove: number;
  /** Of all values, 0 to 1. */
  readonly fraction: number;
}

/**
 * Fractions of a normal process beyond the limits, P(X < L) and P(X > U), each from its own tail so that 1e-20 keeps
 * its digits (Montgomery, "Introduction to Statistical Quality Control", section 8.3). Null (undefined) without a
 * spread.
 */
export function normalFractionOutside({ lsl, usl }: Limits, mean: number, sd: number): FractionOutside | null {
  if (sd === 0) return null;
  return fractionOutside(
    lsl === null ? null : normalCdf(finite((lsl - mean) / sd), 'lower'),
    usl === null ? null : normalCdf(finite((usl - mean) / sd), 'upper'),
  );
}

/** A quotient beyond the largest number stays that far out. */
function finite(z: number): number {
  return Math.max(-Number.MAX_VALUE, Math.min(Number.MAX_VALUE, z));
}

/** The two sides and their sum. */
export function fractionOutside(below: number | null, above: number | null): FractionOutside {
  return { below, above, total: (below ?? 0) + (above ?? 0) };
}

/**
 * Counts the values strictly beyond each limit.
 *
 * @throws QualityError `empty`, `not-finite`
 */
export function observedOutside(values: Values, { lsl, usl }: Limits): ObservedOutside {
  checkValues(values, 'values');
  let countBelow = 0;
  let countAbove = 0;
  for (let i = 0; i < values.length; i += 1) {
    const value = values[i] ?? 0;
    if (lsl !== null && value < lsl) countBelow += 1;
    if (usl !== null && value > usl) countAbove += 1;
  }
  return { countBelow, countAbove, fraction: (countBelow + countAbove) / values.length };
}
