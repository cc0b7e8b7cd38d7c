import { checkProbability } from '../checks.ts';
import { checkPrior, checkTolerance, checkUncertainty, posterior, posteriorSd } from './conformance.ts';
import type { NormalPrior } from './conformance.ts';
import { decisionRisk, nonconformingGivenAccepted } from './decision-risk.ts';
import type { Decision } from './decision-risk.ts';
import { normalSplit } from './normal-interval.ts';
import type { Interval } from './normal-interval.ts';
import { findRoot } from '../numeric/root.ts';

/**
 * A width that the tolerance limits are to be moved inwards by: 0 when none is needed, null when no width between the
 * limits keeps the risk.
 */
export type GuardBand = number | null;

/**
 * The guard band for single results without prior knowledge: a measured value exactly on the acceptance limit has a
 * probability of being nonconforming, beyond either limit, of `most` (JCGM 106:2012, 8.3 with clause 7, from memory; the
 * same width at both limits).
 *
 * @throws QualityError `not-finite`, `out-of-range`, `no-limit`, `crossed-limits`
 */
export function guardBandForResult(u: number, tolerance: Interval, most: number): GuardBand {
  checkTolerance(tolerance);
  checkUncertainty(u);
  checkProbability(most, 'max_probability');
  const width = widthOf(tolerance);
  // From the limit inwards: the near limit at 0, the other at the width.
  const risk = (w: number): number => outside({ lower: 0, upper: width }, w, u);
  return smallest(risk, most, width === null ? null : width / 2, u);
}

/**
 * The same with a normal prior, such as the process: per limit, since a process off centre makes the two differ. Of a
 * missing limit null.
 *
 * @throws QualityError `not-finite`, `out-of-range`, `no-limit`, `crossed-limits`
 */
export function guardBandsForResultWithPrior(
  { process, u, tolerance }: Decision,
  most: number,
): { readonly lower: GuardBand; readonly upper: GuardBand } {
  checkTolerance(tolerance);
  checkPrior(process);
  checkUncertainty(u);
  checkProbability(most, 'max_probability');
  const width = widthOf(tolerance);
  const band = (limit: number | null, inwards: 1 | -1): GuardBand =>
    limit === null ? null : bandWithPrior(inwards * (process.mean - limit), { sd: process.sd, u, width }, most);
  return { lower: band(tolerance.lower, 1), upper: band(tolerance.upper, -1) };
}

/** `meanInside`: how far inside this limit the prior's mean lies. */
function bandWithPrior(
  meanInside: number,
  { sd, u, width }: { readonly sd: number; readonly u: number; readonly width: number | null },
  most: number,
): GuardBand {
  const prior: NormalPrior = { mean: meanInside, sd };
  const tolerance = { lower: 0, upper: width };
  const after = posteriorSd(u, sd);
  const risk = (w: number): number =>
    outside(tolerance, sd === 0 ? meanInside : posterior({ value: w, u }, prior).mean, after);
  if (sd === 0) return risk(0) <= most ? 0 : null;
  if (width === null) return smallest(risk, most, null, Math.max(u, Math.abs(meanInside)));
  // The risk falls until the posterior mean is in the middle of the tolerance, and rises again.
  const best = width / 2 + (width / 2 - meanInside) * Math.min(1e100, (u / sd) ** 2);
  return smallest(risk, most, Math.max(0, Math.min(width, best)), u);
}

/**
 * The guard band for the whole process: of the parts accepted, a share of at most `most` is nonconforming (JCGM 106:2012,
 * clause 9, from memory: consumer's risk over the probability of acceptance; the same width at both limits).
 *
 * @throws QualityError `not-finite`, `out-of-range`, `no-limit`, `crossed-limits`
 */
export function guardBandForProcess(decision: Decision, most: number): GuardBand {
  const { process, u, tolerance } = decision;
  checkTolerance(tolerance);
  checkPrior(process);
  checkUncertainty(u);
  checkProbability(most, 'max_probability');
  const width = widthOf(tolerance);
  // Where nothing is accepted there is no such share, and so no risk kept.
  const risk = (w: number): number => nonconformingGivenAccepted(decision, w) ?? 1;
  if (width === null) return smallest(risk, most, null, Math.max(u, process.sd));
  // At half the width nothing is left to accept; the last width tried leaves a band of a billionth.
  return smallest(risk, most, (width / 2) * (1 - 1e-9), u);
}

/**
 * The guard band for the consumer's risk itself: a share of at most `most` of all parts made is nonconforming and accepted
 * (JCGM 106:2012, 9.5, from memory: the global consumer's risk; the same width at both limits).
 *
 * @throws QualityError `not-finite`, `out-of-range`, `no-limit`, `crossed-limits`
 */
export function guardBandForConsumerRisk(decision: Decision, most: number): GuardBand {
  checkProbability(most, 'max_probability');
  const risk = (w: number): number => decisionRisk(decision, w).consumerRisk;
  const width = widthOf(decision.tolerance);
  return smallest(risk, most, width === null ? null : width / 2, Math.max(decision.u, decision.process.sd));
}

const widthOf = ({ lower, upper }: Interval): number | null =>
  lower === null || upper === null ? null : upper - lower;

const outside = (tolerance: Interval, mean: number, sd: number): number => {
  const { below, above } = normalSplit(tolerance, mean, sd);
  return below + above;
};

/** Widths tried between the ends when the widest one does not keep the risk. */
const TRIED = 32;
/** Doublings of a width without an end before it counts as none. */
const DOUBLINGS = 60;

/** The smallest width from 0 to `widest` (null: without end, begun at `scale`) with risk(width) <= most. */
function smallest(risk: (w: number) => number, most: number, widest: number | null, scale: number): GuardBand {
  if (risk(0) <= most) return 0;
  const tried =
    widest === null
      ? doublings(scale)
      : [widest, ...Array.from({ length: TRIED }, (_, i) => ((i + 1) * widest) / TRIED)];
  const high = tried.find((w) => risk(w) <= most);
  if (high === undefined) return null;
  // In logarithms the risk is nearly a parabola; 1e-320 stands for none.
  const excess = (w: number): number => Math.log(Math.max(risk(w), 1e-320) / most);
  return findRoot(excess, 0, high, 1e-15);
}

const doublings = (scale: number): number[] => Array.from({ length: DOUBLINGS }, (_, i) => scale * 2 ** (i - 5));
