import { checkFinite, checkProbability, checkRange, checkWhole } from '../checks.ts';
import { chiSquareCdf, chiSquareQuantile } from '../distributions/chi-square.ts';
import { noncentralTQuantile } from '../distributions/noncentral-t.ts';
import { normalCdf, normalPdf, normalQuantile } from '../distributions/normal.ts';
import { compensatedSum } from '../moments.ts';
import { findRoot } from '../numeric/root.ts';

/** Factors k of normal tolerance limits mean + k sd; without unit. Null: undefined, as all are for a single value. */
export interface ToleranceFactors {
  /** One-sided, exact: mean + k1 sd is above the wanted share of the population with the wanted confidence. */
  readonly oneSidedExact: number | null;
  /** The same by Natrella's approximation; null also where it has no value, for few values. */
  readonly oneSidedNatrella: number | null;
  /** Two-sided, exact: mean - k2 sd to mean + k2 sd holds the wanted share with the wanted confidence. */
  readonly twoSidedExact: number | null;
  /** The same by Howe's approximation. */
  readonly twoSidedHowe: number | null;
}

/** Exact normal tolerance limits in the unit of the values; null for a single value. */
export interface ToleranceLimits {
  /** The wanted share of the population is above this (on its own). */
  readonly oneSidedLower: number | null;
  /** The wanted share is below this (on its own). */
  readonly oneSidedUpper: number | null;
  /** The wanted share is between these two. */
  readonly twoSidedLower: number | null;
  readonly twoSidedUpper: number | null;
}

/** Beyond, a factor is that of the normal distribution to six digits. */
const LARGEST_SAMPLE = 1e7;

/** Below, a share is lost beside 1. */
const LEAST_COVERAGE = 1e-12;

const NONE: ToleranceFactors = {
  oneSidedExact: null,
  oneSidedNatrella: null,
  twoSidedExact: null,
  twoSidedHowe: null,
};

/**
 * Factors of normal tolerance limits for a sample of n with its own mean and standard deviation (n - 1), `coverage` the
 * share of the population and `confidence` both between 0 and 1. The formulas are with each function below; NIST/SEMATECH
 * e-Handbook of Statistical Methods, 7.2.6.3, has the definitions and the approximations.
 *
 * @throws QualityError `not-finite`, `not-whole`, `out-of-range`
 */
export function toleranceFactors(n: number, coverage: number, confidence: number): ToleranceFactors {
  checkWhole(n, 'n', 1, LARGEST_SAMPLE);
  checkProbability(coverage, 'coverage');
  checkProbability(confidence, 'confidence');
  checkRange(coverage, 'coverage', LEAST_COVERAGE, 1);
  if (n === 1) return NONE;
  return {
    oneSidedExact: oneSidedExact(n, coverage, confidence),
    oneSidedNatrella: oneSidedNatrella(n, coverage, confidence),
    twoSidedExact: twoSidedExact(n, coverage, confidence),
    twoSidedHowe: twoSidedHowe(n, coverage, confidence),
  };
}

/**
 * The exact limits for a sample's mean and standard deviation (n - 1, null for a single value).
 *
 * @throws QualityError `not-finite`, `out-of-range` (sd below 0)
 */
export function toleranceLimits(
  { oneSidedExact: k1, twoSidedExact: k2 }: ToleranceFactors,
  mean: number,
  sd: number | null,
): ToleranceLimits {
  checkFinite(mean, 'mean');
  if (sd !== null) checkRange(sd, 'sd', 0, Number.MAX_VALUE);
  const at = (k: number | null, side: 1 | -1): number | null =>
    k === null || sd === null ? null : mean + side * k * sd;
  return {
    oneSidedLower: at(k1, -1),
    oneSidedUpper: at(k1, 1),
    twoSidedLower: at(k2, -1),
    twoSidedUpper: at(k2, 1),
  };
}

/** k1 = t / sqrt(n), t the noncentral t quantile at the confidence with n - 1 and noncentrality z_p sqrt(n). */
function oneSidedExact(n: number, coverage: number, confidence: number): number {
  const root = Math.sqrt(n);
  return noncentralTQuantile(confidence, n - 1, upperQuantile(1 - coverage) * root) / root;
}

/** Natrella, "Experimental Statistics", NBS Handbook 91 (1963), section 2-5.3; e-Handbook 7.2.6.3. */
function oneSidedNatrella(n: number, coverage: number, confidence: number): number | null {
  const zp = upperQuantile(1 - coverage);
  const zg = upperQuantile(1 - confidence);
  const a = 1 - (zg * zg) / (2 * (n - 1));
  const b = zp * zp - (zg * zg) / n;
  // For a confidence below one half the factor is the smaller root.
  return a <= 0 ? null : (zp + Math.sign(zg) * Math.sqrt(Math.max(0, zp * zp - a * b))) / a;
}

/** Howe, "Two-sided tolerance limits for normal populations", JASA 64 (1969) 610-620; e-Handbook 7.2.6.3. */
function twoSidedHowe(n: number, coverage: number, confidence: number): number {
  const z = upperQuantile((1 - coverage) / 2);
  return z * Math.sqrt(((n - 1) * (1 + 1 / n)) / chiSquareQuantile(1 - confidence, n - 1));
}

/**
 * Exact k2 (Wald & Wolfowitz, Annals of Mathematical Statistics 17 (1946) 208-215; Odeh & Owen, "Tables for Normal
 * Tolerance Limits, Sampling Plans and Screening" (1980), section 3): with u = sqrt(n) (mean - true mean) / sigma standard
 * normal, limits at the distance k s from the mean hold the share where k s >= r(u) sigma, so the confidence is the mean
 * over u of P(chi-square(n - 1) >= (n - 1) r(u)^2 / k^2).
 */
function twoSidedExact(n: number, coverage: number, confidence: number): number {
  const df = n - 1;
  const reach = meanReach(n, coverage);
  // Solved for the smaller of confidence and its complement, which keeps the digits of one near 1.
  const [tail, wanted] = confidence < 0.5 ? (['upper', confidence] as const) : (['lower', 1 - confidence] as const);
  const miss = (k: number): number => {
    const sum = compensatedSum(reach.length, (i) => {
      const { r = 0, weight = 0 } = reach[i] ?? {};
      return weight * chiSquareCdf(df * (r / k) ** 2, df, tail);
    });
    return sum / wanted - 1;
  };
  // No mean is better placed than the true one (u = 0), so its k is a lower bound.
  const least = (reach[0]?.r ?? 0) * Math.sqrt(df / chiSquareQuantile(wanted, df, tail));
  let most = 1.5 * least;
  while (miss(most) > 0 === miss(least) > 0) most *= 2;
  return findRoot(miss, least, most, 1e-14);
}

/** A place u >= 0 of the mean, the half-width r there, and the share that the place and its mirror stand for. */
interface Reach {
  readonly r: number;
  readonly weight: number;
}

/** Where the density of u, about 1e-37, has nothing left to add to confidences that differ from 1 by a number. */
const FARTHEST = 13;

/**
 * r(u), the half-width that holds the share around a mean u / sqrt(n) standard deviations off, at the nodes of the
 * trapezoidal rule, which for a function that is analytic in a strip of half-width d errs by about exp(-2 pi d / step)
 * (Trefethen & Weideman, "The exponentially convergent trapezoidal rule", SIAM Review 56 (2014) 385-458). r(u) branches
 * where the densities at both limits cancel, at about u r = i pi sqrt(n) / 2.
 */
function meanReach(n: number, coverage: number): readonly Reach[] {
  const root = Math.sqrt(n);
  const strip = (Math.PI * root) / (2 * halfWidth(0, coverage));
  const step = Math.min(0.125, strip / 8);
  return Array.from({ length: Math.ceil(FARTHEST / step) }, (_, i) => ({
    r: halfWidth((i * step) / root, coverage),
    weight: (i === 0 ? 1 : 2) * step * normalPdf(i * step),
  }));
}

/** The r with P(x - r < Z < x + r) = coverage, x >= 0. */
function halfWidth(x: number, coverage: number): number {
  const outside = 1 - coverage;
  const widest = upperQuantile(outside / 2);
  if (x === 0) return widest;
  const miss = (r: number): number =>
    coverage < 0.5
      ? 1 - (normalCdf(x - r, 'upper') - normalCdf(x + r, 'upper')) / coverage
      : (normalCdf(r - x, 'upper') + normalCdf(r + x, 'upper')) / outside - 1;
  // What is outside lies wholly on the near side at the narrowest, and in equal parts at the widest; a hair more each way.
  const narrowest = Math.max(widest, x + upperQuantile(outside));
  return findRoot(miss, narrowest * (1 - 1e-10), (x + widest) * (1 + 1e-10), 1e-14);
}

/** z with P(Z > z) = p. */
function upperQuantile(p: number): number {
  return normalQuantile(p, 'upper');
}
