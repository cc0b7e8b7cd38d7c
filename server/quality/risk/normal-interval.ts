import { normalCdf, normalPdf } from '../distributions/normal.ts';
import { gaussLegendre } from '../numeric/quadrature.ts';

/** Beyond this many standard deviations a normal tail is below the smallest double. */
const TAIL_END = 40;

/**
 * P(low <= Z <= high) of a standard normal, 0 when high <= low, with relative precision wherever the interval lies: from
 * the nearer tail where the two ends differ much, by integrating the density where they are close. Infinite ends allowed.
 */
export function normalInterval(low: number, high: number): number {
  if (!(low < high)) return 0;
  if (low < 0 && high > 0) {
    if (high - low > 1) return 1 - tail(-low) - tail(high);
    return density(low, high);
  }
  // Both ends on one side: mirrored to the right.
  const near = Math.min(Math.abs(low), Math.abs(high));
  const far = Math.max(Math.abs(low), Math.abs(high));
  if (near >= TAIL_END) return 0;
  if (far - near <= 1 && near * (far - near) <= 0.5) return density(near, far);
  return tail(near) - tail(far);
}

const density = (low: number, high: number): number => gaussLegendre((z) => normalPdf(z), low, high);

/** Limits of a quantity; a missing one is null. */
export interface Interval {
  readonly lower: number | null;
  readonly upper: number | null;
}

/** Probabilities of a quantity below, within and above limits; each with relative precision. */
export interface Split {
  readonly below: number;
  readonly within: number;
  readonly above: number;
}

/** How a normal quantity splits over limits that belong to the inside; a standard deviation of 0 is the mean itself. */
export function normalSplit({ lower, upper }: Interval, mean: number, sd: number): Split {
  if (sd === 0) {
    const below = lower !== null && mean < lower ? 1 : 0;
    const above = upper !== null && mean > upper ? 1 : 0;
    return { below, above, within: below + above > 0 ? 0 : 1 };
  }
  const low = lower === null ? Number.NEGATIVE_INFINITY : (lower - mean) / sd;
  const high = upper === null ? Number.POSITIVE_INFINITY : (upper - mean) / sd;
  return { below: tail(-low), within: normalInterval(low, high), above: tail(high) };
}

/** P(Z > z). */
export const tail = (z: number): number => (z >= TAIL_END ? 0 : z <= -TAIL_END ? 1 : normalCdf(z, 'upper'));
