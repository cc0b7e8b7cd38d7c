import type { Values } from '../checks.ts';
import { compensatedSum } from '../moments.ts';
import { sampleOf } from './sample.ts';
import type { Sample } from './sample.ts';

/** What one set of readings looks like; null is undefined. */
export interface Summary {
  readonly n: number;
  /** Unit of the values, as are sd, standardError, min, max, range and median. */
  readonly mean: number;
  /** Divisor n - 1; null for one value. */
  readonly sd: number | null;
  /** Of the mean: sd / sqrt(n). */
  readonly standardError: number | null;
  /** See `lag1Autocorrelation`. */
  readonly lag1Autocorrelation: number | null;
  readonly min: number;
  readonly max: number;
  readonly range: number;
  readonly median: number;
}

/**
 * Summary of one or more values in the order they were taken. Mean, standard deviation and lag-1 autocorrelation as in
 * NIST StRD, "Univariate summary statistics".
 *
 * @throws QualityError `empty`, `not-finite`, `out-of-range` (a range beyond the largest number)
 */
export function summary(values: Values): Summary {
  const sample = sampleOf(values);
  const { n, mean, median, range, sorted } = sample;
  const sd = sdOf(sample);
  return {
    n,
    mean,
    sd,
    standardError: sd === null ? null : sd / Math.sqrt(n),
    lag1Autocorrelation: lag1Autocorrelation(values, sample),
    min: sorted[0] ?? 0,
    max: sorted[n - 1] ?? 0,
    range,
    median,
  };
}

/** Standard deviation of a sample with divisor n - 1; null for one value. */
export function sdOf({ n, squares, scale }: Sample): number | null {
  return n < 2 ? null : Math.sqrt(squares / (n - 1)) * scale;
}

/**
 * r1 = sum of (x_i - mean)(x_(i+1) - mean) over the sum of (x_i - mean)^2, with the mean of all values (NIST/SEMATECH
 * e-Handbook of Statistical Methods, 1.3.5.12). Null without spread.
 */
function lag1Autocorrelation(values: Values, { n, squares, scale, origin, centre }: Sample): number | null {
  if (squares === 0) return null;
  const deviation = (i: number): number => ((values[i] ?? 0) - origin) / scale - centre;
  return compensatedSum(n - 1, (i) => deviation(i) * deviation(i + 1)) / squares;
}
