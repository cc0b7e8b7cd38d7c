import { continuedFraction } from '../numeric/continued-fraction.ts';
import { poissonTerm } from './saddle-point.ts';
import { ALL_ABOVE, tailsFrom } from './tail.ts';
import type { Tails } from './tail.ts';

/**
 * Regularised incomplete gamma functions P(a, x), lower, and Q(a, x), upper, for a above 0 and x from 0: below the mean by the
 * series DLMF 8.11.4, above it by the continued fraction DLMF 8.9.2 in its even form. All terms are positive there, and the
 * factor in front is a Poisson probability, so that digits last whatever the size of a.
 */
export function gammaTails(a: number, x: number): Tails {
  if (x === 0) return ALL_ABOVE;
  const term = poissonTerm(a, x);
  if (x < a) return tailsFrom('lower', term * series(a, x));
  const more = x - a;
  const fraction = continuedFraction(
    (n) => n * (a - n),
    (n) => more + 2 * n + 1,
  );
  return tailsFrom('upper', (a * term) / fraction);
}

/** Sum of x^n/((a + 1) ... (a + n)) from n = 0. */
function series(a: number, x: number): number {
  let sum = 1;
  let term = 1;
  for (let n = 1; term > 1e-17 * sum; n += 1) {
    term *= x / (a + n);
    sum += term;
  }
  return sum;
}
