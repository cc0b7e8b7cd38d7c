import * as z from 'zod';
import { chartConstants } from '../../quality/charts/chart-constants.ts';
import { calculation } from './topic.ts';
import type { Topic } from './topic.ts';

const constants = calculation({
  kind: null,
  about:
    'Factors of the 3 sigma charts of means, ranges and standard deviations for subgroups of n values of a normal ' +
    'process. All are pure numbers; lower limits below 0 are 0.',
  input: z.strictObject({ n: z.number().describe('values in a subgroup, whole, 2 to 1000000') }),
  outputs: {
    d2: 'mean range of n values, in process standard deviations',
    d3: 'standard deviation of that range, in process standard deviations',
    c4: 'mean sample standard deviation (divisor n - 1), in process standard deviations',
    A: 'limits of the mean: center -/+ A x given sigma',
    A2: 'limits of the mean: center -/+ A2 x mean range',
    A3: 'limits of the mean: center -/+ A3 x mean standard deviation',
    B3: 'lower limit of s: B3 x mean standard deviation',
    B4: 'upper limit of s: B4 x mean standard deviation',
    B5: 'lower limit of s: B5 x given sigma',
    B6: 'upper limit of s: B6 x given sigma',
    D1: 'lower limit of the range: D1 x given sigma',
    D2: 'upper limit of the range: D2 x given sigma',
    D3: 'lower limit of the range: D3 x mean range',
    D4: 'upper limit of the range: D4 x mean range',
    E2: 'limits of single values: center -/+ E2 x mean range (moving range: n = 2)',
  },
  sources: [
    'NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.1',
    'Montgomery, "Introduction to Statistical Quality Control", 6th ed., sections 6.2 to 6.4, appendix VI',
    'd2, d3: density of the range, David & Nagaraja, "Order Statistics", 3rd ed., sections 2.3 and 3.1',
  ],
  example: { n: 5 },
  run: ({ n }) => chartConstants(n),
});

export const chartConstantsTopic: Topic = {
  name: 'chart-constants',
  about: 'factors of control charts (d2, d3, c4, A2, D3, D4 …) for a subgroup size',
  selectBy: null,
  calculations: [constants],
};
