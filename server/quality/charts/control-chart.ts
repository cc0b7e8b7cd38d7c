import { QualityError } from '../errors.ts';
import { runRuleSignals } from './run-rules.ts';
import type { RunRule, RunSignal } from './run-rules.ts';

/** One Shewhart chart, one entry a plotted point in every list, all in the unit of the plotted statistic. */
export interface ControlChart {
  /** The plotted statistic. */
  readonly values: readonly number[];
  /** Center line; it varies only where the subgroup sizes do. */
  readonly center: readonly number[];
  /** Standard deviation of the plotted statistic. */
  readonly sigma: readonly number[];
  /** Control limits, center -/+ 3 sigma, not beyond what the statistic can be. */
  readonly lower: readonly number[];
  readonly upper: readonly number[];
  /** Positions (from 0) of the points strictly beyond their limits. */
  readonly outside: readonly number[];
}

/** The points of a chart before its limits are drawn; see `ControlChart`. */
type ChartPoints = Pick<ControlChart, 'values' | 'center' | 'sigma'>;

/**
 * A chart with 3 sigma limits, kept within `floor` and `ceiling`, the least and the largest that the statistic can be
 * (NIST/SEMATECH e-Handbook, 6.3.1; ISO 7870-2). A point that differs from a limit by no more than rounding is on it,
 * and a point on a limit is not beyond it.
 *
 * @throws QualityError `out-of-range` when a point or a limit is too large for a number
 */
export function controlChart(
  { values, center, sigma }: ChartPoints,
  { floor = Number.NEGATIVE_INFINITY, ceiling = Number.POSITIVE_INFINITY } = {},
): ControlChart {
  const lower: number[] = [];
  const upper: number[] = [];
  const outside: number[] = [];
  for (const [i, value] of values.entries()) {
    const middle = center[i] ?? 0;
    const half = 3 * (sigma[i] ?? 0);
    const size = Math.abs(value) + Math.abs(middle) + half;
    if (!Number.isFinite(size)) {
      throw new QualityError('out-of-range', `points[${i}]`, `point ${i} of the chart is too large for a number`);
    }
    const low = Math.max(floor, middle - half);
    const high = Math.min(ceiling, middle + half);
    lower.push(low);
    upper.push(high);
    if (Math.max(value - high, low - value) > 4 * Number.EPSILON * size) outside.push(i);
  }
  return { values, center, sigma, lower, upper, outside };
}

/**
 * What the run rules find on a chart. Where the sigma of the points varies with the subgroup size, they judge the
 * standardized points (value - center)/sigma (Montgomery, "Introduction to Statistical Quality Control", 6th ed.,
 * section 7.2.2, the standardized chart). Null (undefined) when a point has no spread: there are no zones to judge by.
 */
export function chartSignals(
  { values, center, sigma }: ControlChart,
  rules: readonly RunRule[],
): readonly RunSignal[] | null {
  if (sigma.some((each) => each === 0)) return null;
  const [firstCenter = 0] = center;
  const [firstSigma = 1] = sigma;
  if (center.every((each) => each === firstCenter) && sigma.every((each) => each === firstSigma)) {
    const points = values.map((value) => (isOn(firstCenter, value) ? firstCenter : value));
    return runRuleSignals(points, { center: firstCenter, sigma: firstSigma }, rules);
  }
  const scores = values.map((value, i) => {
    const middle = center[i] ?? 0;
    return isOn(middle, value) ? 0 : (value - middle) / (sigma[i] ?? 1);
  });
  return runRuleSignals(scores, { center: 0, sigma: 1 }, rules);
}

/** A mean of decimals is rounded: (5.1 + 4.9 + 5)/3 is meant to be on the center line 5, whatever its last bit says. */
const isOn = (center: number, value: number): boolean =>
  Math.abs(value - center) <= 2 * Number.EPSILON * Math.abs(center);
