/** Which end of a distribution is asked for: `lower` is P(X <= x), `upper` is P(X > x), strictly beyond. */
export type Tail = 'lower' | 'upper';

/** The other end. */
export const otherTail = (tail: Tail): Tail => (tail === 'lower' ? 'upper' : 'lower');

/** Both tails; the smaller one has its own digits, the larger one is what is left of 1. */
export interface Tails {
  readonly lower: number;
  readonly upper: number;
}

/** Both tails from one of them. */
export const tailsFrom = (tail: Tail, probability: number): Tails => {
  const within = Math.min(1, probability);
  return tail === 'lower' ? { lower: within, upper: 1 - within } : { lower: 1 - within, upper: within };
};

/** All in the upper tail, as below the support; all in the lower tail, as beyond it. */
export const ALL_ABOVE: Tails = { lower: 0, upper: 1 };
export const ALL_BELOW: Tails = { lower: 1, upper: 0 };
