import { checkRange, checkValues } from '../checks.ts';
import type { Values } from '../checks.ts';
import { QualityError } from '../errors.ts';
import { compensatedSum } from '../moments.ts';

/**
 * Sums over pairs (x, y) and their differences d = y - x, squares and products about the means. Both the sums of y and
 * those of d are carried: where the two agree closely, what matters is d, and it cannot be had back from sums of x and y.
 */
export interface PairMoments {
  readonly n: number;
  readonly meanX: number;
  readonly meanY: number;
  readonly meanD: number;
  readonly sxx: number;
  readonly syy: number;
  readonly sxy: number;
  readonly sxd: number;
  readonly sdd: number;
}

/** Two columns of equal length, and their differences y - x. */
export interface Pairs {
  readonly x: Values;
  readonly y: Values;
  readonly d: readonly number[];
}

/** Largest size of a reading whose fourth power still fits a double; no unit of the trade comes near. */
const LARGEST = 1e50;

/**
 * Checks two columns of readings and pairs them.
 *
 * @throws QualityError `empty`, `not-finite`, `out-of-range` (beyond 1e50), `unequal-sizes`
 */
export function pairUp(x: Values, y: Values, keys = { x: 'x', y: 'y' }): Pairs {
  for (const [values, key] of [
    [x, keys.x],
    [y, keys.y],
  ] as const) {
    checkValues(values, key);
    for (let i = 0; i < values.length; i += 1) checkRange(values[i] ?? 0, `${key}[${i}]`, -LARGEST, LARGEST);
  }
  if (x.length !== y.length) {
    throw new QualityError('unequal-sizes', keys.y, `${keys.y} has ${y.length} values, ${keys.x} has ${x.length}`);
  }
  return { x, y, d: Array.from({ length: x.length }, (_, i) => (y[i] ?? 0) - (x[i] ?? 0)) };
}

/** The pairs as deviations from the means of their columns, with those means. */
function centred({ x, y, d }: Pairs): { readonly of: (i: number) => PairMoments; readonly means: PairMoments } {
  const n = d.length;
  const column = (values: Values): { readonly mean: number; readonly deviation: (i: number) => number } => {
    // Differences to a value of the data are exact or nearly so whatever the common offset is.
    const shift = values[0] ?? 0;
    const rest = compensatedSum(n, (i) => (values[i] ?? 0) - shift) / n;
    return { mean: shift + rest, deviation: (i) => (values[i] ?? 0) - shift - rest };
  };
  const [cx, cy, cd] = [column(x), column(y), column(d)];
  const none = { sxx: 0, syy: 0, sxy: 0, sxd: 0, sdd: 0 };
  return {
    means: { n: 0, meanX: cx.mean, meanY: cy.mean, meanD: cd.mean, ...none },
    of: (i) => ({ n: 1, meanX: cx.deviation(i), meanY: cy.deviation(i), meanD: cd.deviation(i), ...none }),
  };
}

const NONE: PairMoments = { n: 0, meanX: 0, meanY: 0, meanD: 0, sxx: 0, syy: 0, sxy: 0, sxd: 0, sdd: 0 };

/**
 * The moments of two sets of pairs together (Chan, Golub & LeVeque, "Algorithms for computing the sample variance", The
 * American Statistician 37 (1983), eq. 1.5a and 1.5b, and the same for products).
 */
function merged(a: PairMoments, b: PairMoments): PairMoments {
  if (a.n === 0) return b;
  if (b.n === 0) return a;
  const n = a.n + b.n;
  const [dx, dy, dd] = [b.meanX - a.meanX, b.meanY - a.meanY, b.meanD - a.meanD];
  const weight = (a.n * b.n) / n;
  return {
    n,
    meanX: a.meanX + (dx * b.n) / n,
    meanY: a.meanY + (dy * b.n) / n,
    meanD: a.meanD + (dd * b.n) / n,
    sxx: a.sxx + b.sxx + dx * dx * weight,
    syy: a.syy + b.syy + dy * dy * weight,
    sxy: a.sxy + b.sxy + dx * dy * weight,
    sxd: a.sxd + b.sxd + dx * dd * weight,
    sdd: a.sdd + b.sdd + dd * dd * weight,
  };
}

const shifted = (m: PairMoments, by: PairMoments): PairMoments => ({
  ...m,
  meanX: m.meanX + by.meanX,
  meanY: m.meanY + by.meanY,
  meanD: m.meanD + by.meanD,
});

/** Moments of all pairs. */
export function pairMoments(pairs: Pairs): PairMoments {
  const { of, means } = centred(pairs);
  const n = pairs.d.length;
  const sum = (a: 'meanX' | 'meanY' | 'meanD', b: 'meanX' | 'meanY' | 'meanD'): number =>
    compensatedSum(n, (i) => of(i)[a] * of(i)[b]);
  return {
    ...means,
    n,
    sxx: sum('meanX', 'meanX'),
    syy: sum('meanY', 'meanY'),
    sxy: sum('meanX', 'meanY'),
    sxd: sum('meanX', 'meanD'),
    sdd: sum('meanD', 'meanD'),
  };
}

/**
 * Moments without pair i, for each i: those before it merged with those after it. Nothing is subtracted, so a pair that
 * carries nearly all of a sum can be left out without loss of digits.
 */
export function leaveOneOut(pairs: Pairs): PairMoments[] {
  const { of, means } = centred(pairs);
  const n = pairs.d.length;
  const after: PairMoments[] = Array.from({ length: n + 1 }, () => NONE);
  for (let i = n - 1; i >= 0; i -= 1) after[i] = merged(of(i), after[i + 1] ?? NONE);
  let before = NONE;
  return Array.from({ length: n }, (_, i) => {
    const without = shifted(merged(before, after[i + 1] ?? NONE), means);
    before = merged(before, of(i));
    return without;
  });
}
