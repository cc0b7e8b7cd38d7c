import { checkValues } from './checks.ts';
import type { Values } from './checks.ts';

/** Number, mean, and sum of squared deviations from the mean. Merge exactly; units of the values, and their square. */
export interface Moments {
  readonly n: number;
  readonly mean: number;
  /** Sum of (value - mean) squared. */
  readonly squares: number;
}

/**
 * Moments of one or more values: two passes over the deviations from the first value, the second with the correction of
 * Chan, Golub & LeVeque, "Algorithms for computing the sample variance", The American Statistician 37 (1983), eq. 1.7.
 * Differences to a value of the data are exact or nearly so whatever the offset is; values that are all equal give
 * exactly zero squares.
 *
 * @throws QualityError `empty`, `not-finite`
 */
export function moments(values: Values, key = 'values'): Moments {
  checkValues(values, key);
  const n = values.length;
  const shift = values[0] ?? 0;
  const meanFromShift = compensatedSum(n, (i) => (values[i] ?? 0) - shift) / n;
  let squares = 0;
  let rest = 0;
  for (let i = 0; i < n; i += 1) {
    const deviation = (values[i] ?? 0) - shift - meanFromShift;
    squares += deviation * deviation;
    rest += deviation;
  }
  return { n, mean: shift + meanFromShift, squares: Math.max(0, squares - (rest * rest) / n) };
}

/** Mean of one or more values; see `moments`. */
export function mean(values: Values, key = 'values'): number {
  return moments(values, key).mean;
}

/** Standard deviation with divisor n - 1; null (undefined) for a single value. */
export function sampleSd({ n, squares }: Moments): number | null {
  return n < 2 ? null : Math.sqrt(squares / (n - 1));
}

/** Sum of n terms with the compensation of Neumaier, ZAMM 54 (1974) 39-51: what each addition loses is carried along. */
export function compensatedSum(n: number, term: (i: number) => number): number {
  let sum = 0;
  let lost = 0;
  for (let i = 0; i < n; i += 1) {
    const value = term(i);
    const next = sum + value;
    lost += Math.abs(sum) >= Math.abs(value) ? sum - next + value : value - next + sum;
    sum = next;
  }
  return sum + lost;
}
