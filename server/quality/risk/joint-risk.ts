import { normalPdf } from '../distributions/normal.ts';
import { normalInterval, tail } from './normal-interval.ts';
import { gaussLegendre } from '../numeric/quadrature.ts';

/**
 * One tolerance limit as the parts see it that lie near it: distances count outwards, so that a lower limit is the mirror
 * image of an upper one and one formula serves both.
 */
export interface Edge {
  /** From the process mean out to this limit; negative when the mean lies beyond it. */
  readonly fromMean: number;
  /** From this limit in to the other one; infinite when there is no other. */
  readonly width: number;
  /** Process standard deviation of the true values, above 0. */
  readonly sd: number;
  /** Standard uncertainty of measurement, above 0. */
  readonly u: number;
  /** Guard band: the acceptance limit lies this far inside the tolerance limit, outside when negative. */
  readonly guard: number;
}

/**
 * P(true value beyond this limit, measured value accepted), the share of the consumer's risk that this limit carries
 * (JCGM 106:2012, 9.5, from memory: the integral over the true value, the inner one in closed form).
 */
export function acceptedBeyond(edge: Edge): number {
  const { u, width, guard } = edge;
  return integral(edge, 0, Number.POSITIVE_INFINITY, (beyond) =>
    normalInterval((guard - width) / u - beyond, -guard / u - beyond),
  );
}

/**
 * P(true value between the limits, measured value beyond this side's acceptance limit), the share of the producer's risk
 * that this limit carries (JCGM 106:2012, 9.5, from memory).
 */
export function rejectedWithin(edge: Edge): number {
  return integral(edge, -edge.width, 0, (beyond) => tail(-edge.guard / edge.u - beyond));
}

/** A normal factor is below the smallest double this many standard deviations from its mean. */
const REACH = 39;
/** Panels of half a standard deviation: a density changes smoothly in each of them, far out too. */
const STEPS_PER_SD = 2;
/** What is this much lower than the highest point adds nothing; ends of a panel are within 1e5 of its inside. */
const NEGLIGIBLE = 1e-25;

/**
 * Integral over true values from `from` to `to` (distance beyond the limit) of the process density times the probability
 * of a verdict, which is a function of the distance beyond the limit in units of u.
 *
 * The variable runs in units of the smaller of sd and u, from where that one is at home (the process mean, or the limit):
 * so neither a process much narrower than the uncertainty nor the reverse loses digits. Panels end on a grid of half
 * standard deviations about the process mean and about the acceptance limits, where all the change is.
 */
function integral(edge: Edge, from: number, to: number, verdict: (beyondInU: number) => number): number {
  const { fromMean, sd, u, guard, width } = edge;
  const narrow = sd <= u;
  const unit = narrow ? sd : u;
  const start = narrow ? -fromMean : 0;
  // Distance beyond the limit = start + unit * s.
  const at = (beyond: number): number => (beyond - start) / unit;
  const height = narrow
    ? (s: number): number => normalPdf(s) * verdict((unit / u) * s + start / u)
    : (s: number): number => (u / sd) * normalPdf(fromMean / sd + (unit / sd) * s) * verdict(s);
  const low = Math.max(at(from), at(-fromMean) - REACH * (sd / unit));
  // Both verdicts are certain or impossible far enough inside; only the process density ends the integral there.
  const high = Math.min(at(to), at(-fromMean) + REACH * (sd / unit));
  if (!(low < high)) return 0;
  const ends = [low, high];
  const grid = (centre: number, scale: number): void => {
    for (let k = -REACH * STEPS_PER_SD; k <= REACH * STEPS_PER_SD; k += 1) {
      const s = centre + (scale * k) / STEPS_PER_SD;
      if (s > low && s < high) ends.push(s);
    }
  };
  grid(at(-fromMean), sd / unit);
  grid(at(-guard), u / unit);
  if (Number.isFinite(width)) grid(at(guard - width), u / unit);
  return overPanels(
    height,
    ends.sort((a, b) => a - b),
  );
}

function overPanels(height: (s: number) => number, ends: readonly number[]): number {
  const heights = ends.map(height);
  const highest = heights.reduce((top, each) => Math.max(top, each), 0);
  let sum = 0;
  for (let i = 1; i < ends.length; i += 1) {
    if (Math.max(heights[i - 1] ?? 0, heights[i] ?? 0) <= highest * NEGLIGIBLE) continue;
    sum += gaussLegendre(height, ends[i - 1] ?? 0, ends[i] ?? 0);
  }
  return sum;
}
