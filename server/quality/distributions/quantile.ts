import { QualityError } from '../errors.ts';
import { findRootNear } from '../numeric/root.ts';
import { normalQuantile } from './normal.ts';
import type { Tails } from './tail.ts';

/** A distribution of a positive variable. */
interface Positive {
  readonly tails: (x: number) => Tails;
  readonly density: (x: number) => number;
  /** A value somewhere in its middle. */
  readonly start: number;
}

const SMALLEST = 1e-307;
const LARGEST_LOG = 709;
const SMALLEST_LOG = -745;

/** The z of the normal distribution with these tails, from the smaller one. */
export function normalScore({ lower, upper }: Tails): number {
  return lower < upper ? normalQuantile(Math.max(SMALLEST, lower)) : normalQuantile(Math.max(SMALLEST, upper), 'upper');
}

/**
 * The x at which a positive variable has the tails `wanted`, of which the smaller one counts. The logarithm of x is nearly a
 * straight line, or a slowly bending one, against the z of the normal distribution with the same tails; the secant rule finds
 * it there. Two steps of Newton in x itself, on the logarithm of the tail, put right the last digits.
 *
 * @throws QualityError `out-of-range` (x is beyond the largest number), `not-converged`
 */
export function quantileFrom({ tails, density, start }: Positive, wanted: Tails): number {
  const z = normalScore(wanted);
  const smaller = wanted.lower < wanted.upper ? 'lower' : 'upper';
  const sign = smaller === 'lower' ? 1 : -1;
  const miss = (logarithm: number): number => {
    if (logarithm > LARGEST_LOG) return 1;
    return logarithm < SMALLEST_LOG ? -1 : normalScore(tails(Math.exp(logarithm))) - z;
  };
  const logarithm = findRootNear(miss, Math.log(start), 0.1);
  let x = Math.exp(logarithm);
  if (!Number.isFinite(x) || logarithm >= LARGEST_LOG) {
    throw new QualityError('out-of-range', 'p', `the quantile of p = ${wanted[smaller]} is beyond the largest number`);
  }
  for (let steps = 0; steps < 2; steps += 1) {
    const probability = tails(x)[smaller];
    const slope = density(x);
    const step = (sign * Math.log(wanted[smaller] / probability) * probability) / slope;
    if (!(Math.abs(step) < 1e-6 * x)) break;
    x += step;
  }
  return x;
}
