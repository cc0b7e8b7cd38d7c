import { checkSquares } from './analysis-of-variance.ts';
import { tCdf, tQuantile } from '../distributions/student-t.ts';
import { checkFinite, checkProbability, checkValues } from '../checks.ts';
import type { Values } from '../checks.ts';
import type { Interval } from './mean-square-bounds.ts';
import { moments, sampleSd } from '../moments.ts';

/** Mean deviation of readings from a reference value, and whether it may be zero. */
export interface Bias {
  readonly n: number;
  /** Mean of reading minus reference, unit of the readings. */
  readonly bias: number;
  /** Standard deviation of the readings, divisor n - 1; null (undefined) for a single reading. */
  readonly sd: number | null;
  /** bias / (sd / sqrt n); null without spread. */
  readonly t: number | null;
  /** Two-sided probability of a larger |t| for a gauge without bias, n - 1 degrees of freedom; null with `t`. */
  readonly p: number | null;
  /** Confidence bounds of the bias; null for a single reading. */
  readonly bounds: Interval | null;
}

/**
 * Bias of readings of one reference by Student's t (NIST/SEMATECH e-Handbook 7.2.2 for the test, 7.2.2.1 for the bounds;
 * AIAG, "Measurement Systems Analysis", 4th ed., independent sample method; from memory). The deviations are taken first,
 * so that a small bias of large readings keeps its digits.
 *
 * @throws QualityError `empty`, `not-finite`, `out-of-range` (confidence; spread too large to be squared)
 */
export function bias(readings: Values, reference: number, confidence = 0.95, key = 'readings'): Bias {
  checkValues(readings, key);
  checkFinite(reference, 'reference');
  checkProbability(confidence, 'confidence');
  const deviations = moments(
    Array.from(readings, (each) => each - reference),
    key,
  );
  checkSquares(deviations.squares, key);
  const { n, mean } = deviations;
  const sd = sampleSd(deviations);
  if (sd === null) return { n, bias: mean, sd, t: null, p: null, bounds: null };
  const error = sd / Math.sqrt(n);
  const half = tQuantile((1 - confidence) / 2, n - 1, 'upper') * error;
  const bounds = { lower: mean - half, upper: mean + half };
  const t = mean / error;
  if (!Number.isFinite(t)) return { n, bias: mean, sd, t: null, p: null, bounds };
  return { n, bias: mean, sd, t, p: 2 * tCdf(Math.abs(t), n - 1, 'upper'), bounds };
}
