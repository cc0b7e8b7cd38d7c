import { checkFinite, checkFreedom, checkProbability } from '../checks.ts';
import { betaTails } from './incomplete-beta.ts';
import type { BetaPoint } from './incomplete-beta.ts';
import { quantileFrom } from './quantile.ts';
import { binomialTerm } from './saddle-point.ts';
import { ALL_ABOVE } from './tail.ts';
import type { Tail } from './tail.ts';

/**
 * F distribution (ratio of two independent mean squares): P(F <= x) or P(F > x), each with its own digits. Abramowitz & Stegun,
 * "Handbook of Mathematical Functions", 26.6.1 and 26.6.2, through the incomplete beta function.
 *
 * @param df1 degrees of freedom of the numerator, above 0, need not be whole
 * @param df2 degrees of freedom of the denominator, likewise
 * @throws QualityError `not-finite`, `out-of-range`
 */
export function fCdf(x: number, df1: number, df2: number, tail: Tail = 'lower'): number {
  checkFinite(x, 'x');
  checkFreedom(df1, 'df1');
  checkFreedom(df2, 'df2');
  return (x <= 0 ? ALL_ABOVE : betaTails(0.5 * df1, 0.5 * df2, pointOf(x, df1, df2)))[tail];
}

/**
 * The x with P(F <= x) = p, or with P(F > x) = p for the upper tail.
 *
 * @throws QualityError `not-finite`, `out-of-range` (also where x would be beyond the largest number)
 */
export function fQuantile(p: number, df1: number, df2: number, tail: Tail = 'lower'): number {
  checkProbability(p, 'p');
  checkFreedom(df1, 'df1');
  checkFreedom(df2, 'df2');
  const a = 0.5 * df1;
  const b = 0.5 * df2;
  const density = (x: number): number => {
    const at = pointOf(x, df1, df2);
    return (binomialTerm(a, b, at) * ((a * b) / (a + b))) / x;
  };
  return quantileFrom(
    { tails: (x) => betaTails(a, b, pointOf(x, df1, df2)), density, start: 1 },
    tail === 'lower' ? { lower: p, upper: 1 - p } : { lower: 1 - p, upper: p },
  );
}

/** The place on the beta distribution, 26.6.2: x df1/(x df1 + df2), and its distance from the mean without cancellation. */
function pointOf(x: number, df1: number, df2: number): BetaPoint {
  const odds = Math.min(Number.MAX_VALUE, (x / df2) * df1);
  return { x: odds / (1 + odds), rest: 1 / (1 + odds), more: 0.5 * df1 * ((x - 1) / (1 + odds)) };
}
