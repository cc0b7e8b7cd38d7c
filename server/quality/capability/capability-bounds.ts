import type { Capability, SpreadCapability } from './capability.ts';
import { checkFinite, checkPositive, checkProbability, checkWhole } from '../checks.ts';
import { chiSquareQuantile } from '../distributions/chi-square.ts';
import { noncentralTNoncentrality } from '../distributions/noncentral-t.ts';
import { normalQuantile } from '../distributions/normal.ts';

/** From `lower` to `upper`, pure numbers. */
export interface Interval {
  readonly lower: number;
  readonly upper: number;
}

/** How far an index computed from a sample can be trusted: normal process, stable, values independent. */
export interface IndexBounds {
  /** Degrees of freedom of the standard deviation. */
  readonly df: number;
  /** Two-sided, exact: Cp, Pp. */
  readonly both: Interval | null;
  /** Two-sided, normal approximation: Cpk, Ppk. */
  readonly nearerApproximate: Interval | null;
  /** One-sided lower bound, exact: CPU, PPU. */
  readonly upperAtLeast: number | null;
  /** Two-sided, exact: CPU, PPU. */
  readonly upper: Interval | null;
  /** One-sided lower bound, exact: CPL, PPL. */
  readonly lowerAtLeast: number | null;
  /** Two-sided, exact: CPL, PPL. */
  readonly lower: Interval | null;
  /** One-sided lower bound of Cpk, Ppk, at least as safe as its confidence says; see `lowestIndex`. */
  readonly nearerAtLeast: number | null;
}

/**
 * Bounds of the overall indices (df n - 1); null (undefined) without a spread.
 *
 * @throws QualityError `not-finite`, `out-of-range` for the confidence
 */
export function overallBounds({ n, overall }: Capability, confidence = 0.95): IndexBounds | null {
  return overall === null ? null : bounds(overall, n, n - 1, confidence);
}

/**
 * Bounds of the indices from the pooled standard deviation within subgroups; null without one or without a spread.
 *
 * @throws QualityError `not-finite`, `out-of-range` for the confidence
 */
export function pooledBounds({ n, within, pooledDf }: Capability, confidence = 0.95): IndexBounds | null {
  return within.pooled === null || pooledDf === null ? null : bounds(within.pooled, n, pooledDf, confidence);
}

function bounds({ sd, indices }: SpreadCapability, n: number, df: number, confidence: number): IndexBounds | null {
  checkProbability(confidence, 'confidence');
  if (sd === 0) return null;
  const sample = { n, df, confidence };
  const of = <T>(index: number | null, bound: (index: number, sample: Sample) => T): T | null =>
    index === null ? null : bound(index, sample);
  const upperAtLeast = of(indices.upper, lowestIndex);
  const lowerAtLeast = of(indices.lower, lowestIndex);
  return {
    df,
    both: of(indices.both, chiSquareInterval),
    nearerApproximate: of(indices.nearer, approximateInterval),
    upperAtLeast,
    upper: of(indices.upper, exactInterval),
    lowerAtLeast,
    lower: of(indices.lower, exactInterval),
    // The bound rises with the index, so that of the nearer side is the lower one.
    nearerAtLeast: indices.nearer === indices.upper ? upperAtLeast : lowerAtLeast,
  };
}

/** What a bound depends on besides the index. */
export interface Sample {
  /** Number of values in the mean. */
  readonly n: number;
  /** Degrees of freedom of the standard deviation: n - 1 for the overall one. */
  readonly df: number;
  /** 0.95 for 95 %. */
  readonly confidence: number;
}

/**
 * Exact two-sided interval of Cp or Pp: index sqrt(chi-square quantile / df), since df s^2 / sigma^2 is chi-square
 * (Kane, Journal of Quality Technology 18 (1986) 41-52; NIST/SEMATECH e-Handbook of Statistical Methods 6.1.6).
 *
 * @throws QualityError `not-finite`, `not-whole`, `out-of-range`
 */
export function chiSquareInterval(index: number, sample: Sample): Interval {
  check(index, sample);
  const { df, confidence } = sample;
  const tail = (1 - confidence) / 2;
  return {
    lower: index * Math.sqrt(chiSquareQuantile(tail, df, 'lower') / df),
    upper: index * Math.sqrt(chiSquareQuantile(tail, df, 'upper') / df),
  };
}

/**
 * Two-sided interval of Cpk or Ppk by the normal approximation c -/+ z sqrt(1/(9 n) + c^2/(2 df)) (Bissell, "How
 * reliable is your capability index?", Applied Statistics 39 (1990) 331-340; NIST/SEMATECH e-Handbook 6.1.6).
 *
 * @throws QualityError `not-finite`, `not-whole`, `out-of-range`
 */
export function approximateInterval(index: number, sample: Sample): Interval {
  check(index, sample);
  const half = normalQuantile((1 - sample.confidence) / 2, 'upper') * approximateSe(index, sample);
  return { lower: index - half, upper: index + half };
}

/**
 * The one-sided lower bound by the approximation of `approximateInterval`: c - z sqrt(1/(9 n) + c^2/(2 df)), z of the
 * confidence itself.
 *
 * @throws QualityError `not-finite`, `not-whole`, `out-of-range`
 */
export function approximateLowestIndex(index: number, sample: Sample): number {
  check(index, sample);
  return index - normalQuantile(1 - sample.confidence, 'upper') * approximateSe(index, sample);
}

function approximateSe(index: number, { n, df }: Sample): number {
  return Math.sqrt(1 / (9 * n) + index ** 2 / (2 * df));
}

/**
 * Exact one-sided lower bound of an index of one limit: the C for which P(T <= 3 sqrt(n) index) = confidence, T
 * noncentral t with df degrees of freedom and noncentrality 3 sqrt(n) C (Chou, Owen & Borrego, "Lower confidence limits
 * on process capability indices", Journal of Quality Technology 22 (1990) 223-229, for CPU and CPL).
 *
 * Taken of the nearer side it is a lower bound of Ppk or Cpk of two limits: whichever side is truly the worse, the
 * bound of that side is wrong with probability 1 - confidence at most, and the bound of the smaller index is not above
 * it. It is exact when the other limit is far and conservative when the process is centered (Kushler & Hurley,
 * "Confidence bounds for capability indices", Journal of Quality Technology 24 (1992) 188-195; the argument is that of
 * Berger's intersection-union test, Technometrics 24 (1982) 295-300).
 *
 * @throws QualityError `not-finite`, `not-whole`, `out-of-range`
 */
export function lowestIndex(index: number, sample: Sample): number {
  check(index, sample);
  return solved(index, sample, sample.confidence);
}

/**
 * Exact two-sided interval of an index of one limit, (1 - confidence)/2 on each side; see `lowestIndex`.
 *
 * @throws QualityError `not-finite`, `not-whole`, `out-of-range`
 */
export function exactInterval(index: number, sample: Sample): Interval {
  check(index, sample);
  const tail = (1 - sample.confidence) / 2;
  return { lower: solved(index, sample, 1 - tail), upper: solved(index, sample, tail) };
}

const SPREAD_ALONE = 1e17;

function solved(index: number, { n, df }: Sample, p: number): number {
  const scale = 3 * Math.sqrt(n);
  // Beside an index this large the doubt about the mean is lost in rounding: what is left is the doubt about the spread.
  if (Math.abs(scale * index) > SPREAD_ALONE)
    return index * Math.sqrt(chiSquareQuantile(p, df, index > 0 ? 'upper' : 'lower') / df);
  return noncentralTNoncentrality(p, scale * index, df) / scale;
}

function check(index: number, { n, df, confidence }: Sample): void {
  checkFinite(index, 'index');
  checkWhole(n, 'n', 1);
  checkPositive(df, 'df');
  checkProbability(confidence, 'confidence');
}
