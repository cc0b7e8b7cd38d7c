import { continuedFraction } from '../numeric/continued-fraction.ts';
import { binomialTerm } from './saddle-point.ts';
import { tailsFrom } from './tail.ts';
import type { Tails } from './tail.ts';

/** Where an incomplete beta function is wanted: numbers that hang together, each with digits of its own. */
export interface BetaPoint {
  readonly x: number;
  /** 1 - x. */
  readonly rest: number;
  /** (a + b) x - a, how far x is above the mean a/(a + b). */
  readonly more: number;
}

/**
 * Regularised incomplete beta functions I(x; a, b), lower, and its complement, upper, for a and b above 0 and x between 0 and
 * 1: DiDonato & Morris, "Algorithm 708", ACM Transactions on Mathematical Software 18 (1992) 360-373, continued fraction of
 * section 4 (BFRAC), on the side of the mean where its terms are positive. The factor in front is a binomial probability, so
 * that digits last whatever the size of a and b.
 */
export function betaTails(a: number, b: number, at: BetaPoint): Tails {
  if (at.more < 0) return tailsFrom('lower', belowMean(a, b, at));
  return tailsFrom('upper', belowMean(b, a, { x: at.rest, rest: at.x, more: -at.more }));
}

function belowMean(a: number, b: number, at: BetaPoint): number {
  const term = binomialTerm(a, b, at);
  if (term === 0) return 0;
  const { x, rest, more } = at;
  const fraction = continuedFraction(
    (m) => (((a + m - 1) * x) / (a + 2 * m - 1)) * (((a + b + m - 1) * x) / (a + 2 * m - 1)) * m * (b - m),
    // The middle term vanishes at m = 0, also where its denominator does (a = 1).
    (m) =>
      m +
      (m === 0 ? 0 : (m * (b - m) * x) / (a + 2 * m - 1)) +
      ((a + m) * (1 - more + m * (1 + rest))) / (a + 2 * m + 1),
  );
  return (term * a * b) / (a + b) / fraction;
}
