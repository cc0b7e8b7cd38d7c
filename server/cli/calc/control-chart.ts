import * as z from 'zod';
import { fractionNonconforming, nonconformitiesPerUnit } from '../../quality/charts/attributes-chart.ts';
import { chartSignals } from '../../quality/charts/control-chart.ts';
import type { ControlChart } from '../../quality/charts/control-chart.ts';
import { RUN_RULES } from '../../quality/charts/run-rules.ts';
import type { RunRule } from '../../quality/charts/run-rules.ts';
import { individualsAndMovingRange, meanAndRange, meanAndSd } from '../../quality/charts/variables-chart.ts';
import type { VariablesChart } from '../../quality/charts/variables-chart.ts';
import { calculation, limit, numbers } from './topic.ts';
import type { Topic } from './topic.ts';

const rules = z
  .array(z.enum(RUN_RULES))
  .default([])
  .describe(
    'run rules for the chart of location (means, values, fractions, rates); barolot calc control-rules explains them',
  );

const standards = {
  center: limit('given center line, unit of the values; null: from the data.'),
  sigma: limit('given standard deviation of single values, unit of the values, above 0; null: from the data.'),
};

const subgroups = z
  .array(z.array(z.number()))
  .describe('subgroups in time order, each of 2 or more values; the sizes may differ');

/** The lists of one chart below a path. */
const chartOutputs = (path: string, what: string): Record<string, string> => ({
  [`${path}.values`]: `${what}: the plotted points`,
  [`${path}.center`]: 'center line at each point',
  [`${path}.sigma`]: 'standard deviation of each plotted point',
  [`${path}.lcl`]: 'lower limit at each point, center - 3 sigma',
  [`${path}.ucl`]: 'upper limit at each point, center + 3 sigma',
  [`${path}.out_of_limits`]: 'positions (from 0) in this chart of the points strictly beyond a limit',
});

const signalOutputs = {
  signals:
    'run rules that fire, in time order, each {index, rule, points}: position (from 0), name of the rule, positions ' +
    'of the points that made it fire; empty without rules, null (undefined) when the points have no spread',
};

const processOutputs = {
  center: 'center line of location, unit of the values: as given, or the mean of all values',
  sigma: 'standard deviation of single values within subgroups, unit of the values: as given, or estimated',
};

const MONTGOMERY = 'Montgomery, "Introduction to Statistical Quality Control", 6th ed., section';
const HANDBOOK = 'NIST/SEMATECH e-Handbook of Statistical Methods,';

const meanRangeChart = calculation({
  kind: 'xbar_r',
  about: 'Chart of subgroup means and ranges. Sigma from the data is the mean range over d2.',
  input: z.strictObject({ kind: z.literal('xbar_r'), subgroups, ...standards, rules }),
  outputs: {
    ...processOutputs,
    ...chartOutputs('mean', 'subgroup means, unit of the values'),
    ...chartOutputs('range', 'subgroup ranges, unit of the values; limits not below 0'),
    ...signalOutputs,
  },
  sources: [`${HANDBOOK} 6.3.2.1`, `${MONTGOMERY} 6.2`, 'unequal sizes: ASTM MNL 7, part 3'],
  example: {
    kind: 'xbar_r',
    subgroups: [
      [5.1, 4.9, 5],
      [5.2, 5, 4.8],
      [4.9, 5.3, 5.1],
    ],
  },
  run: (input) => {
    const charts = meanAndRange(input.subgroups, input);
    return { ...locationAnswer('mean', charts, input.rules), range: chartAnswer(charts.spread) };
  },
});

const meanSdChart = calculation({
  kind: 'xbar_s',
  about: 'Chart of subgroup means and standard deviations. Sigma from the data is the mean standard deviation over c4.',
  input: z.strictObject({ kind: z.literal('xbar_s'), subgroups, ...standards, rules }),
  outputs: {
    ...processOutputs,
    ...chartOutputs('mean', 'subgroup means, unit of the values'),
    ...chartOutputs('sd', 'subgroup standard deviations (divisor n - 1), unit of the values; limits not below 0'),
    ...signalOutputs,
  },
  sources: [`${HANDBOOK} 6.3.2.1`, `${MONTGOMERY} 6.3`, 'unequal sizes: ASTM MNL 7, part 3'],
  example: {
    kind: 'xbar_s',
    subgroups: [
      [5.1, 4.9, 5],
      [5.2, 5, 4.8],
    ],
    center: 5,
    sigma: 0.2,
  },
  run: (input) => {
    const charts = meanAndSd(input.subgroups, input);
    return { ...locationAnswer('mean', charts, input.rules), sd: chartAnswer(charts.spread) };
  },
});

const individualsChart = calculation({
  kind: 'individuals',
  about:
    'Chart of single values and moving ranges of two. Sigma from the data is the mean moving range over 2/sqrt(pi).',
  input: z.strictObject({
    kind: z.literal('individuals'),
    values: numbers('values in time order, any unit; 2 or more, or 1 with a given sigma'),
    ...standards,
    rules,
  }),
  outputs: {
    ...processOutputs,
    ...chartOutputs('individual', 'the values'),
    ...chartOutputs('moving_range', 'entry i is |value i+1 - value i|, unit of the values; limits not below 0'),
    ...signalOutputs,
  },
  sources: [`${HANDBOOK} 6.3.2.2`, `${MONTGOMERY} 6.4`],
  example: {
    kind: 'individuals',
    values: [49.6, 47.6, 49.9, 51.3, 47.8, 51.2],
    rules: ['beyond_3_sigma', 'six_trend'],
  },
  run: (input) => {
    const charts = individualsAndMovingRange(input.values, input);
    return { ...locationAnswer('individual', charts, input.rules), moving_range: chartAnswer(charts.spread) };
  },
});

const fractionChart = calculation({
  kind: 'p',
  about: 'Chart of the fraction of nonconforming units; sample sizes may differ, each point has limits of its own.',
  input: z.strictObject({
    kind: z.literal('p'),
    counts: numbers('nonconforming units of each sample, whole, in time order'),
    sizes: numbers('units of each sample, whole, 1 or more'),
    center: limit('given fraction, 0 to 1; null: from the data.'),
    rules,
  }),
  outputs: {
    center: 'center line, a fraction: as given, or all nonconforming units over all units',
    ...chartOutputs('fraction', 'fraction nonconforming of each sample; limits within 0 and 1'),
    ...signalOutputs,
  },
  sources: [`${HANDBOOK} 6.3.3.2`, `${MONTGOMERY}s 7.2.1 and 7.2.2`],
  example: { kind: 'p', counts: [12, 8, 6, 9], sizes: [100, 80, 80, 100] },
  run: (input) => {
    const { center, chart } = fractionNonconforming(input.counts, input.sizes, input.center);
    return { center, fraction: chartAnswer(chart), signals: chartSignals(chart, input.rules) };
  },
});

const rateChart = calculation({
  kind: 'u',
  about: 'Chart of nonconformities a unit; sample sizes may differ, each point has limits of its own.',
  input: z.strictObject({
    kind: z.literal('u'),
    counts: numbers('nonconformities of each sample, whole, in time order'),
    sizes: numbers('units of each sample (pieces, length, area, time), above 0'),
    center: z
      .number()
      .nullable()
      .default(null)
      .describe('given nonconformities a unit, 0 or more; null: from the data'),
    rules,
  }),
  outputs: {
    center: 'center line, nonconformities a unit: as given, or all nonconformities over all units',
    ...chartOutputs('rate', 'nonconformities a unit of each sample; limits not below 0'),
    ...signalOutputs,
  },
  sources: [`${HANDBOOK} 6.3.3.1`, `${MONTGOMERY}s 7.3.1 and 7.3.2`],
  example: { kind: 'u', counts: [14, 12, 20, 11], sizes: [10, 8, 13, 10] },
  run: (input) => {
    const { center, chart } = nonconformitiesPerUnit(input.counts, input.sizes, input.center);
    return { center, rate: chartAnswer(chart), signals: chartSignals(chart, input.rules) };
  },
});

function chartAnswer({ values, center, sigma, lower, upper, outside }: ControlChart): object {
  return { values, center, sigma, lcl: lower, ucl: upper, out_of_limits: outside };
}

function locationAnswer(name: string, { center, sigma, location }: VariablesChart, wanted: readonly RunRule[]): object {
  return { center, sigma, [name]: chartAnswer(location), signals: chartSignals(location, wanted) };
}

export const controlChartTopic: Topic = {
  name: 'control-chart',
  about: 'center line, limits and points beyond them: means with ranges or standard deviations, individuals, p, u',
  selectBy: 'kind',
  calculations: [meanRangeChart, meanSdChart, individualsChart, fractionChart, rateChart],
};
