import { checkFinite, checkPositive, checkRange, checkValues } from '../checks.ts';
import type { Values } from '../checks.ts';
import { QualityError } from '../errors.ts';

/** What an EWMA chart is drawn with. */
export interface EwmaDesign {
  /** Center line and start of the average, unit of the values. */
  readonly target: number;
  /** Standard deviation of a plotted value, unit of the values. */
  readonly sigma: number;
  /** Weight of the newest value, above 0, at most 1. */
  readonly lambda: number;
  /** Half width of the limits, in standard deviations of the average. */
  readonly L: number;
}

/** An EWMA chart, one entry a value, all in the unit of the values. */
export interface EwmaChart {
  readonly ewma: readonly number[];
  /** Limits at each point; they open from the first point on to the steady state. */
  readonly lower: readonly number[];
  readonly upper: readonly number[];
  /** Positions (from 0) at which the average is strictly outside its limits. */
  readonly signals: readonly number[];
  /** Limits that the others approach. */
  readonly steadyLower: number;
  readonly steadyUpper: number;
}

/**
 * Exponentially weighted moving average: z_i = lambda x_i + (1 - lambda) z_(i-1), z_0 = target, limits target -/+ L
 * sigma sqrt(lambda/(2 - lambda) (1 - (1 - lambda)^(2i))) with i = 1 for the first value (NIST/SEMATECH e-Handbook,
 * 6.3.2.4; Montgomery, "Introduction to Statistical Quality Control", 6th ed., section 9.2.1). An average that differs
 * from a limit by no more than the rounding of this arithmetic is on the limit and gives no signal. No value at all
 * gives empty lists.
 *
 * @throws QualityError `not-finite`; `out-of-range` for lambda outside (0, 1], sigma or L not above 0, and for values
 *   or limits too far from the target for a number
 */
export function ewmaChart(values: Values, { target, sigma, lambda, L }: EwmaDesign): EwmaChart {
  checkFinite(target, 'target');
  checkPositive(sigma, 'sigma');
  checkPositive(lambda, 'lambda');
  checkRange(lambda, 'lambda', 0, 1);
  checkPositive(L, 'L');
  if (values.length > 0) checkValues(values, 'values');

  const steady = L * sigma * Math.sqrt(lambda / (2 - lambda));
  checkReach(target, steady, 'L');
  const remembered = Math.log1p(-lambda);
  const ewma: number[] = [];
  const lower: number[] = [];
  const upper: number[] = [];
  const signals: number[] = [];
  // The average is carried as its distance from the target, which keeps its digits under a large offset.
  let distance = 0;
  for (let i = 0; i < values.length; i += 1) {
    distance = lambda * ((values[i] ?? 0) - target) + (1 - lambda) * distance;
    checkReach(target, distance, `values[${i}]`);
    const half = steady * Math.sqrt(-Math.expm1(2 * (i + 1) * remembered));
    ewma.push(target + distance);
    lower.push(target - half);
    upper.push(target + half);
    if (Math.abs(distance) > half * (1 + ROUNDING)) signals.push(i);
  }
  return { ewma, lower, upper, signals, steadyLower: target - steady, steadyUpper: target + steady };
}

function checkReach(target: number, distance: number, key: string): void {
  if (!Number.isFinite(Math.abs(target) + Math.abs(distance))) {
    throw new QualityError('out-of-range', key, `${key} leads too far from target ${target} for a number`);
  }
}

/** Relative error that sums of this length leave in the average and in its limit, generously. */
const ROUNDING = 1e-13;
