import { checkFinite, checkPositive, checkRange, checkValues } from '../checks.ts';
import type { Values } from '../checks.ts';
import { QualityError } from '../errors.ts';

/** What a CUSUM chart is drawn with. */
export interface CusumDesign {
  /** Unit of the values. */
  readonly target: number;
  /** Standard deviation of a value, unit of the values. */
  readonly sigma: number;
  /** Reference value, the slack, 0 or more, in standard deviations; half of the shift that is to be found. */
  readonly k: number;
  /** Decision interval, above 0, in standard deviations. */
  readonly h: number;
}

/** One side of a tabular CUSUM, one entry a value. */
export interface CusumSide {
  /** The sum, in standard deviations, never below 0. */
  readonly sums: readonly number[];
  /** For how many values in a row the sum has been above 0: the shift began about so long ago. */
  readonly periods: readonly number[];
  /** Positions (from 0) at which the sum is strictly above the decision interval. */
  readonly signals: readonly number[];
}

/** Sums against an upward and a downward shift of the mean. */
export interface CusumChart {
  readonly up: CusumSide;
  readonly down: CusumSide;
}

/**
 * Tabular CUSUM in standard deviations: C_i = max(0, C_(i-1) +/- (x_i - target)/sigma - k), C_0 = 0, a signal where C_i
 * > h; not set back after a signal (Montgomery, "Introduction to Statistical Quality Control", 6th ed., section 9.1.2,
 * eqs. 9.2 and 9.3; NIST/SEMATECH e-Handbook, 6.3.2.3). A sum that differs from h by no more than the rounding of this
 * arithmetic is on h and gives no signal. No value at all gives empty lists.
 *
 * @throws QualityError `not-finite`; `out-of-range` for sigma or h not above 0, k below 0, and for values too many
 *   sigma from the target for a number
 */
export function cusumChart(values: Values, { target, sigma, k, h }: CusumDesign): CusumChart {
  checkFinite(target, 'target');
  checkPositive(sigma, 'sigma');
  checkRange(k, 'k', 0, Number.MAX_VALUE);
  checkPositive(h, 'h');
  if (values.length > 0) checkValues(values, 'values');
  const side = (sign: number): CusumSide => cusumSide(values, (value) => (sign * (value - target)) / sigma - k, h);
  return { up: side(1), down: side(-1) };
}

function cusumSide(values: Values, excess: (value: number) => number, h: number): CusumSide {
  const sums: number[] = [];
  const periods: number[] = [];
  const signals: number[] = [];
  let sum = 0;
  let above = 0;
  for (let i = 0; i < values.length; i += 1) {
    sum = Math.max(0, sum + excess(values[i] ?? 0));
    if (!Number.isFinite(sum)) {
      throw new QualityError('out-of-range', `values[${i}]`, `the sum up to values[${i}] is too large for a number`);
    }
    above = sum > 0 ? above + 1 : 0;
    sums.push(sum);
    periods.push(above);
    if (sum > h * (1 + ROUNDING)) signals.push(i);
  }
  return { sums, periods, signals };
}

/** Relative error that the steps up to a decision leave in a sum, generously. */
const ROUNDING = 1e-12;
