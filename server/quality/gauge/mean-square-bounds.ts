import { chiSquareQuantile } from '../distributions/chi-square.ts';
import { fQuantile } from '../distributions/f.ts';
import { checkProbability } from '../checks.ts';
import { findRoot } from '../numeric/root.ts';

/** Two-sided confidence interval. */
export interface Interval {
  readonly lower: number;
  readonly upper: number;
}

/** Independent mean squares of an analysis of variance, each ms df / E(ms) chi-square with df. */
export interface IndependentMeanSquare {
  readonly ms: number;
  readonly df: number;
}

/** Confidence intervals of linear combinations of the expected values of a set of mean squares. */
export interface MeanSquareBounds {
  /**
   * Interval of the sum of coefficient times expected mean square, unit of the mean squares. Bounds of a variance may
   * come out below zero; raising them is left to the caller.
   */
  combination(coefficients: readonly number[]): Interval;
  /**
   * Interval of the ratio of two combinations that is known to lie from 0 to 1 (a part of a whole); null (undefined)
   * when all mean squares are zero.
   */
  share(part: readonly number[], whole: readonly number[]): Interval | null;
}

/**
 * Modified large-sample intervals. A sum: Graybill & Wang, "Confidence intervals on nonnegative linear combinations of
 * variances", Journal of the American Statistical Association 75 (1980) 869-873. A combination with both signs: Ting,
 * Burdick, Graybill, Jeyaratnam & Lu, Journal of Statistical Computation and Simulation 35 (1990) 135-143. Both in Burdick
 * & Graybill, "Confidence Intervals on Variance Components", Marcel Dekker 1992, section 3.3 (section from memory), and in
 * Burdick, Borror & Montgomery, "Design and Analysis of Gauge R&R Studies", SIAM 2005. A single mean square gets the exact
 * chi-square interval; a difference is exact where one of its terms vanishes and where the F test just turns. A ratio:
 * the values for which the interval of part - ratio * whole holds zero, the idea of Gui, Graybill, Burdick & Ting, Journal
 * of Statistical Planning and Inference 48 (1995) 215-227.
 *
 * Each bound has half of 1 - confidence. Normal, independent random effects are assumed.
 *
 * @throws QualityError `out-of-range`, `not-finite` (confidence)
 */
export function meanSquareBounds(given: readonly IndependentMeanSquare[], confidence = 0.95): MeanSquareBounds {
  checkProbability(confidence, 'confidence');
  // In units of the largest mean square: squares of mean squares neither overflow nor vanish, whatever the unit is.
  const unit = Math.max(...given.map(({ ms }) => ms));
  const scaled = given.map(({ ms }) => (unit === 0 ? 0 : ms / unit));
  const factors = boundFactors(
    given.map(({ df }) => df),
    (1 - confidence) / 2,
  );
  const lower = (coefficients: readonly number[]): number =>
    lowerBound(
      scaled.map((ms, i) => ms * (coefficients[i] ?? 0)),
      coefficients,
      factors,
    );
  // The upper bound of a combination is the lower one of its opposite, turned round.
  const interval = (coefficients: readonly number[]): Interval => ({
    lower: lower(coefficients),
    upper: -lower(coefficients.map((each) => -each)),
  });
  return {
    combination: (coefficients) => {
      const { lower: low, upper: high } = interval(coefficients);
      return { lower: low * unit, upper: high * unit };
    },
    share: (part, whole) => {
      if (unit === 0) return null;
      const rest = (ratio: number): Interval => interval(part.map((each, i) => each - ratio * (whole[i] ?? 0)));
      return { lower: crossing((ratio) => rest(ratio).lower), upper: crossing((ratio) => rest(ratio).upper) };
    },
  };
}

/** Where a falling function passes zero between 0 and 1; the end that it does not reach. */
function crossing(f: (ratio: number) => number): number {
  if (f(0) <= 0) return 0;
  if (f(1) >= 0) return 1;
  return findRoot(f, 0, 1);
}

interface BoundFactors {
  /** 1 - 1/F(upper; df, infinite). */
  readonly g: (i: number) => number;
  /** 1/F(lower; df, infinite) - 1. */
  readonly h: (i: number) => number;
  /** Factor of a product of terms with unlike signs. */
  readonly unlike: (plus: number, minus: number) => number;
  /** Factor of a product of terms that both count plus. */
  readonly alike: (a: number, b: number) => number;
}

/** With F(p; df, infinite) = chi-square quantile / df. Each is computed when first asked for, then kept. */
function boundFactors(df: readonly number[], tail: number): BoundFactors {
  const dfOf = (i: number): number => df[i] ?? 0;
  const gOf = kept((n) => 1 - n / chiSquareQuantile(tail, n, 'upper'));
  const g = (i: number): number => gOf(dfOf(i));
  const hOf = kept((n) => n / chiSquareQuantile(tail, n, 'lower') - 1);
  const h = (i: number): number => hOf(dfOf(i));
  const unlike = kept((plus, minus) => {
    const f = fQuantile(tail, dfOf(plus), dfOf(minus), 'upper');
    return ((f - 1) ** 2 - (g(plus) * f) ** 2 - h(minus) ** 2) / f;
  });
  const alike = (a: number, b: number): number => {
    const [m, n] = [dfOf(a), dfOf(b)];
    return (gOf(m + n) ** 2 * (m + n) ** 2) / (m * n) - (g(a) ** 2 * m) / n - (g(b) ** 2 * n) / m;
  };
  return { g, h, unlike, alike };
}

/** Ting et al. (1990); without terms that count minus, Graybill & Wang (1980). `terms` are coefficient times mean square. */
function lowerBound(terms: readonly number[], coefficients: readonly number[], factors: BoundFactors): number {
  const indices = [...coefficients.keys()];
  const plus = indices.filter((i) => (coefficients[i] ?? 0) > 0);
  const minus = indices.filter((i) => (coefficients[i] ?? 0) < 0);
  const term = (i: number): number => Math.abs(terms[i] ?? 0);
  let squares = 0;
  for (const q of plus) squares += (factors.g(q) * term(q)) ** 2;
  for (const r of minus) squares += (factors.h(r) * term(r)) ** 2;
  for (const q of plus) for (const r of minus) squares += factors.unlike(q, r) * term(q) * term(r);
  if (minus.length > 0) {
    for (const q of plus) {
      for (const t of plus) {
        if (q < t) squares += (factors.alike(q, t) / (plus.length - 1)) * term(q) * term(t);
      }
    }
  }
  return terms.reduce((sum, each) => sum + each, 0) - Math.sqrt(Math.max(0, squares));
}

function kept(f: (a: number, b: number) => number): (a: number, b?: number) => number {
  const known = new Map<string, number>();
  return (a, b = 0) => {
    const key = `${a} ${b}`;
    const value = known.get(key) ?? f(a, b);
    known.set(key, value);
    return value;
  };
}
