import { checkFinite, checkFreedom, checkProbability } from '../checks.ts';
import { betaTails } from './incomplete-beta.ts';
import { quantileFrom } from './quantile.ts';
import { logExcess, stirlingError } from './saddle-point.ts';
import { otherTail } from './tail.ts';
import type { Tail, Tails } from './tail.ts';

/**
 * Student's t distribution: P(T <= x) or P(T > x), each with its own digits. Abramowitz & Stegun, "Handbook of Mathematical
 * Functions", 26.7.1, through the incomplete beta function of x^2.
 *
 * @param df degrees of freedom, above 0, need not be whole
 * @throws QualityError `not-finite`, `out-of-range`
 */
export function tCdf(x: number, df: number, tail: Tail = 'lower'): number {
  checkFinite(x, 'x');
  checkFreedom(df, 'df');
  const outer = 0.5 * sizeTails(Math.abs(x), df).upper;
  return x < 0 === (tail === 'lower') ? outer : 1 - outer;
}

/** Density of Student's t distribution, per unit of t; A&S 26.7.1. Throws QualityError `not-finite`, `out-of-range`. */
export function tPdf(x: number, df: number): number {
  checkFinite(x, 'x');
  checkFreedom(df, 'df');
  const ratio = Math.abs(x) / Math.sqrt(df);
  const logarithm = ratio > FAR ? 2 * logRatio(Math.abs(x), df) : Math.log1p(ratio * ratio);
  return densityAtZero(df) * Math.exp(-0.5 * (df + 1) * logarithm);
}

/**
 * The x with P(T <= x) = p, or with P(T > x) = p for the upper tail. Relative precision is kept next to p = 0.5 as well, where
 * x passes through zero.
 *
 * @throws QualityError `not-finite`, `out-of-range` (also where x would be beyond the largest number)
 */
export function tQuantile(p: number, df: number, tail: Tail = 'lower'): number {
  checkProbability(p, 'p');
  checkFreedom(df, 'df');
  // 1 - p is exact from 0.5 upwards.
  if (p > 0.5) return tQuantile(1 - p, df, otherTail(tail));
  if (p === 0.5) return 0;
  // Of the size of T, the probability within x near the middle, the probability beyond it far out; both exact.
  const wanted: Tails = { lower: 1 - 2 * p, upper: 2 * p };
  const size = quantileFrom({ tails: (x) => sizeTails(x, df), density: (x) => 2 * tPdf(x, df), start: 1 }, wanted);
  return tail === 'lower' ? -size : size;
}

/** Beyond this many times sqrt(df), 1 + x^2/df is x^2/df in all digits. */
const FAR = 1e9;

/** Logarithm of x/sqrt(df), which itself may be beyond the largest number. */
const logRatio = (x: number, df: number): number => Math.log(x) - 0.5 * Math.log(df);

/** P(|T| <= x) and P(|T| > x) for x from 0. */
function sizeTails(x: number, df: number): Tails {
  const ratio = x / Math.sqrt(df);
  if (x === 0) return { lower: 0, upper: 1 };
  if (ratio > FAR) {
    // x^2 might overflow; only the leading power is left: the integral of the density from x.
    const upper = (2 * densityAtZero(df) * Math.exp(-df * logRatio(x, df))) / Math.sqrt(df);
    return { lower: 1 - upper, upper };
  }
  const square = (x * x) / df;
  const sum = 1 + square;
  return betaTails(0.5, 0.5 * df, { x: square / sum, rest: 1 / sum, more: (0.5 * (x - 1) * (x + 1)) / sum });
}

/** Gamma((df + 1)/2)/(Gamma(df/2) sqrt(df pi)), by Stirling's series for both. */
function densityAtZero(df: number): number {
  const a = 0.5 * df;
  return Math.exp(stirlingError(a + 0.5) - stirlingError(a) - a * logExcess(0.5 / a)) / Math.sqrt(2 * Math.PI);
}
