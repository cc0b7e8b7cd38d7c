import { normalQuantile } from '../distributions/normal.ts';
import type { Bounds } from './deming.ts';
import { leastSquares } from '../line-fit.ts';
import { pairMoments } from './pair-moments.ts';
import type { Pairs } from './pair-moments.ts';

/** How closely pairs lie to the line y = x. */
export interface Concordance {
  /** Concordance correlation with divisor n; null for one pair, and when all readings are equal. */
  readonly ccc: number | null;
  /** The same with variances of divisor n - 1; null likewise. */
  readonly cccNMinus1: number | null;
  /** Correlation of the pairs (precision); null when a column does not vary. */
  readonly pearsonR: number | null;
  /** Bias correction factor (accuracy), ccc / r; null when a column does not vary. */
  readonly biasCorrection: number | null;
  /** Standard error of Fisher's z of the ccc; null below three pairs and at a ccc of exactly 1 or -1. */
  readonly fisherZSe: number | null;
  /** 95 % bounds of the ccc through Fisher's z; null with it. */
  readonly bounds: Bounds | null;
}

/**
 * Lin's concordance correlation coefficient (Lin, "A concordance correlation coefficient to evaluate reproducibility",
 * Biometrics 45 (1989) 255-268, with the variance as corrected in Biometrics 56 (2000) 324-325; from memory):
 * ccc = 2 sxy / (sx^2 + sy^2 + (mean x - mean y)^2).
 */
export function concordance(pairs: Pairs): Concordance {
  const m = pairMoments(pairs);
  const { n, sxx } = m;
  const close = m.sdd < sxx / 4;
  const sxy = close ? sxx + m.sxd : m.sxy;
  const syy = close ? sxx + 2 * m.sxd + m.sdd : m.syy;
  const shift = m.meanD ** 2;
  const total = sxx + syy + n * shift;
  if (n < 2 || total === 0) {
    return { ccc: null, cccNMinus1: null, pearsonR: null, biasCorrection: null, fisherZSe: null, bounds: null };
  }
  const ccc = (2 * sxy) / total;
  const cccNMinus1 = (2 * sxy) / (sxx + syy + (n - 1) * shift);
  // The root of a square is exact, so that identical columns correlate exactly; the product of roots is for tiny spreads.
  const spread = Math.sqrt(sxx * syy) || Math.sqrt(sxx) * Math.sqrt(syy);
  if (spread === 0) return { ccc, cccNMinus1, pearsonR: null, biasCorrection: null, fisherZSe: null, bounds: null };
  const pearsonR = Math.max(-1, Math.min(1, sxy / spread));
  const biasCorrection = Math.min(1, (2 * spread) / total);
  const parts = {
    ccc,
    lessThanOne: (m.sdd + n * shift) / total,
    unexplained: unexplainedShare(pairs, syy),
    biasCorrection,
    shiftSquared: (n * shift) / spread,
  };
  const fisherZSe = n < 3 ? null : zStandardError(n, parts);
  const bounds = fisherZSe === null ? null : zBounds(parts, fisherZSe);
  return { ccc, cccNMinus1, pearsonR, biasCorrection, fisherZSe, bounds };
}

interface ZParts {
  readonly ccc: number;
  /** 1 - ccc, from the squares of the differences: near 1 it cannot be had from the ccc. */
  readonly lessThanOne: number;
  /** 1 - r^2. */
  readonly unexplained: number;
  readonly biasCorrection: number;
  /** u^2 of Lin: squared shift over the product of the two standard deviations. */
  readonly shiftSquared: number;
}

/** 1 - r^2 from the residuals of d on x, which are those of y on x. */
function unexplainedShare({ x, d }: Pairs, syy: number): number {
  return Math.min(1, (leastSquares(x, d).residualSquares ?? 0) / syy);
}

/** Lin's variance of z with c / r written as the bias correction, so that r = 0 is no special case. */
function zStandardError(n: number, parts: ZParts): number | null {
  const { ccc, lessThanOne, unexplained, biasCorrection, shiftSquared } = parts;
  const plusOne = 1 + ccc;
  if (lessThanOne === 0 || plusOne === 0) return null;
  const rest = lessThanOne * plusOne;
  // The squared shift is a part of 1 - ccc: their ratio stays small however small both are.
  const shiftShare = shiftSquared / rest;
  const variance =
    (unexplained / rest) * biasCorrection ** 2 +
    (2 * ccc ** 2 * biasCorrection * shiftShare) / plusOne -
    (ccc * biasCorrection * shiftShare) ** 2 / 2;
  return variance < 0 ? null : Math.sqrt(variance / (n - 2));
}

function zBounds({ ccc, lessThanOne }: ZParts, se: number): Bounds {
  const z = 0.5 * (Math.log1p(ccc) - Math.log(lessThanOne));
  const step = normalQuantile(0.025, 'upper') * se;
  return [Math.tanh(z - step), Math.tanh(z + step)];
}
