import { checkValues } from '../checks.ts';
import type { Values } from '../checks.ts';
import { QualityError } from '../errors.ts';
import { compensatedSum } from '../moments.ts';
import { median, sortedCopy } from './quantile.ts';

/**
 * One or more values, sorted once and centred once, for every statistic that needs either. Deviations are divided by
 * `scale`, a power of two not below the range: exact, and no power of them can overflow or vanish.
 */
export interface Sample {
  readonly n: number;
  /** The values, ascending; unit of the values. */
  readonly sorted: Float64Array;
  readonly mean: number;
  readonly median: number;
  /** Maximum minus minimum. */
  readonly range: number;
  /** (value - mean) / scale, in the order of `sorted`; all exactly zero for values that are all equal. */
  readonly deviations: Float64Array;
  /** Sum of the squared deviations, thus in units of scale squared; 0 only for values that are all equal. */
  readonly squares: number;
  /** Unit of the values. */
  readonly scale: number;
  /** A value of the data, near its middle: (value - origin) / scale - centre is the deviation of any value. */
  readonly origin: number;
  /** (mean - origin) / scale. */
  readonly centre: number;
}

/**
 * Sorts and centres values. Differences are taken to a value of the data, so that a large common offset takes no digits.
 *
 * @throws QualityError `empty`, `not-finite`, `out-of-range` (a range beyond the largest number)
 */
export function sampleOf(values: Values, key = 'values'): Sample {
  checkValues(values, key);
  const sorted = sortedCopy(values);
  const n = sorted.length;
  const range = (sorted[n - 1] ?? 0) - (sorted[0] ?? 0);
  if (!Number.isFinite(range)) {
    throw new QualityError('out-of-range', key, `${key} spread wider than the largest number`);
  }
  const scale = powerOfTwoAbove(range);
  const origin = sorted[n >> 1] ?? 0;
  const deviations = sorted.map((value) => (value - origin) / scale);
  const centre = compensatedSum(n, (i) => deviations[i] ?? 0) / n;
  for (let i = 0; i < n; i += 1) deviations[i] = (deviations[i] ?? 0) - centre;
  const squares = compensatedSum(n, (i) => (deviations[i] ?? 0) ** 2);
  const mean = origin + centre * scale;
  return { n, sorted, mean, median: median(sorted), range, deviations, squares, scale, origin, centre };
}

/** A power of two, at least about the range; at most 2^1023, the largest there is, and 1 for no range. */
function powerOfTwoAbove(range: number): number {
  if (range === 0) return 1;
  return 2 ** Math.min(1023, Math.max(-1022, Math.ceil(Math.log2(range))));
}
