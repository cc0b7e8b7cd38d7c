import { compensatedSum } from '../moments.ts';
import type { Sample } from './sample.ts';

/** Shape of the distribution of one set of readings, without unit; null is undefined. See `shapeOf`. */
export interface Shape {
  readonly g1: number | null;
  readonly g2: number | null;
  readonly adjustedG1: number | null;
  readonly adjustedG2: number | null;
}

/**
 * Skewness g1 = m3 / m2^1.5 and excess kurtosis g2 = m4 / m2^2 - 3 from the moments about the mean with divisor n, and
 * the adjusted G1 = g1 sqrt(n (n - 1)) / (n - 2) and G2 = (n - 1) / ((n - 2) (n - 3)) ((n + 1) g2 + 6), which have no bias
 * for normal values (Joanes & Gill, "Comparing measures of sample skewness and kurtosis", The Statistician 47 (1998)
 * 183-189, equations for g1, g2, G1, G2). Null without spread; G1 below three values, G2 below four.
 */
export function shapeOf({ n, deviations, squares }: Sample): Shape {
  if (squares === 0) return { g1: null, g2: null, adjustedG1: null, adjustedG2: null };
  const m2 = squares / n;
  const square = (i: number): number => (deviations[i] ?? 0) * (deviations[i] ?? 0);
  const m3 = compensatedSum(n, (i) => square(i) * (deviations[i] ?? 0)) / n;
  const m4 = compensatedSum(n, (i) => square(i) * square(i)) / n;
  const g1 = m3 / (m2 * Math.sqrt(m2));
  const g2 = m4 / (m2 * m2) - 3;
  return {
    g1,
    g2,
    adjustedG1: n < 3 ? null : (g1 * Math.sqrt(n * (n - 1))) / (n - 2),
    adjustedG2: n < 4 ? null : ((n - 1) / ((n - 2) * (n - 3))) * ((n + 1) * g2 + 6),
  };
}
