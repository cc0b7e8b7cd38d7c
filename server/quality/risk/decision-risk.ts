import { checkRange } from '../checks.ts';
import { checkPrior, checkTolerance, checkUncertainty } from './conformance.ts';
import type { NormalPrior } from './conformance.ts';
import { acceptedBeyond, rejectedWithin } from './joint-risk.ts';
import type { Edge } from './joint-risk.ts';
import { normalInterval, normalSplit } from './normal-interval.ts';
import type { Interval, Split } from './normal-interval.ts';

/** A process, the uncertainty its parts are measured with, and what is wanted of them; all in one unit. */
export interface Decision {
  /** Mean and standard deviation of the true values of the process. */
  readonly process: NormalPrior;
  /** Standard uncertainty of measurement. */
  readonly u: number;
  readonly tolerance: Interval;
}

export interface DecisionRisk {
  /** Limits on the measured value: tolerance limits moved inwards by the guard band. Crossed: nothing is accepted. */
  readonly acceptance: Interval;
  /** P(true value outside, accepted). */
  readonly consumerRisk: number;
  /** P(true value inside, rejected). */
  readonly producerRisk: number;
  readonly accepted: number;
  readonly nonconforming: number;
  /** Conditional probabilities; null when their condition has probability 0. */
  readonly nonconformingGivenAccepted: number | null;
  readonly acceptedGivenNonconforming: number | null;
  readonly conformingGivenRejected: number | null;
}

/**
 * Global risks of accepting and rejecting parts of a normal process by a measured value: consumer's and producer's risk
 * (JCGM 106:2012, 9.5 for a binary decision rule, from memory) for tolerance limits moved inwards by a guard band (8.3;
 * negative: outwards). The true value X is N(process mean, sd^2), the measured value X + N(0, u^2). Relative
 * precision is kept for risks of any size, and for u far below or above sd. sd = 0 and u = 0 are allowed.
 *
 * @throws QualityError `not-finite`, `out-of-range` (u or sd below 0), `no-limit`, `crossed-limits`
 */
export function decisionRisk(given: Decision, guard: number): DecisionRisk {
  checkDecision(given);
  checkRange(guard, 'w', -1e100, 1e100);
  const decision = withinDoubles(given);
  const { process, u, tolerance } = decision;
  const acceptance = acceptanceLimits(tolerance, guard);
  const truth = normalSplit(tolerance, process.mean, process.sd);
  const nonconforming = truth.below + truth.above;
  if (isEmpty(decision, guard)) {
    const risks = { consumerRisk: 0, producerRisk: truth.within };
    return { acceptance, ...risks, ...conditionals(risks, { accepted: 0, rejected: 1, nonconforming }) };
  }
  const measured = normalSplit(acceptance, process.mean, Math.hypot(process.sd, u));
  const risks = { consumerRisk: consumerRisk(decision, guard), producerRisk: producerRisk(decision, guard) };
  const totals = { accepted: measured.within, rejected: measured.below + measured.above, nonconforming };
  return { acceptance, ...risks, ...conditionals(risks, totals) };
}

/** P(true value outside | accepted); null when nothing is accepted. Input as in `decisionRisk`, checked by the caller. */
export function nonconformingGivenAccepted(given: Decision, guard: number): number | null {
  if (isEmpty(given, guard)) return null;
  const decision = withinDoubles(given);
  const { process, u, tolerance } = decision;
  const accepted = normalSplit(acceptanceLimits(tolerance, guard), process.mean, Math.hypot(process.sd, u)).within;
  return share(consumerRisk(decision, guard), accepted);
}

function checkDecision({ process, u, tolerance }: Decision): void {
  checkTolerance(tolerance);
  checkPrior(process);
  checkUncertainty(u);
}

/** The guard bands meet or cross: no measured value is accepted. */
function isEmpty({ tolerance: { lower, upper } }: Decision, guard: number): boolean {
  return lower !== null && upper !== null && 2 * guard > upper - lower;
}

function conditionals(
  risks: { readonly consumerRisk: number; readonly producerRisk: number },
  { accepted, rejected, nonconforming }: { accepted: number; rejected: number; nonconforming: number },
): Omit<DecisionRisk, 'acceptance' | 'consumerRisk' | 'producerRisk'> {
  return {
    accepted,
    nonconforming,
    nonconformingGivenAccepted: share(risks.consumerRisk, accepted),
    acceptedGivenNonconforming: share(risks.consumerRisk, nonconforming),
    conformingGivenRejected: share(risks.producerRisk, rejected),
  };
}

/** A part of a probability; rounding may not lift it above the whole. */
const share = (part: number, whole: number): number | null => (whole === 0 ? null : Math.min(1, part / whole));

function edges({ process, u, tolerance: { lower, upper } }: Decision, guard: number): Edge[] {
  const width = lower === null || upper === null ? Number.POSITIVE_INFINITY : upper - lower;
  const base = { width, sd: process.sd, u, guard };
  return [
    ...(lower === null ? [] : [{ ...base, fromMean: process.mean - lower }]),
    ...(upper === null ? [] : [{ ...base, fromMean: upper - process.mean }]),
  ];
}

function consumerRisk(decision: Decision, guard: number): number {
  const { process, u, tolerance } = decision;
  if (process.sd === 0) {
    const truth = normalSplit(tolerance, process.mean, 0);
    return truth.within === 1 ? 0 : measuredSplit(decision, guard).within;
  }
  const sides = edges(decision, guard);
  if (u === 0) {
    // Measured values are the truth: accepted outside the tolerance are those in a band that reaches outwards.
    return sum(sides.map(({ fromMean, sd }) => normalInterval(fromMean / sd, (fromMean - guard) / sd)));
  }
  return Math.min(1, sum(sides.map(acceptedBeyond)));
}

function producerRisk(decision: Decision, guard: number): number {
  const { process, u, tolerance } = decision;
  if (process.sd === 0) {
    const truth = normalSplit(tolerance, process.mean, 0);
    const { below, above } = measuredSplit(decision, guard);
    return truth.within === 1 ? below + above : 0;
  }
  const sides = edges(decision, guard);
  if (u === 0) {
    return sum(sides.map(({ fromMean, sd }) => normalInterval((fromMean - guard) / sd, fromMean / sd)));
  }
  return Math.min(1, sum(sides.map(rejectedWithin)));
}

/** The measured value of a process without spread. */
const measuredSplit = ({ process, u, tolerance }: Decision, guard: number): Split =>
  normalSplit(acceptanceLimits(tolerance, guard), process.mean, u);

const acceptanceLimits = ({ lower, upper }: Interval, guard: number): Interval => ({
  lower: lower === null ? null : lower + guard,
  upper: upper === null ? null : upper - guard,
});

/** A spread so far below the other that their ratio leaves the doubles counts as none. */
function withinDoubles({ process, u, tolerance }: Decision): Decision {
  const { mean, sd } = process;
  return { process: { mean, sd: sd < u * 1e-100 ? 0 : sd }, u: u < sd * 1e-100 ? 0 : u, tolerance };
}

const sum = (values: readonly number[]): number => values.reduce((total, each) => total + each, 0);
