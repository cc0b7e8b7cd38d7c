import { checkFinite, checkLimits, checkRange } from '../checks.ts';
import { QualityError } from '../errors.ts';
import { normalSplit } from './normal-interval.ts';
import type { Interval, Split } from './normal-interval.ts';

/** What is known of the true values before measuring: a normal with this mean and standard deviation. */
export interface NormalPrior {
  readonly mean: number;
  readonly sd: number;
}

/** A measured value and its standard uncertainty, in the unit of the limits. */
export interface Measured {
  readonly value: number;
  readonly u: number;
}

/**
 * The prior with this mean and standard deviation; null when neither is known.
 *
 * @throws QualityError `empty` when only one of the two is known
 */
export function priorOf(mean: number | null, sd: number | null): NormalPrior | null {
  if (mean !== null && sd !== null) return { mean, sd };
  if (mean === null && sd === null) return null;
  const [missing, given] = mean === null ? ['mu0', 'sigma0'] : ['sigma0', 'mu0'];
  throw new QualityError('empty', missing, `${missing} is missing; with ${given} it is wanted`);
}

/** Keys of the errors, and of the limits in the inputs. */
const KEYS = { lower: 'L', upper: 'U' };

/**
 * Probability that the true value conforms, given one measured value and nothing else: the true value is normal about it
 * (JCGM 106:2012, 7.2 to 7.4: one and two tolerance limits, normal distribution; from memory). A true value on a limit conforms. With u = 0 the value is the truth.
 *
 * @throws QualityError `not-finite`, `out-of-range` (u below 0), `no-limit`, `crossed-limits`
 */
export function conformance({ value, u }: Measured, tolerance: Interval): Split {
  checkMeasured(value, u);
  checkTolerance(tolerance);
  return normalSplit(tolerance, value, u);
}

/** The true value after measuring, and the probability that it conforms. */
export interface PosteriorConformance extends Split {
  readonly mean: number;
  readonly sd: number;
}

/**
 * The same with a normal prior, such as the process the part comes from (JCGM 106:2012, clause 6 and its annex on
 * prior information, from memory: a normal prior times a normal likelihood is normal). Null when neither prior nor measurement leaves a doubt and the two
 * contradict each other.
 *
 * @throws QualityError `not-finite`, `out-of-range` (u or the prior's sd below 0), `no-limit`, `crossed-limits`
 */
export function conformanceWithPrior(
  measured: Measured,
  prior: NormalPrior,
  tolerance: Interval,
): PosteriorConformance | null {
  checkMeasured(measured.value, measured.u);
  checkPrior(prior);
  checkTolerance(tolerance);
  if (measured.u === 0 && prior.sd === 0 && measured.value !== prior.mean) return null;
  const { mean, sd } = posterior(measured, prior);
  return { mean, sd, ...normalSplit(tolerance, mean, sd) };
}

/** Mean and standard deviation of the true value after measuring. */
export function posterior({ value, u }: Measured, prior: NormalPrior): { readonly mean: number; readonly sd: number } {
  const pull = priorWeight(u, prior.sd);
  return { mean: value + (prior.mean - value) * pull, sd: posteriorSd(u, prior.sd) };
}

/** Share of the prior's mean in the posterior mean, u^2 / (u^2 + sd^2); 0 where both are 0. */
function priorWeight(u: number, priorSd: number): number {
  return u === 0 ? 0 : 1 / (1 + (priorSd / u) ** 2);
}

/** (1 / u^2 + 1 / sd^2)^(-1/2). */
export function posteriorSd(u: number, priorSd: number): number {
  const size = Math.hypot(u, priorSd);
  return size === 0 ? 0 : u * (priorSd / size);
}

function checkMeasured(value: number, u: number): void {
  checkFinite(value, 'y');
  checkUncertainty(u);
}

/** A standard uncertainty: finite, 0 or more. */
export function checkUncertainty(u: number): void {
  checkRange(u, 'u', 0, Number.MAX_VALUE);
}

/** A normal prior or process: finite mean, standard deviation 0 or more. */
export function checkPrior({ mean, sd }: NormalPrior): void {
  checkFinite(mean, 'mu0');
  checkRange(sd, 'sigma0', 0, Number.MAX_VALUE);
}

/** At least one tolerance limit, the lower below the upper, their distance finite. */
export function checkTolerance({ lower, upper }: Interval): void {
  checkLimits(lower, upper, KEYS);
  if (lower !== null && upper !== null && !Number.isFinite(upper - lower)) {
    throw new QualityError('out-of-range', 'U', `U - L is ${upper - lower}; a finite tolerance wanted`);
  }
}
