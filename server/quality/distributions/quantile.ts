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
/** Logarithms of the largest and smallest quantiles; what is computed on the way to them still has all its digits. */
const LARGEST_LOG = 706;
const SMALLEST_LOG = -700;

/** The z of the normal distribution with these tails, from the smaller one. */
export function normalScore({ lower, upper }: Tails): number {
  return lower < upper ? normalQuantile(Math.max(SMALLEST, lower)) : normalQuantile(Math.max(SMALLEST, upper), 'upper');
}

/**
 * The x at which a positive variable has the tails `wanted`, of which the smaller one counts. The logarithm of x is nearly a
 * straight line, or a slowly bending one, against the z of the normal distribution with the same tails; the secant rule finds
 * it there. Two steps of Newton in x itself, on the logarithm of the tail, put right the last digits.
 *
 * @throws QualityError `out-of-range` (p below 1e-307, or x beyond the range of the numbers), `not-converged`
 */
export function quantileFrom({ tails, density, start }: Positive, wanted: Tails): number {
  const smaller = wanted.lower < wanted.upper ? 'lower' : 'upper';
  const p = wanted[smaller];
  checkReachable(p);
  const z = normalScore(wanted);
  const sign = smaller === 'lower' ? 1 : -1;
  const logarithm = findRootNear(
    (each) => {
      // Beyond the range of the numbers the function goes on rising, so that a root out there is found to be out there.
      const within = Math.min(LARGEST_LOG, Math.max(SMALLEST_LOG, each));
      return normalScore(tails(Math.exp(within))) - z + (each - within);
    },
    Math.log(start),
    0.1,
  );
  if (logarithm > LARGEST_LOG || logarithm < SMALLEST_LOG) {
    const where = logarithm > 0 ? 'beyond the largest number' : 'closer to 0 than the smallest number';
    throw new QualityError('out-of-range', 'p', `the quantile of p is ${where}`);
  }
  let x = Math.exp(logarithm);
  for (let steps = 0; steps < 2; steps += 1) {
    const probability = tails(x)[smaller];
    const step = (sign * Math.log(p / probability) * probability) / density(x);
    if (!(Math.abs(step) < 1e-6 * x)) break;
    x += step;
  }
  return x;
}

/** Refuses a tail so small that it has lost digits of its own, or a QualityError (`out-of-range`). */
export function checkReachable(p: number): void {
  if (p < SMALLEST) throw new QualityError('out-of-range', 'p', `p is ${p}; ${SMALLEST} or more wanted`);
}
