import { checkFinite, checkFreedom, checkProbability } from '../checks.ts';
import { gammaTails } from './incomplete-gamma.ts';
import { quantileFrom } from './quantile.ts';
import { poissonTerm } from './saddle-point.ts';
import { ALL_ABOVE } from './tail.ts';
import type { Tail } from './tail.ts';

/**
 * Chi-square distribution: P(X <= x) or P(X > x), each with its own digits. Abramowitz & Stegun, "Handbook of Mathematical
 * Functions", 26.4.1 and 26.4.2, through the incomplete gamma function (26.4.19).
 *
 * @param df degrees of freedom, above 0, need not be whole
 * @throws QualityError `not-finite`, `out-of-range`
 */
export function chiSquareCdf(x: number, df: number, tail: Tail = 'lower'): number {
  checkFinite(x, 'x');
  checkFreedom(df, 'df');
  return (x <= 0 ? ALL_ABOVE : gammaTails(0.5 * df, 0.5 * x))[tail];
}

/**
 * The x with P(X <= x) = p, or with P(X > x) = p for the upper tail.
 *
 * @throws QualityError `not-finite`, `out-of-range`
 */
export function chiSquareQuantile(p: number, df: number, tail: Tail = 'lower'): number {
  checkProbability(p, 'p');
  checkFreedom(df, 'df');
  const a = 0.5 * df;
  return quantileFrom(
    { tails: (x) => gammaTails(a, 0.5 * x), density: (x) => (a / x) * poissonTerm(a, 0.5 * x), start: df },
    tail === 'lower' ? { lower: p, upper: 1 - p } : { lower: 1 - p, upper: p },
  );
}
