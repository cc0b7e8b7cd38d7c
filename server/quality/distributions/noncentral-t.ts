import { checkFinite, checkFreedom, checkProbability, checkRange } from '../checks.ts';
import { QualityError } from '../errors.ts';
import { findRootNear } from '../numeric/root.ts';
import { chiMixture } from './chi-mixture.ts';
import { chiSquareCdf } from './chi-square.ts';
import { lowerTail, normalQuantile } from './normal.ts';
import { checkReachable, normalScore as scoreOf } from './quantile.ts';
import { tailsFrom } from './tail.ts';
import type { Tail } from './tail.ts';

/** Large enough for any quantile that is asked for in earnest, and far enough from overflow. */
const LARGEST = 1e307;

/** Beyond this the density is a pure power of x, whatever the noncentrality, and squares of x would leave the numbers. */
const FAR = 1e100;

/**
 * Noncentral t distribution: P(T <= x) or P(T > x) for T = (Z + ncp)/S, Z standard normal, S independent of it the square root
 * of a chi-square over its degrees of freedom. Johnson, Kotz & Balakrishnan, "Continuous Univariate Distributions", vol. 2,
 * 2nd ed., equation 31.8: the integral of the normal probability over the density of S, here by quadrature for every ncp.
 * The integrand is nowhere negative, so that both tails keep their digits.
 *
 * @param df degrees of freedom, above 0, need not be whole
 * @param ncp noncentrality, -1e100 to 1e100
 * @throws QualityError `not-finite`, `out-of-range`
 */
export function noncentralTCdf(x: number, df: number, ncp: number, tail: Tail = 'lower'): number {
  checkFinite(x, 'x');
  checkFreedom(df, 'df');
  checkRange(ncp, 'ncp', -FAR, FAR);
  const smaller = smallerTail(x, df, ncp);
  return smaller.tail === tail ? smaller.probability : 1 - smaller.probability;
}

/**
 * The x with P(T <= x) = p, or with P(T > x) = p for the upper tail.
 *
 * @throws QualityError `not-finite`, `out-of-range` (also p below 1e-307, or x beyond the largest number), `not-converged`
 */
export function noncentralTQuantile(p: number, df: number, ncp: number, tail: Tail = 'lower'): number {
  checkProbability(p, 'p');
  checkFreedom(df, 'df');
  checkRange(ncp, 'ncp', -FAR, FAR);
  checkReachable(p);
  const z = normalQuantile(p, tail);
  // Stretched like this, tails of any weight become nearly straight lines on the normal scale.
  const scale = Math.sqrt(df);
  const end = Math.asinh(Math.min(Number.MAX_VALUE, LARGEST / scale));
  const y = findRootNear(
    (each) => {
      // Beyond the range of the numbers the function goes on rising, so that a root out there is found to be out there.
      const within = Math.min(end, Math.max(-end, each));
      return normalScore(scale * Math.sinh(within), df, ncp) - z + (each - within);
    },
    Math.asinh(firstQuantile(z, df, ncp) / scale),
    1 / scale,
  );
  if (Math.abs(y) > end) {
    throw new QualityError('out-of-range', 'p', `p is ${p}; its quantile is beyond the largest number`);
  }
  return scale * Math.sinh(y);
}

/**
 * The noncentrality with which P(T <= t) = p. It falls as p rises.
 *
 * @throws QualityError `not-finite`, `out-of-range`, `not-converged`
 */
export function noncentralTNoncentrality(p: number, t: number, df: number): number {
  checkProbability(p, 'p');
  checkRange(t, 't', -FAR, FAR);
  checkFreedom(df, 'df');
  checkReachable(p);
  const z = normalQuantile(p);
  const start = t * meanOfChi(df) - z * Math.sqrt(1 + (t * t) / (2 * df));
  return findRootNear((ncp) => z - normalScore(t, df, ncp), start, Math.sqrt(1 + (t * t) / (2 * df)));
}

/** Mean of S to second order; good enough to start from. */
const meanOfChi = (df: number): number => 1 / (1 + 1 / (4 * df));

/**
 * A first x: T <= x is Z - x S <= -ncp, and the left side is nearly normal with variance 1 + x^2/(2 df) (JKB 31.26, after
 * Jennett & Welch, 1939), which leaves a quadratic in x. Where that has no answer, anything finite will do.
 */
function firstQuantile(z: number, df: number, ncp: number): number {
  const b = meanOfChi(df);
  const square = b * b - (z * z) / (2 * df);
  const root = b * b + (ncp * ncp - z * z) / (2 * df);
  return square > 0.1 && root > 0 ? (ncp * b + z * Math.sqrt(root)) / square : ncp + z;
}

/** The tail that is not larger than about one half, and which one it is. */
function smallerTail(x: number, df: number, ncp: number): { readonly tail: Tail; readonly probability: number } {
  if (x === 0) {
    return ncp > 0 ? { tail: 'lower', probability: lowerTail(-ncp) } : { tail: 'upper', probability: lowerTail(ncp) };
  }
  const tail = x * meanOfChi(df) < ncp ? 'lower' : 'upper';
  // P(T <= x | ncp) is P(T >= -x | -ncp).
  const probability = tail === 'upper' ? upperTail(x, df, ncp) : upperTail(-x, df, -ncp);
  return { tail, probability: Math.min(1, probability) };
}

/** A noncentrality beside which Z, a few tens at most, is lost in rounding: T > x is then S < ncp/x alone. */
const ALONE = 1e17;

/** P(T > x), x not 0. */
function upperTail(x: number, df: number, ncp: number): number {
  if (Math.abs(ncp) > ALONE) {
    if (x > 0 !== ncp > 0) return x > 0 ? 0 : 1;
    return chiSquareCdf(Math.min(Number.MAX_VALUE, df * (ncp / x) ** 2), df, x > 0 ? 'lower' : 'upper');
  }
  return x > FAR ? chiMixture(FAR, df, ncp) * (FAR / x) ** df : chiMixture(x, df, ncp);
}

/** The z of the normal distribution with the same tails. */
function normalScore(x: number, df: number, ncp: number): number {
  const { tail, probability } = smallerTail(x, df, ncp);
  return scoreOf(tailsFrom(tail, probability));
}
