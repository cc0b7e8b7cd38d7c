import * as z from 'zod';
import { cusumChart } from '../../quality/charts/cusum.ts';
import { ewmaChart } from '../../quality/charts/ewma.ts';
import { RUN_RULES, runRuleFirings, runRuleSignals } from '../../quality/charts/run-rules.ts';
import { calculation, numbers } from './topic.ts';
import type { Topic } from './topic.ts';

const runRules = calculation({
  kind: 'run_rules',
  about:
    'Tests for special causes on the points of a chart with a known center line and sigma. ' +
    'Each rule that is switched on gives the positions at which it fires. Beyond and inside are strict: a point on a ' +
    'line is neither, and a point on the center line belongs to no side.',
  input: z.strictObject({
    kind: z.literal('run_rules'),
    values: numbers('plotted points in time order, any unit; may be empty'),
    center: z.number().describe('center line, unit of the values'),
    sigma: z.number().describe('standard deviation of a plotted point, unit of the values, above 0'),
    rules: z.array(z.enum(RUN_RULES)).optional().describe('rules to switch on, named as in the output; left out: all.'),
  }),
  outputs: {
    beyond_3_sigma: 'a point beyond 3 sigma. Here and below: positions in values at which the rule fires, from 0',
    two_of_three_beyond_2_sigma: 'the point and at least one more of the last 3 beyond 2 sigma on one side',
    four_of_five_beyond_1_sigma: 'the point and at least three more of the last 5 beyond 1 sigma on one side',
    eight_same_side: 'the last 8 points on one side of the center line',
    nine_same_side: 'the last 9 points on one side of the center line',
    six_trend: 'the last 6 points all rising or all falling; equal neighbours break it',
    seven_trend: 'the last 7 points all rising or all falling',
    fourteen_alternating: 'the last 14 points going up and down by turns',
    fifteen_within_1_sigma: 'the last 15 points inside 1 sigma, either side',
    eight_beyond_1_sigma_either_side: 'the last 8 points beyond 1 sigma, either side',
    two_of_three_window_only: 'any 2 of a complete window of 3 beyond 2 sigma on one side, the last point or not',
    four_of_five_window_only: 'any 4 of a complete window of 5 beyond 1 sigma on one side, the last point or not',
    'signals[].index': 'every firing in time order: position of the point at which it fires',
    'signals[].rule': 'name of the rule',
    'signals[].points': 'positions of the points that made it fire',
  },
  sources: [
    'Nelson, Journal of Quality Technology 16 (1984) 237-239',
    'Western Electric, "Statistical Quality Control Handbook" (1956), tests for unnatural patterns',
    'NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2',
  ],
  example: { kind: 'run_rules', values: [0.2, 2.3, 1.1, 2.5, -3.2], center: 0, sigma: 1 },
  run: ({ values, center, sigma, rules }) => ({
    ...runRuleFirings(values, { center, sigma }, rules),
    signals: runRuleSignals(values, { center, sigma }, rules),
  }),
});

const ewma = calculation({
  kind: 'ewma',
  about:
    'Exponentially weighted moving average with limits that open from the first point on; finds small lasting ' +
    'shifts of the mean.',
  input: z.strictObject({
    kind: z.literal('ewma'),
    values: numbers('values in time order, any unit; may be empty'),
    target: z.number().describe('center line and start of the average, unit of the values'),
    sigma: z.number().describe('standard deviation of a value, unit of the values, above 0'),
    lambda: z.number().describe('weight of the newest value, above 0, at most 1'),
    L: z.number().describe('half width of the limits in standard deviations of the average, above 0'),
  }),
  outputs: {
    ewma: 'average after each value, unit of the values',
    lcl: 'lower limit at each value, unit of the values',
    ucl: 'upper limit at each value, unit of the values',
    signal_indices: 'positions (from 0) at which the average is strictly outside its limits',
    steady_state_lcl: 'lower limit after many values, unit of the values',
    steady_state_ucl: 'upper limit after many values, unit of the values',
    'signals[].index': 'the same positions as one list with the rule',
    'signals[].rule': 'outside_limits',
    'signals[].points': 'the position itself',
  },
  sources: [
    'NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.4',
    'Montgomery, "Introduction to Statistical Quality Control", 6th ed., section 9.2.1',
  ],
  example: { kind: 'ewma', values: [10.2, 9.9, 10.8, 11.1], target: 10, sigma: 0.5, lambda: 0.2, L: 2.7 },
  run: ({ values, target, sigma, lambda, L }) => {
    const chart = ewmaChart(values, { target, sigma, lambda, L });
    return {
      ewma: chart.ewma,
      lcl: chart.lower,
      ucl: chart.upper,
      signal_indices: chart.signals,
      steady_state_lcl: chart.steadyLower,
      steady_state_ucl: chart.steadyUpper,
      signals: chart.signals.map((index) => ({ index, rule: 'outside_limits', points: [index] })),
    };
  },
});

const cusum = calculation({
  kind: 'cusum',
  about:
    'Tabular CUSUM: sums of the deviations from the target beyond a slack, one against an upward and one against a ' +
    'downward shift; not set back after a signal.',
  input: z.strictObject({
    kind: z.literal('cusum'),
    values: numbers('values in time order, any unit; may be empty'),
    target: z.number().describe('wanted mean, unit of the values'),
    sigma: z.number().describe('standard deviation of a value, unit of the values, above 0'),
    k: z.number().describe('slack in sigma, 0 or more; half of the shift to be found'),
    h: z.number().describe('decision interval in sigma, above 0'),
  }),
  outputs: {
    c_plus: 'upper sum after each value, in sigma',
    c_minus: 'lower sum after each value, in sigma, counted positive',
    n_plus: 'values in a row for which the upper sum has been above 0',
    n_minus: 'values in a row for which the lower sum has been above 0',
    signal_up: 'positions (from 0) at which the upper sum is strictly above h',
    signal_down: 'positions (from 0) at which the lower sum is strictly above h',
    'signals[].index': 'all signals in time order: position',
    'signals[].rule': 'shift_up or shift_down',
    'signals[].points': 'first and last position of the run of sums above 0: the shift began about at the first',
  },
  sources: [
    'Montgomery, "Introduction to Statistical Quality Control", 6th ed., section 9.1.2, eqs. 9.2 and 9.3',
    'NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.3',
  ],
  example: { kind: 'cusum', values: [10.2, 12.1, 12.4, 12.9], target: 10, sigma: 1, k: 0.5, h: 5 },
  run: ({ values, target, sigma, k, h }) => {
    const { up, down } = cusumChart(values, { target, sigma, k, h });
    return {
      c_plus: up.sums,
      c_minus: down.sums,
      n_plus: up.periods,
      n_minus: down.periods,
      signal_up: up.signals,
      signal_down: down.signals,
      signals: [
        ...up.signals.map((index) => shift('shift_up', index, up.periods)),
        ...down.signals.map((index) => shift('shift_down', index, down.periods)),
      ].sort((one, other) => one.index - other.index),
    };
  },
});

/** All positions in between would make the answer grow with the square of a lasting shift. */
function shift(
  rule: string,
  index: number,
  periods: readonly number[],
): { index: number; rule: string; points: number[] } {
  const first = index + 1 - (periods[index] ?? 1);
  return { index, rule, points: first === index ? [index] : [first, index] };
}

export const controlRulesTopic: Topic = {
  name: 'control-rules',
  about: 'signals of a control chart: run rules, EWMA, CUSUM',
  selectBy: 'kind',
  calculations: [runRules, ewma, cusum],
};
