import * as z from 'zod';
import { oneWay, pooledSd } from '../../quality/gauge/analysis-of-variance.ts';
import { gaugeLinearity } from '../../quality/gauge/gauge-linearity.ts';
import { gaugeType1 } from '../../quality/gauge/gauge-type-1.ts';
import type { Interval } from '../../quality/gauge/mean-square-bounds.ts';
import { crossedCalculation, nestedCalculation } from './gauge-studies.ts';
import { calculation, numbers } from './topic.ts';
import type { Topic } from './topic.ts';

const HANDBOOK = 'NIST/SEMATECH e-Handbook of Statistical Methods';
const AIAG = 'AIAG, "Measurement Systems Analysis", 4th ed. (from memory)';

const linearityCalculation = calculation({
  kind: 'linearity',
  about:
    'Bias of a gauge over its range. Readings of several reference parts: bias and its test at each, straight line of bias over reference with its confidence band.',
  input: z.strictObject({
    kind: z.literal('linearity'),
    references: numbers('reference values of the parts, unit of the readings'),
    readings: z.array(z.array(z.number())).describe('for each reference its readings; numbers of them may differ'),
    process_variation: z
      .number()
      .gt(0)
      .nullable()
      .default(null)
      .describe(
        'six standard deviations of the process, unit of the readings; null: no linearity, percent_linearity, percent_average_bias',
      ),
  }),
  outputs: {
    'per_reference[]':
      'for each reference: n readings, mean_bias (reading minus reference), sd, t and two-sided p against no bias, ci95 bounds of the bias; what needs a spread is null without one',
    average_bias: 'mean bias of all readings',
    slope: 'bias per unit of reference, least squares over all readings; null if all references are equal',
    intercept: 'bias of the line at reference 0',
    residual_sd: 'standard deviation of the readings about the line; null below 3 readings',
    df: 'degrees of freedom of residual_sd, readings minus 2',
    r_squared: 'share of the squares of bias that the line explains, 0 to 1; null if all biases are equal',
    slope_se: 'standard error of the slope',
    slope_t: 'slope / slope_se; null if residual_sd is 0',
    slope_p: 'two-sided p of slope_t: below 0.05 the gauge is not linear',
    intercept_se: 'standard error of the intercept',
    intercept_t: 'intercept / intercept_se; null if residual_sd is 0',
    intercept_p: 'two-sided p of intercept_t',
    'confidence_band_95[]':
      'at each reference: fit of the line, 95 % bounds lower and upper of the line there, contains_zero: no bias proven there',
    zero_inside_band_everywhere: 'whether every band contains zero; null without a band',
    linearity: '|slope| times process_variation, unit of the readings; null without process_variation',
    percent_linearity: '100 |slope|, percent of the process variation; null without process_variation',
    percent_average_bias: '|average_bias| in percent of process_variation; null without it',
  },
  sources: [
    `${AIAG}, linearity study`,
    'Draper & Smith, "Applied Regression Analysis", 3rd ed., sections 1.2 to 1.4 and 3.1',
  ],
  example: {
    kind: 'linearity',
    references: [1, 2, 4],
    readings: [
      [1.01, 1.02, 0.99],
      [2.0, 2.03],
      [4.05, 4.02, 4.04],
    ],
    process_variation: 3,
  },
  run: ({ references, readings, process_variation: processVariation }) => {
    const { line, ...study } = gaugeLinearity(references, readings, { processVariation });
    return {
      per_reference: study.perReference.map(({ reference, n, bias, sd, t, p, bounds }) => {
        return { reference, n, mean_bias: bias, sd, t, p, ci95: bounds && pair(bounds) };
      }),
      average_bias: study.averageBias,
      slope: line.slope,
      intercept: line.intercept,
      residual_sd: line.residualSd,
      df: line.df,
      r_squared: line.rSquared,
      slope_se: line.slopeSe,
      slope_t: study.slopeTest.t,
      slope_p: study.slopeTest.p,
      intercept_se: line.interceptSe,
      intercept_t: study.interceptTest.t,
      intercept_p: study.interceptTest.p,
      confidence_band_95: study.band.map(({ reference, fit, bounds, containsZero }) => {
        return {
          reference,
          fit,
          lower: orNull(bounds?.lower),
          upper: orNull(bounds?.upper),
          contains_zero: containsZero,
        };
      }),
      zero_inside_band_everywhere: study.zeroInsideBandEverywhere,
      linearity: study.linearity,
      percent_linearity: study.percentLinearity,
      percent_average_bias: study.percentAverageBias,
    };
  },
});

const type1Calculation = calculation({
  kind: 'type1',
  about:
    'Repeatability and bias of a gauge on one reference part. Cg and Cgk against a tolerance, with a spread of 6 and of 4 standard deviations.',
  input: z.strictObject({
    kind: z.literal('type1'),
    reference: z.number().describe('value of the reference part, unit of the readings'),
    readings: numbers('readings of the part in the order taken'),
    tolerance_width: z.number().gt(0).describe('tolerance width T, upper minus lower limit, unit of the readings'),
  }),
  outputs: {
    n: 'number of readings',
    mean: 'mean of the readings',
    sd: 'standard deviation s, divisor n - 1; null for one reading',
    bias: 'mean minus reference',
    bias_t: 'bias / (s / sqrt n); null if s is 0',
    bias_p: 'two-sided p of bias_t, n - 1 degrees of freedom',
    bias_ci95: '95 % bounds [lower, upper] of the bias; null for one reading',
    Cg_6s: '0.2 T / (6 s); null if s is 0',
    Cgk_6s: '(0.1 T - |bias|) / (3 s); negative if the bias exceeds a tenth of T',
    Cg_4s: '0.2 T / (4 s)',
    Cgk_4s: '(0.1 T - |bias|) / (2 s)',
    percent_var_repeatability_6s: '20 / Cg_6s: six standard deviations in percent of T',
    percent_var_repeatability_and_bias_6s: '20 / Cgk_6s; null if Cgk_6s is not above 0',
  },
  sources: [
    'ISO 22514-7, capability of a measuring system (indices Cg and Cgk); 0.2 T and 0.1 T: common practice (from memory)',
    `${HANDBOOK}, 7.2.2 (bias: Student t)`,
  ],
  example: { kind: 'type1', reference: 2.5, readings: [2.501, 2.498, 2.503, 2.5, 2.502], tolerance_width: 0.06 },
  run: ({ reference, readings, tolerance_width: width }) => {
    const study = gaugeType1(readings, reference, width);
    return {
      n: study.n,
      mean: study.mean,
      sd: study.sd,
      bias: study.bias,
      bias_t: study.t,
      bias_p: study.p,
      bias_ci95: study.bounds && pair(study.bounds),
      Cg_6s: study.six.cg,
      Cgk_6s: study.six.cgk,
      Cg_4s: study.four.cg,
      Cgk_4s: study.four.cgk,
      percent_var_repeatability_6s: study.six.percentRepeatability,
      percent_var_repeatability_and_bias_6s: study.six.percentRepeatabilityAndBias,
    };
  },
});

const oneWayCalculation = calculation({
  kind: 'oneway',
  about: 'One-way analysis of variance. Are the means of two or more groups alike?',
  input: z.strictObject({
    kind: z.literal('oneway'),
    groups: z.array(z.array(z.number())).describe('groups of values, at least 2; sizes may differ'),
  }),
  outputs: {
    grand_mean: 'mean of all values',
    between: 'between the groups: ss sum of squares, df degrees of freedom, ms mean square',
    within: 'within the groups: ss, df, ms; ms null if every group has one value',
    F: 'ms between / ms within; null if ms within is 0 or null',
    p: 'probability of a larger F if all means are alike',
    r_squared: 'ss between / total ss, 0 to 1; null if all values are equal',
    residual_sd: 'square root of ms within',
  },
  sources: [`${HANDBOOK}, 7.4.3.3`, 'NIST Statistical Reference Datasets, analysis of variance'],
  example: {
    kind: 'oneway',
    groups: [
      [1.4, 1.3, 1.5],
      [1.3, 1.2, 1.4, 1.3],
    ],
  },
  run: ({ groups }) => {
    const { grandMean, between, within, f, p, rSquared, residualSd } = oneWay(groups);
    return { grand_mean: grandMean, between, within, F: f, p, r_squared: rSquared, residual_sd: residualSd };
  },
});

const pooledSdCalculation = calculation({
  kind: 'pooled_sd_from_ss',
  about: 'Standard deviation pooled over samples, from their sums of squares.',
  input: z.strictObject({
    kind: z.literal('pooled_sd_from_ss'),
    sums_of_squares: numbers('for each sample its sum of squared deviations, unit squared, 0 or more'),
    df: numbers('for each sample its degrees of freedom, 0 or more'),
  }),
  outputs: {
    sum_ss: 'sum of the sums of squares',
    df: 'sum of the degrees of freedom',
    pooled_sd: 'sqrt(sum_ss / df), unit of the values; null if df is 0',
  },
  sources: [`${HANDBOOK}, 2.4.4.4`],
  example: { kind: 'pooled_sd_from_ss', sums_of_squares: [0.48, 0.69], df: [60, 60] },
  run: ({ sums_of_squares: sumsOfSquares, df }) => {
    const pooled = pooledSd(sumsOfSquares, df, { sumsOfSquares: 'sums_of_squares', df: 'df' });
    return { sum_ss: pooled.ss, df: pooled.df, pooled_sd: pooled.sd };
  },
});

export const gaugeTopic: Topic = {
  name: 'gauge',
  about: 'gauge studies: crossed, nested, linearity, type 1; one-way analysis of variance',
  selectBy: 'kind',
  calculations: [
    crossedCalculation,
    nestedCalculation,
    linearityCalculation,
    type1Calculation,
    oneWayCalculation,
    pooledSdCalculation,
  ],
};

const pair = ({ lower, upper }: Interval): readonly [number, number] => [lower, upper];
const orNull = (value: number | undefined): number | null => value ?? null;
