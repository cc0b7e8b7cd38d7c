import { checkRange, checkValues } from '../checks.ts';
import type { Values } from '../checks.ts';

/**
 * How a sample quantile lies between two sorted values, by the numbers of Hyndman & Fan, "Sample quantiles in statistical
 * packages", The American Statistician 50 (1996) 361-365: 6 puts value i at the probability i/(n + 1), 7 at
 * (i - 1)/(n - 1), 8 at (i - 1/3)/(n + 1/3), which is about the median of its distribution and what the authors advise.
 */
export type QuantileType = 6 | 7 | 8;

/** The type where none is said. */
export const USUAL_QUANTILE_TYPE: QuantileType = 7;

/** The values in ascending order, as a copy. */
export function sortedCopy(values: Values): Float64Array {
  return Float64Array.from(values).sort();
}

/**
 * Sample quantiles at probabilities 0 to 1, in the unit of the values. Beyond the outermost values' own probabilities the
 * quantile is the outermost value.
 *
 * @throws QualityError `empty`, `not-finite`, `out-of-range` (a probability outside 0 to 1)
 */
export function quantiles(
  values: Values,
  probabilities: Values,
  type: QuantileType = USUAL_QUANTILE_TYPE,
): readonly number[] {
  checkValues(values, 'values');
  const sorted = sortedCopy(values);
  return Array.from(probabilities, (p, i) => {
    checkRange(p, `probabilities[${i}]`, 0, 1);
    return sortedQuantile(sorted, p, type);
  });
}

/** The same for one probability from 0 to 1 and one or more values that are finite and already ascending. */
export function sortedQuantile(sorted: Float64Array, p: number, type: QuantileType = USUAL_QUANTILE_TYPE): number {
  const n = sorted.length;
  const place = Math.min(n, Math.max(1, placeOf(n, p, type)));
  const whole = Math.floor(place);
  const below = sorted[whole - 1] ?? 0;
  const above = sorted[Math.min(n, whole + 1) - 1] ?? 0;
  return between(below, above, place - whole);
}

/** Median of one or more finite values in ascending order: the middle one, or the mean of the middle two. */
export function median(sorted: Float64Array): number {
  const half = sorted.length >> 1;
  const above = sorted[half] ?? 0;
  if (sorted.length % 2 === 1) return above;
  const below = sorted[half - 1] ?? 0;
  const sum = below + above;
  return Number.isFinite(sum) ? sum / 2 : below / 2 + above / 2;
}

/** n p + m of Hyndman & Fan: the place among the sorted values, counted from 1. */
function placeOf(n: number, p: number, type: QuantileType): number {
  switch (type) {
    case 6:
      return (n + 1) * p;
    case 7:
      return (n - 1) * p + 1;
    case 8:
      return (n + 1 / 3) * p + 1 / 3;
  }
}

/** Never outside its ends, exactly one of them where they are equal, and without overflow between far ends. */
function between(low: number, high: number, part: number): number {
  const width = high - low;
  return Number.isFinite(width) ? Math.min(high, low + part * width) : (1 - part) * low + part * high;
}
