import { LARGEST_COUNT, checkRange, checkWhole } from '../checks.ts';
import { betaTails } from './incomplete-beta.ts';
import { ALL_ABOVE, ALL_BELOW } from './tail.ts';
import type { Tail, Tails } from './tail.ts';

/**
 * Binomial distribution, bad parts among n from a process with the fraction p bad: P(X <= k) or P(X > k), each with its own
 * digits. Abramowitz & Stegun, "Handbook of Mathematical Functions", 26.5.24, through the incomplete beta function.
 *
 * @param k any whole number; below 0 nothing is counted, from n on everything
 * @param n whole, 0 to 1e10
 * @param p from 0 to 1
 * @throws QualityError `not-finite`, `not-whole`, `out-of-range`
 */
export function binomialCdf(k: number, n: number, p: number, tail: Tail = 'lower'): number {
  checkWhole(k, 'k', Number.MIN_SAFE_INTEGER);
  checkWhole(n, 'n', 0, LARGEST_COUNT);
  checkRange(p, 'p', 0, 1);
  return tailsOf(k, n, p)[tail];
}

function tailsOf(k: number, n: number, p: number): Tails {
  if (k < 0) return ALL_ABOVE;
  if (k >= n || p === 0) return ALL_BELOW;
  if (p === 1) return ALL_ABOVE;
  const { lower, upper } = betaTails(k + 1, n - k, { x: p, rest: 1 - p, more: (n + 1) * p - (k + 1) });
  return { lower: upper, upper: lower };
}
