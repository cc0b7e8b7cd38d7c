import { checkProbability, checkRange, checkWhole } from '../checks.ts';
import { binomialCdf } from '../distributions/binomial.ts';
import { chiSquareQuantile } from '../distributions/chi-square.ts';
import { hypergeometricCdf } from '../distributions/hypergeometric.ts';
import { poissonCdf } from '../distributions/poisson.ts';
import type { Tail } from '../distributions/tail.ts';
import { checkBadOfLot, checkSampleOfLot } from './lot-checks.ts';
import { findRoot } from '../numeric/root.ts';
import { smallestWhole } from '../numeric/whole-search.ts';

/** A single-sampling plan by attributes: `n` parts are inspected; the lot is accepted with at most `c` bad ones. */
export interface AttributesPlan {
  readonly n: number;
  readonly c: number;
}

/**
 * What a lot comes from: `binomial` counts bad parts of a process, `poisson` counts faults of which one part may have
 * several (or approximates the binomial).
 */
export type ProcessModel = 'binomial' | 'poisson';

/**
 * How far two acceptance probabilities may differ, relative, and still count as equal. A plan that meets its risk exactly
 * (18 of 20 parts with one bad: 0.1) must not miss it by the rounding of the computation.
 */
export const TIE = 1e-11;

/** `n` 1 or more and `c` 0 or more, both whole, or a QualityError. `c` may reach `n`: such a plan accepts every lot. */
export function checkPlan({ n, c }: AttributesPlan): void {
  checkWhole(n, 'n', 1);
  checkWhole(c, 'c', 0);
}

/**
 * Probability that the plan accepts a lot from a process with fraction `p` bad: P(at most c bad of n), the type B
 * operating characteristic (Schilling & Neubauer, "Acceptance Sampling in Quality Control", 2nd ed., chapter 5: binomial
 * (n, p); Poisson with mean n p). `tail` `upper` gives the probability of refusal.
 *
 * @param p 0 to 1; for `poisson` faults a part
 * @throws QualityError `not-whole`, `not-finite`, `out-of-range`
 */
export function acceptance(plan: AttributesPlan, p: number, model: ProcessModel, tail: Tail = 'lower'): number {
  checkPlan(plan);
  checkRange(p, 'p', 0, model === 'binomial' ? 1 : Number.MAX_VALUE);
  return oc(plan, p, model, tail);
}

/** `acceptance` of a plan and a fraction that are known to be right; `n` times `p` may be beyond 1. */
function oc({ n, c }: AttributesPlan, p: number, model: ProcessModel, tail: Tail = 'lower'): number {
  if (p === 0 || (model === 'binomial' && c >= n)) return tail === 'lower' ? 1 : 0;
  if (model === 'poisson') return poissonCdf(c, n * p, tail);
  return p === 1 ? Number(tail === 'upper') : binomialCdf(c, n, p, tail);
}

/**
 * Probability that the plan accepts a lot of `lot` parts of which `bad` are bad: hypergeometric, the type A operating
 * characteristic (Schilling & Neubauer, chapter 5).
 *
 * @throws QualityError `not-whole`, `not-finite`, `out-of-range`, `beyond-lot` (sample or bad parts beyond the lot)
 */
export function acceptanceInLot(plan: AttributesPlan, lot: number, bad: number): number {
  checkPlan(plan);
  checkSampleOfLot(lot, plan.n);
  checkBadOfLot(lot, bad);
  return plan.c >= Math.min(plan.n, bad) ? 1 : hypergeometricCdf(plan.c, { lot, bad, sample: plan.n }, 'lower');
}

/**
 * The fraction bad that the plan accepts with probability `pa`: 0.95 gives the producer's risk point, 0.50 the
 * indifference quality, 0.10 the consumer's risk point. Poisson in closed form by the chi-square quantile with 2 (c + 1)
 * degrees of freedom over 2 n (Schilling & Neubauer, chapter 5), which may exceed 1 fault a part.
 *
 * @returns null (undefined) when the binomial plan accepts every lot, c >= n
 * @throws QualityError `not-whole`, `not-finite`, `out-of-range`
 */
export function qualityAt(plan: AttributesPlan, pa: number, model: ProcessModel): number | null {
  checkPlan(plan);
  checkProbability(pa, 'pa');
  const { n, c } = plan;
  if (model === 'poisson') return chiSquareQuantile(pa, 2 * (c + 1), 'upper') / (2 * n);
  if (c >= n) return null;
  if (c === 0) return -Math.expm1(Math.log(pa) / n);
  return findRoot((p) => oc(plan, p, model) - pa, 0, 1);
}

/** What leaves inspection when refused lots are sorted and their bad parts replaced by good ones. */
export interface Rectification {
  /** Average fraction bad that goes out. */
  readonly outgoing: number;
  /** Average number of parts inspected in a lot: the sample, and the rest of a refused lot. */
  readonly inspected: number;
}

/**
 * Average outgoing quality AOQ = p Pa (N - n)/N and average total inspection ATI = n + (1 - Pa)(N - n) (Dodge & Romig,
 * "Sampling Inspection Tables", 2nd ed., 1959; Schilling & Neubauer, chapter 5).
 *
 * @throws QualityError `not-whole`, `not-finite`, `out-of-range`, `beyond-lot`
 */
export function rectification(plan: AttributesPlan, lot: number, p: number, model: ProcessModel): Rectification {
  checkPlan(plan);
  checkSampleOfLot(lot, plan.n);
  checkRange(p, 'p', 0, 1);
  const rest = lot - plan.n;
  return {
    outgoing: (p * oc(plan, p, model) * rest) / lot,
    inspected: plan.n + oc(plan, p, model, 'upper') * rest,
  };
}

/** The worst average outgoing quality. */
export interface OutgoingLimit {
  /** Average outgoing quality limit, fraction bad. */
  readonly limit: number;
  /** The incoming fraction bad at which it goes out; null (undefined) when every part is inspected and nothing goes out. */
  readonly at: number | null;
}

/**
 * Average outgoing quality limit: the largest AOQ over incoming fractions from 0 to 1.
 *
 * The derivative of p Pa(p) is Pa(p) - (c + 1) P(exactly c + 1 bad), for the binomial and the Poisson alike, and with
 * P(exactly c + 1) = Pa of c + 1 less Pa of c it vanishes where (c + 2) Pa_c = (c + 1) Pa_(c+1). The quotient of the two
 * falls with p, so there is one such point; for the Poisson it may lie beyond 1, and then the worst is at 1. It is never
 * above (c + 1)/n.
 *
 * @throws QualityError `not-whole`, `not-finite`, `out-of-range`, `beyond-lot`
 */
export function outgoingLimit(plan: AttributesPlan, lot: number, model: ProcessModel): OutgoingLimit {
  checkPlan(plan);
  checkSampleOfLot(lot, plan.n);
  if (plan.n === lot) return { limit: 0, at: null };
  const at = worstIncoming(plan, model);
  return { limit: rectification(plan, lot, at, model).outgoing, at };
}

function worstIncoming({ n, c }: AttributesPlan, model: ProcessModel): number {
  const slope = (p: number): number => {
    const next = oc({ n, c: c + 1 }, p, model);
    return (next === 0 ? 0 : (c + 2) * (oc({ n, c }, p, model) / next)) - (c + 1);
  };
  if (model === 'binomial' && c >= n) return 1;
  if (c === 0) return model === 'binomial' ? 1 / (n + 1) : 1 / n;
  const high = Math.min(1, (1.01 * (c + 1)) / n);
  if (slope(high) >= 0) return 1;
  return findRoot(slope, 0, high);
}

/** How many bad parts a lot may have to be accepted nearly always, and how many it takes to be refused nearly always. */
export interface LotPoints {
  /** Most bad parts with which the lot is still accepted with probability `high` or more. */
  readonly mostAccepted: number;
  /** Fewest bad parts with which it is accepted with probability `low` or less; null when no number does that. */
  readonly fewestRefused: number | null;
}

/**
 * The two points of the hypergeometric operating characteristic. Acceptance falls with the number of bad parts, so both are
 * found by bisection over 0 to the lot size.
 *
 * @throws QualityError `not-whole`, `not-finite`, `out-of-range`, `beyond-lot`
 */
export function lotPoints(plan: AttributesPlan, lot: number, high = 0.95, low = 0.1): LotPoints {
  checkProbability(high, 'high');
  checkProbability(low, 'low');
  const pa = (bad: number): number => acceptanceInLot(plan, lot, bad);
  const firstBelow = smallestWhole(0, lot, (bad) => pa(bad) < high * (1 - TIE));
  const fewestRefused = smallestWhole(0, lot, (bad) => pa(bad) <= low * (1 + TIE));
  return { mostAccepted: firstBelow === null ? lot : firstBelow - 1, fewestRefused };
}
