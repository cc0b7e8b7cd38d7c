import { LARGEST_COUNT, checkRange, checkWhole } from '../checks.ts';
import { gammaTails } from './incomplete-gamma.ts';
import { ALL_ABOVE, ALL_BELOW } from './tail.ts';
import type { Tail, Tails } from './tail.ts';

/**
 * Poisson distribution, counts of what occurs `mean` times on average: P(X <= k) or P(X > k), each with its own digits.
 * Abramowitz & Stegun, "Handbook of Mathematical Functions", 26.4.21, through the incomplete gamma function.
 *
 * @param k any whole number; below 0 nothing is counted
 * @param mean 0 to 1e10
 * @throws QualityError `not-finite`, `not-whole`, `out-of-range`
 */
export function poissonCdf(k: number, mean: number, tail: Tail = 'lower'): number {
  checkWhole(k, 'k', Number.MIN_SAFE_INTEGER);
  checkRange(mean, 'mean', 0, LARGEST_COUNT);
  return tailsOf(k, mean)[tail];
}

function tailsOf(k: number, mean: number): Tails {
  if (k < 0) return ALL_ABOVE;
  if (mean === 0) return ALL_BELOW;
  const { lower, upper } = gammaTails(k + 1, mean);
  return { lower: upper, upper: lower };
}
