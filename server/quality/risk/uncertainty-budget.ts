import { LARGEST_COUNT, checkFreedom, checkPositive, checkProbability, checkRange } from '../checks.ts';
import { normalQuantile } from '../distributions/normal.ts';
import { tQuantile } from '../distributions/student-t.ts';
import { QualityError } from '../errors.ts';

/** How the values of an input quantity are thought to be spread. */
export type Spread = 'normal' | 'rectangular' | 'triangular' | 'arcsine';

/** One line of an uncertainty budget. */
export interface Contribution {
  readonly name: string;
  /** A: from repeated observations; B: from anything else (JCGM 100:2008, 0.7). */
  readonly type: 'A' | 'B';
  /**
   * For `normal` the standard uncertainty, or an expanded one with its `coverageFactor`; else the half-width of the
   * interval. Unit of the input quantity.
   */
  readonly value: number;
  readonly spread: Spread;
  /** Of a `normal` value; 1 when it is a standard uncertainty. */
  readonly coverageFactor: number;
  /** Change of the result for a change of this input, unit of the result per unit of the input. */
  readonly sensitivity: number;
  /** Degrees of freedom; null = infinite. */
  readonly df: number | null;
}

/** Correlation of two contributions, named by their position in the list. */
export interface Correlation {
  readonly between: readonly [number, number];
  readonly r: number;
}

export interface BudgetLine {
  readonly name: string;
  readonly type: 'A' | 'B';
  /** What the value was divided by. */
  readonly divisor: number;
  /** Standard uncertainty, unit of the input. */
  readonly u: number;
  /** Contribution to the result with the sign of the sensitivity, unit of the result. */
  readonly contribution: number;
  readonly df: number | null;
  /** Share of the combined variance, half of each covariance included; percent, null when that is zero. */
  readonly sharePercent: number | null;
}

export interface Expanded {
  /** Two-sided; null where no degrees of freedom are defined. */
  readonly coverageFactor: number | null;
  readonly expandedUncertainty: number | null;
}

export interface UncertaintyBudget {
  readonly lines: readonly BudgetLine[];
  readonly combined: number;
  /** What the coverage factor is taken from; null when effective degrees of freedom are undefined. */
  readonly coverageFrom: 'normal' | 't' | null;
  /** Effective degrees of freedom; null when infinite (`coverageFrom` normal) or undefined (null). */
  readonly effectiveDf: number | null;
  /** With the effective degrees of freedom as they are. */
  readonly expanded: Expanded;
  /** With the effective degrees of freedom cut to the next lower whole number, the cautious way; null below 1. */
  readonly cautious: Expanded & { readonly df: number | null };
}

/** Divisors of the half-width: JCGM 100:2008, 4.3.7 (rectangular, eq. 7), 4.3.9 (triangular, eq. 9b), H.1.3.4 (arcsine; from memory). */
const DIVISORS: Readonly<Record<Exclude<Spread, 'normal'>, number>> = {
  rectangular: Math.sqrt(3),
  triangular: Math.sqrt(6),
  arcsine: Math.SQRT2,
};

/**
 * Uncertainty budget of a linear (or linearised) model: combined standard uncertainty (JCGM 100:2008, 5.1.2 eq. 10 and,
 * with correlations, 5.2.2 eq. 16), effective degrees of freedom by the Welch-Satterthwaite formula (G.4.1, eq. G.2b) and
 * the expanded uncertainty with the coverage factor of Student's t (G.3.2, G.6.4). That formula holds for independent
 * contributions: with a correlation among contributions of finite degrees of freedom the effective ones are undefined.
 *
 * @throws QualityError `empty`, `not-finite`, `out-of-range` (a value below 0, a factor not above 0, |r| > 1, correlations
 * that contradict each other or name a contribution twice, p not between 0 and 1)
 */
export function uncertaintyBudget(
  contributions: readonly Contribution[],
  correlations: readonly Correlation[],
  coverageProbability: number,
): UncertaintyBudget {
  if (contributions.length === 0) {
    throw new QualityError('empty', 'contributions', 'contributions are empty; at least one wanted');
  }
  checkProbability(coverageProbability, 'coverage_probability');
  contributions.forEach(checkContribution);
  const parts = contributions.map((each) => each.sensitivity * standardUncertainty(each));
  const r = correlationMatrix(contributions.length, correlations);
  // In units of the largest part, so that squares neither overflow nor vanish.
  const scale = parts.reduce((top, each) => Math.max(top, Math.abs(each)), 0);
  const shares = scale === 0 ? parts.map(() => 0) : varianceShares(parts, scale, r);
  const variance = shares.reduce((total, each) => total + each, 0);
  const combined = scale * Math.sqrt(Math.max(0, variance));
  const isFinite = (i: number): boolean => contributions[i]?.df !== null;
  const correlated = correlations.some(({ between: [a, b], r: each }) => each !== 0 && (isFinite(a) || isFinite(b)));
  const df = effectiveDf(parts, contributions, { combined, correlated });
  // A whole number missed by rounding only counts as that number.
  const whole = df.value === null ? null : Math.floor(df.value * (1 + 1e-12));
  return {
    lines: contributions.map((each, i) => ({
      name: each.name,
      type: each.type,
      divisor: divisorOf(each),
      u: standardUncertainty(each),
      contribution: parts[i] ?? 0,
      df: each.df,
      sharePercent: combined === 0 ? null : (100 * (shares[i] ?? 0)) / variance,
    })),
    combined,
    coverageFrom: df.from,
    effectiveDf: df.value,
    expanded: expanded(combined, coverageProbability, df),
    cautious: {
      df: whole !== null && whole < 1 ? null : whole,
      ...expanded(combined, coverageProbability, whole === null ? df : { from: whole < 1 ? null : 't', value: whole }),
    },
  };
}

function checkContribution({ value, coverageFactor, sensitivity, df }: Contribution, at: number): void {
  const key = `contributions[${at}]`;
  checkRange(value, `${key}.value`, 0, 1e100);
  checkPositive(coverageFactor, `${key}.coverage_factor`);
  checkRange(coverageFactor, `${key}.coverage_factor`, 1e-50, 1e50);
  checkRange(sensitivity, `${key}.sensitivity`, -1e100, 1e100);
  if (df !== null) checkFreedom(df, `${key}.df`);
}

const divisorOf = ({ spread, coverageFactor }: Contribution): number =>
  spread === 'normal' ? coverageFactor : DIVISORS[spread];

const standardUncertainty = (each: Contribution): number => each.value / divisorOf(each);

function correlationMatrix(n: number, correlations: readonly Correlation[]): number[][] {
  const matrix: number[][] = Array.from({ length: n }, (_, i) =>
    Array.from({ length: n }, (_other, j): number => (i === j ? 1 : 0)),
  );
  const seen = new Set<string>();
  for (const [at, { between, r }] of correlations.entries()) {
    const key = `correlations[${at}]`;
    checkRange(r, `${key}.r`, -1, 1);
    const [i, j] = between;
    const [rowI, rowJ] = [matrix[i], matrix[j]];
    const pair = `${Math.min(i, j)} ${Math.max(i, j)}`;
    if (rowI === undefined || rowJ === undefined || i === j || seen.has(pair)) {
      throw new QualityError(
        'out-of-range',
        `${key}.between`,
        `${key}.between: two different contributions, once, wanted`,
      );
    }
    seen.add(pair);
    rowI[j] = r;
    rowJ[i] = r;
  }
  if (!isPossible(matrix)) {
    throw new QualityError(
      'out-of-range',
      'correlations',
      'correlations contradict each other; no quantities can have all of them',
    );
  }
  return matrix;
}

/** Whether a matrix is one of correlations: Cholesky's pivots are not negative, apart from rounding. */
function isPossible(matrix: readonly (readonly number[])[]): boolean {
  const n = matrix.length;
  const rounding = n * 1e-12;
  const factor: number[][] = [];
  for (let i = 0; i < n; i += 1) {
    const row: number[] = [];
    for (let j = 0; j <= i; j += 1) {
      const known = row.reduce((total, each, k) => total + each * ((j === i ? row : factor[j])?.[k] ?? 0), 0);
      const rest = (matrix[i]?.[j] ?? 0) - known;
      if (j === i) {
        if (rest < -rounding) return false;
        row.push(Math.sqrt(Math.max(0, rest)));
      } else {
        const pivot = factor[j]?.[j] ?? 0;
        // Below a pivot of zero the whole column has to vanish.
        if (pivot ** 2 <= rounding && Math.abs(rest) > Math.sqrt(rounding)) return false;
        row.push(pivot ** 2 <= rounding ? 0 : rest / pivot);
      }
    }
    factor.push(row);
  }
  return true;
}

/** What each part adds to the combined variance in units of `scale` squared: its own square and half of its covariances. */
function varianceShares(parts: readonly number[], scale: number, r: readonly (readonly number[])[]): number[] {
  const sized = parts.map((each) => each / scale);
  return sized.map((each, i) => each * sized.reduce((total, other, j) => total + other * (r[i]?.[j] ?? 0), 0));
}

interface EffectiveDf {
  readonly from: UncertaintyBudget['coverageFrom'];
  readonly value: number | null;
}

function effectiveDf(
  parts: readonly number[],
  contributions: readonly Contribution[],
  { combined, correlated }: { readonly combined: number; readonly correlated: boolean },
): EffectiveDf {
  // Without any uncertainty there is nothing that could be known badly.
  if (combined === 0) return { from: 'normal', value: null };
  const inverse = contributions.reduce((total, { df }, i) => {
    return df === null ? total : total + ((parts[i] ?? 0) / combined) ** 4 / df;
  }, 0);
  if (inverse === 0) return { from: 'normal', value: null };
  return correlated ? { from: null, value: null } : { from: 't', value: 1 / inverse };
}

function expanded(combined: number, probability: number, { from, value }: EffectiveDf): Expanded {
  if (from === null) return { coverageFactor: null, expandedUncertainty: null };
  const beyond = (1 - probability) / 2;
  const coverageFactor =
    from === 't' && value !== null
      ? tQuantile(beyond, Math.min(value, LARGEST_COUNT), 'upper')
      : normalQuantile(beyond, 'upper');
  return { coverageFactor, expandedUncertainty: coverageFactor * combined };
}

/** The position of a contribution by its name. @throws QualityError `out-of-range` when no or several have it */
export function positionOf(name: string, contributions: readonly Contribution[], key: string): number {
  const found = contributions.flatMap((each, i) => (each.name === name ? [i] : []));
  const [only] = found;
  if (only === undefined || found.length > 1) {
    const names = contributions.map((each) => each.name).join(', ');
    throw new QualityError(
      'out-of-range',
      key,
      `${key}: ${name} names ${found.length} contributions; one of ${names} wanted`,
    );
  }
  return only;
}
