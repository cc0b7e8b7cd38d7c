import type { Values } from '../checks.ts';
import { concordance } from './concordance.ts';
import type { Concordance } from './concordance.ts';
import { demingLine } from './deming.ts';
import type { Bounds, DemingLine } from './deming.ts';
import { tCdf, tQuantile } from '../distributions/student-t.ts';
import { leastSquares } from '../line-fit.ts';
import { moments, sampleSd } from '../moments.ts';
import { pairUp } from './pair-moments.ts';
import type { Pairs } from './pair-moments.ts';

/** One limit of agreement: where nearly all differences lie above (lower) or below (upper). */
export interface AgreementLimit {
  /** Mean -/+ 1.96 sd; unit of the values. */
  readonly limit: number;
  /** 95 % bounds with the standard error of 1986. */
  readonly bounds1986: Bounds;
  /** 95 % bounds with the standard error of 1999. */
  readonly bounds1999: Bounds;
  /** Mean -/+ 2 sd, as printed in 1986. */
  readonly limitAt2Sd: number;
}

export interface LimitsOfAgreement {
  readonly lower: AgreementLimit;
  readonly upper: AgreementLimit;
  /** sd root(3 / n). */
  readonly se1986: number;
  /** sd root(1 / n + 1.96^2 / (2 (n - 1))). */
  readonly se1999: number;
}

/** Least squares of the difference on the average of each pair; its slope says whether the bias goes with the reading. */
export interface ProportionalBias {
  /** Null when all averages are equal. */
  readonly slope: number | null;
  /** Null below three pairs. */
  readonly se: number | null;
  /** Null where the standard error is zero. */
  readonly t: number | null;
  /** Two-sided, n - 2 degrees of freedom. */
  readonly p: number | null;
}

export interface Agreement {
  readonly n: number;
  /** Mean of line - lab; unit of the values. */
  readonly meanDifference: number;
  /** Divisor n - 1; null for one pair. */
  readonly sdDifference: number | null;
  /** 95 % bounds of the mean difference, t with n - 1. */
  readonly meanBounds: Bounds | null;
  /** Mean over its standard error; null when the differences do not vary. */
  readonly t: number | null;
  /** Two-sided probability of such a t without a bias, n - 1 degrees of freedom. */
  readonly p: number | null;
  readonly limits: LimitsOfAgreement | null;
  readonly proportionalBias: ProportionalBias;
  /** x = lab, y = line. */
  readonly deming: DemingLine;
  readonly concordance: Concordance;
}

/**
 * Agreement of two ways to measure the same parts, pair by pair: bias and limits of agreement of d = line - lab (Bland &
 * Altman, "Statistical methods for assessing agreement between two methods of clinical measurement", The Lancet 327
 * (1986) 307-310; standard error of the limits as refined in "Measuring agreement in method comparison studies",
 * Statistical Methods in Medical Research 8 (1999) 135-160, section 2; both from memory), the trend of the differences
 * over the average, Deming regression and Lin's concordance.
 *
 * @throws QualityError `empty`, `not-finite`, `out-of-range` (beyond 1e50), `unequal-sizes`
 */
export function agreement(line: Values, lab: Values): Agreement {
  const pairs = pairUp(lab, line, { x: 'lab', y: 'line' });
  const ofD = moments(pairs.d);
  const { n, mean } = ofD;
  const sd = sampleSd(ofD);
  const base = {
    n,
    meanDifference: mean,
    sdDifference: sd,
    proportionalBias: proportionalBias(pairs),
    deming: demingLine(pairs),
    concordance: concordance(pairs),
  };
  if (sd === null) return { ...base, meanBounds: null, t: null, p: null, limits: null };
  const se = sd / Math.sqrt(n);
  const t = sd === 0 ? null : mean / se;
  return {
    ...base,
    meanBounds: around(mean, tQuantile(0.025, n - 1, 'upper') * se),
    t,
    p: twoSided(t, n - 1),
    limits: limitsOfAgreement(n, mean, sd),
  };
}

const around = (centre: number, half: number): Bounds => [centre - half, centre + half];

const twoSided = (t: number | null, df: number): number | null =>
  t === null ? null : Math.min(1, 2 * tCdf(Math.abs(t), df, 'upper'));

function limitsOfAgreement(n: number, mean: number, sd: number): LimitsOfAgreement {
  const se1986 = sd * Math.sqrt(3 / n);
  const se1999 = sd * Math.sqrt(1 / n + 1.96 ** 2 / (2 * (n - 1)));
  const t = tQuantile(0.025, n - 1, 'upper');
  const limit = (sign: -1 | 1): AgreementLimit => ({
    limit: mean + sign * 1.96 * sd,
    bounds1986: around(mean + sign * 1.96 * sd, t * se1986),
    bounds1999: around(mean + sign * 1.96 * sd, t * se1999),
    limitAt2Sd: mean + sign * 2 * sd,
  });
  return { lower: limit(-1), upper: limit(1), se1986, se1999 };
}

function proportionalBias({ x, y, d }: Pairs): ProportionalBias {
  const n = d.length;
  const none = { slope: null, se: null, t: null, p: null };
  if (n < 2) return none;
  // From a reading of the data, which leaves the slope alone: half a sum of readings far from zero would lose digits.
  const zero = x[0] ?? 0;
  const average = d.map((_, i) => ((x[i] ?? 0) - zero) / 2 + ((y[i] ?? 0) - zero) / 2);
  const fit = leastSquares(average, d);
  if (fit.slope === null) return none;
  if (fit.slopeSe === null || fit.residualSquares === null) return { ...none, slope: fit.slope };
  // Differences exactly proportional to the average leave residuals of rounding size only: no scatter.
  const rounding = 4 * Number.EPSILON * d.reduce((top, each) => Math.max(top, Math.abs(each)), 0);
  if (fit.residualSquares <= n * rounding ** 2) return { ...none, slope: fit.slope, se: 0 };
  const t = fit.slope / fit.slopeSe;
  return { slope: fit.slope, se: fit.slopeSe, t, p: twoSided(t, n - 2) };
}
