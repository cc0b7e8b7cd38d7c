import { tQuantile } from '../distributions/student-t.ts';
import { moments } from '../moments.ts';
import { leaveOneOut, pairMoments } from './pair-moments.ts';
import type { PairMoments, Pairs } from './pair-moments.ts';

/** A pair of bounds, the lower first. */
export type Bounds = readonly [number, number];

/** A straight line y = intercept + slope x where both x and y carry errors of equal variance. */
export interface DemingLine {
  /** Null when x and y do not vary together: no direction is better than another. */
  readonly slope: number | null;
  /** Unit of the values. */
  readonly intercept: number | null;
  /** Jackknife standard errors; null below three pairs, or when leaving out a pair leaves no line. */
  readonly slopeSe: number | null;
  readonly interceptSe: number | null;
  /** 95 % bounds: estimate -/+ t(0.975, n - 2) standard errors. */
  readonly slopeBounds: Bounds | null;
  readonly interceptBounds: Bounds | null;
}

/**
 * Deming regression with an error variance ratio of 1: slope = (syy - sxx + root((syy - sxx)^2 + 4 sxy^2)) / (2 sxy)
 * (Deming, "Statistical Adjustment of Data", 1943; as used for method comparison in CLSI EP09, from memory). Standard
 * errors by the jackknife (Linnet, "Evaluation of regression procedures for methods comparison studies", Clinical
 * Chemistry 39 (1993) 424-432, from memory): pseudo-values n theta - (n - 1) theta_(i), bounds with n - 2 degrees of
 * freedom.
 */
export function demingLine(pairs: Pairs): DemingLine {
  const n = pairs.d.length;
  const whole = lineOf(pairMoments(pairs));
  const none = { slopeSe: null, interceptSe: null, slopeBounds: null, interceptBounds: null };
  if (whole === null) return { slope: null, intercept: null, ...none };
  const estimates = { slope: 1 + whole.slopeLessOne, intercept: whole.intercept };
  if (n < 3) return { ...estimates, ...none };
  const without = leaveOneOut(pairs).map(lineOf);
  if (!without.every((each) => each !== null)) return { ...estimates, ...none };
  const slopeSe = jackknifeSe(without.map(({ slopeLessOne }) => slopeLessOne));
  const interceptSe = jackknifeSe(without.map(({ intercept }) => intercept));
  const t = tQuantile(0.025, n - 2, 'upper');
  return {
    ...estimates,
    slopeSe,
    interceptSe,
    slopeBounds: [estimates.slope - t * slopeSe, estimates.slope + t * slopeSe],
    interceptBounds: [estimates.intercept - t * interceptSe, estimates.intercept + t * interceptSe],
  };
}

/** The spread of the pseudo-values n theta - (n - 1) theta_(i) is (n - 1) times that of the theta_(i). */
function jackknifeSe(estimates: readonly number[]): number {
  const { n, squares } = moments(estimates);
  return (n - 1) * Math.sqrt(squares / (n - 1) / n);
}

/**
 * The slope is carried as its distance from 1, which keeps its digits where the two columns agree. Null when the
 * covariance is zero or cannot be told from zero in doubles.
 */
function lineOf(m: PairMoments): { readonly slopeLessOne: number; readonly intercept: number } | null {
  const close = m.sdd < m.sxx / 4;
  const sxy = close ? m.sxx + m.sxd : m.sxy;
  const excess = close ? 2 * m.sxd + m.sdd : m.syy - m.sxx;
  if (Math.abs(sxy) <= m.n * Number.EPSILON * Math.sqrt(m.sxx) * Math.sqrt(m.syy)) return null;
  return withSlope(m, slopeLessOne(excess, sxy));
}

/** Of the two equal forms of the slope, the one that adds; likewise root - 2 sxy = excess^2 / (root + 2 sxy). */
function slopeLessOne(excess: number, sxy: number): number {
  const root = Math.hypot(excess, 2 * sxy);
  if (sxy < 0) return (excess > 0 ? (excess + root) / (2 * sxy) : (2 * sxy) / (root - excess)) - 1;
  const rest = (excess * excess) / (root + 2 * sxy);
  return excess > 0 ? (excess + rest) / (2 * sxy) : (excess - rest) / (root - excess);
}

const withSlope = (m: PairMoments, less: number): { readonly slopeLessOne: number; readonly intercept: number } => ({
  slopeLessOne: less,
  intercept: m.meanD - less * m.meanX,
});
