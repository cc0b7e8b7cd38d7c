import { checkFinite, checkProbability, checkRange, checkWhole } from '../checks.ts';
import { fCdf, fQuantile } from '../distributions/f.ts';
import { noncentralTCdf } from '../distributions/noncentral-t.ts';
import { tCdf, tQuantile } from '../distributions/student-t.ts';
import type { Interval } from '../gauge/mean-square-bounds.ts';
import { findRoot } from '../numeric/root.ts';

/** What is known of a sample: parts, mean, and standard deviation with divisor n - 1 (null for one part). One unit for all. */
export interface Sampled {
  readonly n: number;
  readonly mean: number;
  readonly sd: number | null;
}

/** Two means against each other: first less second, unit of the values. */
export interface MeansCompared {
  readonly difference: number;
  readonly standardError: number;
  /** Welch-Satterthwaite degrees of freedom, not whole. */
  readonly df: number;
  readonly t: number;
  /** Two-sided probability of a larger |t| where both have the same mean. */
  readonly p: number;
  readonly bounds: Interval;
}

/** Two spreads against each other: standard deviation of the first over that of the second. */
export interface SpreadsCompared {
  readonly ratio: number;
  /** Ratio of the variances. */
  readonly f: number;
  /** Two-sided probability of an F as far out where both spread alike. */
  readonly p: number;
  readonly bounds: Interval;
}

/** Largest size of a mean or a standard deviation: its square is still a number. */
const LARGEST = 1e150;

/**
 * The difference of the means of two independent normal samples whose spreads may differ: t with its standard error
 * sqrt(s1^2/n1 + s2^2/n2) and the degrees of freedom of Welch, "The generalization of Student's problem when several
 * different population variances are involved", Biometrika 34 (1947) 28-35, and Satterthwaite, Biometrics Bulletin 2 (1946)
 * 110-114 (from memory); NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.3. Null (undefined) where a sample is one
 * value or where neither has any spread.
 *
 * @throws QualityError `not-finite`, `not-whole`, `out-of-range`
 */
export function compareMeans(first: Sampled, second: Sampled, confidence = 0.95): MeansCompared | null {
  checkProbability(confidence, 'confidence');
  const error = errorOf(first, second);
  if (error === null) return null;
  const { standardError, df } = error;
  const difference = first.mean - second.mean;
  const t = difference / standardError;
  const half = tQuantile((1 - confidence) / 2, df, 'upper') * standardError;
  return {
    ...{ difference, standardError, df, t },
    p: Math.min(1, 2 * tCdf(Math.abs(t), df, 'upper')),
    bounds: { lower: difference - half, upper: difference + half },
  };
}

/**
 * The ratio of the standard deviations of two independent normal samples by the F distribution of the ratio of their
 * variances: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.9 for the test; bounds are f/F and f F' with the
 * quantiles F of (n1 - 1, n2 - 1) and F' of (n2 - 1, n1 - 1) degrees of freedom, square roots of both (Snedecor & Cochran,
 * "Statistical Methods", 7th ed., 6.13; from memory). It leans on the values being normal more than a comparison of means
 * does. Null (undefined) where a sample is one value or has no spread.
 *
 * @throws QualityError `not-finite`, `not-whole`, `out-of-range`
 */
export function compareSpreads(first: Sampled, second: Sampled, confidence = 0.95): SpreadsCompared | null {
  checkProbability(confidence, 'confidence');
  const [one, two] = [spreadOf(first, 'first'), spreadOf(second, 'second')];
  if (one === null || two === null || one === 0 || two === 0) return null;
  const [df1, df2] = [first.n - 1, second.n - 1];
  const ratio = one / two;
  const f = ratio * ratio;
  const beyond = (1 - confidence) / 2;
  return {
    ...{ ratio, f },
    p: Math.min(1, 2 * Math.min(fCdf(f, df1, df2), fCdf(f, df1, df2, 'upper'))),
    bounds: {
      lower: ratio / Math.sqrt(fQuantile(beyond, df1, df2, 'upper')),
      upper: ratio * Math.sqrt(fQuantile(beyond, df2, df1, 'upper')),
    },
  };
}

/**
 * The smallest difference of two means that such samples show with probability `power` in a two-sided test at `alpha`, unit
 * of the values: standard error times the noncentrality at which the noncentral t distribution has `power` beyond the
 * critical t (Cohen, "Statistical Power Analysis for the Behavioral Sciences", 2nd ed. (1988), 2.2, with the exact
 * distribution; from memory). Exact for spreads and sizes that are alike, with Welch's degrees of freedom otherwise near.
 * The spreads are taken as they were seen. Null (undefined) where `compareMeans` is.
 *
 * @throws QualityError `not-finite`, `not-whole`, `out-of-range` (power below 0.5)
 */
export function smallestShown(first: Sampled, second: Sampled, alpha = 0.05, power = 0.9): number | null {
  checkProbability(alpha, 'alpha');
  checkProbability(power, 'power');
  checkRange(power, 'power', 0.5, 1);
  const error = errorOf(first, second);
  if (error === null) return null;
  const { standardError, df } = error;
  const critical = tQuantile(alpha / 2, df, 'upper');
  const missed = (noncentrality: number): number => noncentralTCdf(critical, df, noncentrality) - (1 - power);
  // With one degree of freedom 90 % lie below 1.65 critical; more degrees ask for less, more power for more.
  let most = 2 * critical + 10;
  while (missed(most) > 0) most *= 2;
  return standardError * findRoot(missed, 0, most, 1e-10);
}

function errorOf(first: Sampled, second: Sampled): { readonly standardError: number; readonly df: number } | null {
  const [one, two] = [spreadOf(first, 'first'), spreadOf(second, 'second')];
  if (one === null || two === null || (one === 0 && two === 0)) return null;
  const [a, b] = [one / Math.sqrt(first.n), two / Math.sqrt(second.n)];
  // Shares of the larger one: squares of squares of tiny spreads would vanish.
  const [x, y] = [(a / Math.max(a, b)) ** 2, (b / Math.max(a, b)) ** 2];
  return {
    standardError: Math.hypot(a, b),
    df: (x + y) ** 2 / (x ** 2 / (first.n - 1) + y ** 2 / (second.n - 1)),
  };
}

/** The checked standard deviation; null for one value. */
function spreadOf({ n, mean, sd }: Sampled, key: string): number | null {
  checkWhole(n, `${key}.n`, 1);
  checkRange(mean, `${key}.mean`, -LARGEST, LARGEST);
  if (n === 1 || sd === null) return null;
  checkFinite(sd, `${key}.sd`);
  checkRange(sd, `${key}.sd`, 0, LARGEST);
  return sd;
}
