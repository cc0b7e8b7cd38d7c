import { checkValues } from './checks.ts';
import type { Values } from './checks.ts';
import { QualityError } from './errors.ts';
import { compensatedSum, moments } from './moments.ts';

/** A straight line y = intercept + slope x by ordinary least squares, with what its scatter says about it. */
export interface LineFit {
  readonly n: number;
  /** y units per x unit; null (undefined) when all x are equal. */
  readonly slope: number | null;
  readonly intercept: number | null;
  readonly meanX: number;
  readonly meanY: number;
  /** Sum of squared deviations of x from its mean, x units squared. */
  readonly sxx: number;
  /** Sum of squared deviations of y from its mean, y units squared. */
  readonly syy: number;
  /** Sum of squared residuals, y units squared. */
  readonly residualSquares: number | null;
  /** Degrees of freedom of the residuals, n - 2. */
  readonly df: number;
  /** Residual standard deviation, divisor n - 2; null below three points. */
  readonly residualSd: number | null;
  readonly slopeSe: number | null;
  readonly interceptSe: number | null;
  /** Share of the squares of y that the line explains; null when y does not vary. */
  readonly rSquared: number | null;
}

/**
 * Ordinary least squares of y on x over paired values, in centred form (Draper & Smith, "Applied Regression Analysis",
 * 3rd ed., sections 1.2 to 1.4: slope, intercept, their standard errors, residual mean square with n - 2).
 *
 * @throws QualityError `empty`, `too-few` (fewer than two), `not-finite`, `unequal-sizes`
 */
export function leastSquares(x: Values, y: Values, keys = { x: 'x', y: 'y' }): LineFit {
  checkValues(x, keys.x, 2);
  checkValues(y, keys.y, 2);
  if (x.length !== y.length) {
    throw new QualityError('unequal-sizes', keys.y, `${keys.y} has ${y.length} values, ${keys.x} has ${x.length}`);
  }
  const n = x.length;
  const ofX = moments(x);
  const ofY = moments(y);
  const base = { n, meanX: ofX.mean, meanY: ofY.mean, sxx: ofX.squares, syy: ofY.squares, df: n - 2 };
  const none = { residualSquares: null, residualSd: null, slopeSe: null, interceptSe: null, rSquared: null };
  if (ofX.squares === 0) return { ...base, slope: null, intercept: null, ...none };
  // Deviations from a value of the data, so that a large common offset takes no digits from the products.
  const x0 = x[0] ?? 0;
  const y0 = y[0] ?? 0;
  const mx = compensatedSum(n, (i) => (x[i] ?? 0) - x0) / n;
  const my = compensatedSum(n, (i) => (y[i] ?? 0) - y0) / n;
  const dx = (i: number): number => (x[i] ?? 0) - x0 - mx;
  const dy = (i: number): number => (y[i] ?? 0) - y0 - my;
  const slope = compensatedSum(n, (i) => dx(i) * dy(i)) / ofX.squares;
  const intercept = ofY.mean - slope * ofX.mean;
  const residualSquares = ofY.squares === 0 ? 0 : compensatedSum(n, (i) => (dy(i) - slope * dx(i)) ** 2);
  const rSquared = ofY.squares === 0 ? null : 1 - residualSquares / ofY.squares;
  if (n < 3) return { ...base, ...none, slope, intercept, residualSquares, rSquared };
  const residualSd = Math.sqrt(residualSquares / (n - 2));
  const slopeSe = residualSd / Math.sqrt(ofX.squares);
  const interceptSe = residualSd * Math.sqrt(1 / n + ofX.mean ** 2 / ofX.squares);
  return { ...base, slope, intercept, residualSquares, residualSd, slopeSe, interceptSe, rSquared };
}
