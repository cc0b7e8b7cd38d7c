import { c4, c5, d2, d3 } from './chart-constants.ts';
import { checkFinite, checkPositive, checkValues } from '../checks.ts';
import type { Values } from '../checks.ts';
import { controlChart } from './control-chart.ts';
import type { ControlChart } from './control-chart.ts';
import { QualityError } from '../errors.ts';
import { compensatedSum, mean, moments, sampleSd } from '../moments.ts';

/** Standard values of a process in control, unit of the values; what is null is estimated from the data. */
export interface ProcessStandard {
  readonly center: number | null;
  readonly sigma: number | null;
}

/** A pair of charts of measured values. */
export interface VariablesChart {
  /** Center line of the location chart, unit of the values: the standard value, or the mean of all values. */
  readonly center: number;
  /** Standard deviation of the process within subgroups, unit of the values: the standard value, or the estimate. */
  readonly sigma: number;
  /** Chart of the subgroup means, or of the single values. */
  readonly location: ControlChart;
  /** Chart of the subgroup ranges or standard deviations, or of the moving ranges. */
  readonly spread: ControlChart;
}

const NO_STANDARD: ProcessStandard = { center: null, sigma: null };

/**
 * Means and ranges. Sigma from the data is the mean of R_j/d2(n_j), which is the mean range over d2 when all subgroups
 * have one size; limits center -/+ 3 sigma/sqrt(n_j) and (d2 -/+ 3 d3) sigma, that is A2, D3, D4 from the data and A,
 * D1, D2 from standard values (NIST/SEMATECH e-Handbook, 6.3.2.1; Montgomery, "Introduction to Statistical Quality
 * Control", 6th ed., section 6.2; the mean over unequal sizes as in ASTM MNL 7, part 3, samples of unequal size).
 *
 * @param subgroups one or more, each of two or more values
 * @throws QualityError `empty`, `too-few`, `not-finite`; `out-of-range` for a standard sigma not above 0 or results too
 *   large
 */
export function meanAndRange(subgroups: readonly Values[], standard: ProcessStandard = NO_STANDARD): VariablesChart {
  return subgroupCharts(subgroups, standard, {
    statistic: range,
    ofSigma: ofRange,
  });
}

/**
 * Means and standard deviations. Sigma from the data is the mean of s_j/c4(n_j); limits center -/+ 3 sigma/sqrt(n_j)
 * and (c4 -/+ 3 sqrt(1 - c4^2)) sigma, that is A3, B3, B4 from the data and A, B5, B6 from standard values
 * (NIST/SEMATECH e-Handbook, 6.3.2.1; Montgomery, "Introduction to Statistical Quality Control", 6th ed., section 6.3;
 * the mean over unequal sizes as in ASTM MNL 7, part 3, samples of unequal size).
 *
 * @param subgroups one or more, each of two or more values
 * @throws QualityError as `meanAndRange`
 */
export function meanAndSd(subgroups: readonly Values[], standard: ProcessStandard = NO_STANDARD): VariablesChart {
  return subgroupCharts(subgroups, standard, {
    statistic: (values) => sampleSd(moments(values)) ?? 0,
    ofSigma: (n) => ({ center: c4(n), sigma: c5(n) }),
  });
}

/**
 * Single values and moving ranges of two. Sigma from the data is the mean moving range over d2(2) = 2/sqrt(pi); entry i
 * of the moving ranges is |value i+1 - value i| (NIST/SEMATECH e-Handbook, 6.3.2.2; Montgomery, "Introduction to
 * Statistical Quality Control", 6th ed., section 6.4). With a standard sigma one value is enough.
 *
 * @throws QualityError `empty`, `too-few` (one value and no standard sigma), `not-finite`; `out-of-range` as
 *   `meanAndRange`
 */
export function individualsAndMovingRange(values: Values, standard: ProcessStandard = NO_STANDARD): VariablesChart {
  checkStandard(standard);
  checkValues(values, 'values', standard.sigma === null ? 2 : 1);
  const singles = Array.from(values);
  const movingRanges = singles.slice(1).map((value, i) => Math.abs(value - (singles[i] ?? value)));
  const center = standard.center ?? mean(values);
  const ofTwo = ofRange(2);
  const sigma = standard.sigma ?? average(movingRanges) / ofTwo.center;
  return {
    center,
    sigma,
    location: controlChart({ values: singles, center: singles.map(() => center), sigma: singles.map(() => sigma) }),
    spread: spreadChart(
      movingRanges,
      movingRanges.map(() => ofTwo),
      sigma,
    ),
  };
}

/** Mean and standard deviation of a measure of spread for a process with standard deviation 1. */
interface Expected {
  readonly center: number;
  readonly sigma: number;
}

/** A measure of spread of one subgroup of n values, and what it comes to. */
interface SpreadMeasure {
  readonly statistic: (values: Values) => number;
  readonly ofSigma: (n: number) => Expected;
}

function subgroupCharts(
  subgroups: readonly Values[],
  standard: ProcessStandard,
  { statistic, ofSigma }: SpreadMeasure,
): VariablesChart {
  checkStandard(standard);
  checkSubgroups(subgroups);
  const ofUnitSigma = subgroups.map(({ length }) => ofSigma(length));
  const spreads = subgroups.map(statistic);
  const center = standard.center ?? mean(subgroups.flatMap((values) => Array.from(values)));
  const sigma = standard.sigma ?? average(spreads.map((value, j) => value / (ofUnitSigma[j]?.center ?? 1)));
  return {
    center,
    sigma,
    location: controlChart({
      values: subgroups.map((values) => mean(values)),
      center: subgroups.map(() => center),
      sigma: subgroups.map(({ length }) => sigma / Math.sqrt(length)),
    }),
    spread: spreadChart(spreads, ofUnitSigma, sigma),
  };
}

function spreadChart(values: readonly number[], ofUnitSigma: readonly Expected[], sigma: number): ControlChart {
  return controlChart(
    {
      values,
      center: ofUnitSigma.map((each) => each.center * sigma),
      sigma: ofUnitSigma.map((each) => each.sigma * sigma),
    },
    { floor: 0 },
  );
}

const ofRange = (n: number): Expected => ({ center: d2(n), sigma: d3(n) });

function range(values: Values): number {
  let least = values[0] ?? 0;
  let most = least;
  for (let i = 1; i < values.length; i += 1) {
    least = Math.min(least, values[i] ?? least);
    most = Math.max(most, values[i] ?? most);
  }
  return most - least;
}

function average(values: readonly number[]): number {
  return compensatedSum(values.length, (i) => values[i] ?? 0) / values.length;
}

function checkSubgroups(subgroups: readonly Values[]): void {
  if (subgroups.length === 0) throw new QualityError('empty', 'subgroups', 'subgroups is empty; at least 1 wanted');
  for (const [j, values] of subgroups.entries()) checkValues(values, `subgroups[${j}]`, 2);
}

function checkStandard({ center, sigma }: ProcessStandard): void {
  if (center !== null) checkFinite(center, 'center');
  if (sigma !== null) checkPositive(sigma, 'sigma');
}
