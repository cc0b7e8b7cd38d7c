import { checkValues } from '../checks.ts';
import type { Values } from '../checks.ts';
import { normalQuantile } from '../distributions/normal.ts';
import { leastSquares } from '../line-fit.ts';
import { sortedCopy } from '../description/quantile.ts';

/**
 * Where value i of n sorted values is drawn on the probability axis:
 * - `median-rank`: (i - 0.3) / (n + 0.4), about the median of the share below it (Benard & Bos-Levenbach, Statistica
 *   Neerlandica 7 (1953) 163-173);
 * - `blom`: (i - 3/8) / (n + 1/4), whose normal scores are about the expected ones (Blom, "Statistical Estimates and
 *   Transformed Beta-Variables" (1958));
 * - `filliben`: medians of the uniform order statistics, (i - 0.3175) / (n + 0.365), and 0.5^(1/n) at the upper end
 *   (Filliben, Technometrics 17 (1975) 111-117), the one for the correlation coefficient of that paper.
 */
export type PlottingPosition = 'median-rank' | 'blom' | 'filliben';

export interface PlotPoint {
  /** Unit of the values. */
  readonly value: number;
  /** Plotting position, 0 to 1, neither included. */
  readonly probability: number;
  /** Standard normal quantile of the position. */
  readonly score: number;
}

/** Normal probability plot: the points in ascending order and the line value = intercept + slope score through them. */
export interface ProbabilityPlot {
  readonly points: readonly PlotPoint[];
  /** Estimates the mean, unit of the values; null for a single value. */
  readonly intercept: number | null;
  /** Estimates the standard deviation, unit of the values; null for a single value. */
  readonly slope: number | null;
  /** Of values and scores; null without spread. */
  readonly correlation: number | null;
}

/**
 * Normal probability plot of one or more values (NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.3.21 and 1.3.3.22),
 * with the least-squares line of the values on their normal scores. Equal values have a point each.
 *
 * @throws QualityError `empty`, `not-finite`
 */
export function probabilityPlot(values: Values, position: PlottingPosition = 'median-rank'): ProbabilityPlot {
  checkValues(values, 'values');
  const sorted = sortedCopy(values);
  const n = sorted.length;
  const points = Array.from(sorted, (value, i) => {
    const fromTop = 2 * (i + 1) > n + 1;
    // The upper half mirrors the lower one, so that the scores are antisymmetric exactly.
    const tail = lowerPosition(fromTop ? n - i : i + 1, n, position);
    const score = normalQuantile(tail, fromTop ? 'upper' : 'lower');
    return { value, probability: fromTop ? 1 - tail : tail, score };
  });
  if (n < 2) return { points, intercept: null, slope: null, correlation: null };
  const { intercept, slope, rSquared } = leastSquares(
    points.map(({ score }) => score),
    sorted,
  );
  return { points, intercept, slope, correlation: rSquared === null ? null : Math.sqrt(Math.max(0, rSquared)) };
}

/** Plotting position of value i, counted from 1, of the lower half. */
function lowerPosition(i: number, n: number, position: PlottingPosition): number {
  switch (position) {
    case 'median-rank':
      return (i - 0.3) / (n + 0.4);
    case 'blom':
      return (i - 0.375) / (n + 0.25);
    case 'filliben':
      return i === 1 ? -Math.expm1(-Math.LN2 / n) : (i - 0.3175) / (n + 0.365);
  }
}
