import type { Values } from '../checks.ts';
import { QualityError } from '../errors.ts';

/** Newton converges quadratically from about a tenth away; halving alone would need some sixty steps. */
const MOST_STEPS = 200;

/**
 * Shape and location of the smallest-extreme-value distribution of logarithms y, standardized to mean 0 and mean square
 * 1, by maximum likelihood: the shape k solves sum(y w)/sum(w) - 1/k = mean(y) = 0 with w = exp(k y) (Lawless,
 * "Statistical Models and Methods for Lifetime Data", 2nd ed., section 5.2, in logarithms), the location is
 * ln(mean(w))/k. The left side rises with k from minus infinity to max(y) > 0, so there is one root.
 *
 * @throws QualityError `not-converged`
 */
export function extremeValueShape(y: Values): { readonly shape: number; readonly location: number } {
  const n = y.length;
  let top = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < n; i += 1) top = Math.max(top, y[i] ?? top);
  // sd of this distribution is pi/(k sqrt 6), which the mean square of 1 estimates.
  let k = Math.PI / Math.sqrt(6);
  // The weighted mean of y is at most the largest y, so 1/k is too.
  let low = 1 / top;
  let high = Number.POSITIVE_INFINITY;
  if (k <= low) k = 2 * low;
  for (let steps = 0; steps < MOST_STEPS; steps += 1) {
    const { mean, variance } = weighted(y, k, top);
    const miss = mean - 1 / k;
    if (miss > 0) high = k;
    else low = k;
    const next = k - miss / (variance + 1 / (k * k));
    const within = next > low && next < high;
    const halved = high === Number.POSITIVE_INFINITY ? 2 * k : (low + high) / 2;
    const moved = within ? next : halved;
    if (Math.abs(moved - k) <= 4 * Number.EPSILON * k || high - low <= 4 * Number.EPSILON * k) {
      return { shape: moved, location: top + Math.log(weighted(y, moved, top).weight / n) / moved };
    }
    k = moved;
  }
  throw new QualityError('not-converged', 'values', 'no Weibull shape found for the values');
}

/** Sum of the weights exp(k (y - top)), none above 1, and the mean and variance of y under them. */
function weighted(y: Values, k: number, top: number): { weight: number; mean: number; variance: number } {
  let weight = 0;
  let first = 0;
  let second = 0;
  for (let i = 0; i < y.length; i += 1) {
    const each = y[i] ?? 0;
    const w = Math.exp(k * (each - top));
    weight += w;
    first += w * each;
    second += w * each * each;
  }
  const mean = first / weight;
  // Only the slope of a step is made of the variance: it need not be exact, but not negative.
  return { weight, mean, variance: Math.max(0, second / weight - mean * mean) };
}
