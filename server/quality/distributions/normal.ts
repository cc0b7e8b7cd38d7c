import erfc from '@stdlib/math-base-special-erfc';
import erfcinv from '@stdlib/math-base-special-erfcinv';
import { checkFinite, checkProbability } from '../checks.ts';
import { productRest } from '../numeric/product-rest.ts';
import { otherTail } from './tail.ts';
import type { Tail } from './tail.ts';

/** The square root of 1/2 less the double nearest to it. */
const SQRT1_2_REST = -4.833646656726457e-17;
const SQRT_2_PI = Math.sqrt(2 * Math.PI);

/**
 * Standard normal distribution, P(Z <= x) or P(Z > x), through the complementary error function: Abramowitz & Stegun,
 * "Handbook of Mathematical Functions", 26.2.29. The smallest tails keep their digits, down to 1e-307.
 *
 * @throws QualityError `not-finite`
 */
export function normalCdf(x: number, tail: Tail = 'lower'): number {
  checkFinite(x, 'x');
  return lowerTail(tail === 'lower' ? x : -x);
}

/**
 * The same without checks. Far out, a rounding of the argument of erfc weighs as often as the argument is large, squared:
 * what x/sqrt(2) loses is put back to first order.
 */
export function lowerTail(x: number): number {
  const y = -x * Math.SQRT1_2;
  const half = 0.5 * erfc(y);
  if (y < 1 || half === 0) return half;
  const lost = productRest(-x, Math.SQRT1_2, y) - x * SQRT1_2_REST;
  // -d/dy ln erfc(y), near enough for a correction of the last digits: between the bounds of A&S 7.1.13.
  return half * (1 - (y + Math.sqrt(y * y + 1.5)) * lost);
}

/** Density of the standard normal distribution, per unit of z; A&S 26.2.1. Throws QualityError `not-finite`. */
export function normalPdf(x: number): number {
  checkFinite(x, 'x');
  const square = x * x;
  return (Math.exp(-0.5 * square) * (1 - 0.5 * productRest(x, x, square))) / SQRT_2_PI;
}

/**
 * The z with P(Z <= z) = p, or with P(Z > z) = p for the upper tail. Relative precision is kept next to p = 0.5 as well, where
 * z passes through zero.
 *
 * @throws QualityError `not-finite`, `out-of-range` (p must be above 0 and below 1)
 */
export function normalQuantile(p: number, tail: Tail = 'lower'): number {
  checkProbability(p, 'p');
  // 1 - p is exact from 0.5 upwards.
  if (p > 0.5) return normalQuantile(1 - p, otherTail(tail));
  if (p === 0.5) return 0;
  const start = -Math.SQRT2 * erfcinv(2 * p);
  // One step of Newton. Near the middle p - P has fewer digits than erfcinv.
  const z = p > 0.2 ? start : start + (p - lowerTail(start)) / normalPdf(start);
  return tail === 'lower' ? z : -z;
}
