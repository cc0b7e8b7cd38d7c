import * as z from 'zod';
import { quantiles } from '../../quality/description/quantile.ts';
import { summary } from '../../quality/description/summary.ts';
import { calculation, numbers } from './topic.ts';
import type { Topic } from './topic.ts';

/** `barolot calc summary`. */
export const summaryTopic: Topic = {
  name: 'summary',
  about: 'number, mean, standard deviation, lag-1 autocorrelation, extremes, median and quantiles of readings',
  selectBy: null,
  calculations: [
    calculation({
      kind: null,
      about:
        'Describes one set of readings. Use it first: spread, extremes, and whether each reading follows the one before.',
      input: z.strictObject({
        values: numbers('readings in the order they were taken, all in one unit; one or more'),
        probabilities: z
          .array(z.number().min(0).max(1))
          .default([])
          .describe('probabilities of the quantiles wanted, fractions 0 to 1'),
        quantile_type: z
          .union([z.literal(6), z.literal(7), z.literal(8)])
          .default(7)
          .describe(
            'type of the quantiles after Hyndman & Fan: value i stands at i/(n+1), (i-1)/(n-1), (i-1/3)/(n+1/3)',
          ),
      }),
      outputs: {
        n: 'number of values',
        mean: 'arithmetic mean, unit of the values',
        sd: 'standard deviation with divisor n - 1, unit of the values; null for one value',
        lag1_autocorrelation:
          'correlation of each value with the next, about -1 to 1; null without spread. Near 0 for independent readings',
        min: 'smallest value, unit of the values',
        max: 'largest value, unit of the values',
        range: 'max - min, unit of the values',
        median: 'middle value, or mean of the middle two, unit of the values',
        standard_error: 'standard error of the mean, sd / sqrt(n), unit of the values; null for one value',
        quantiles: 'for each probability asked for, in that order, the quantile, unit of the values',
      },
      sources: [
        'NIST Statistical Reference Datasets, univariate summary statistics: mean, sd (n - 1), lag-1 autocorrelation',
        'NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.12: autocorrelation with the overall mean',
        'Hyndman & Fan, Sample quantiles in statistical packages, The American Statistician 50 (1996) 361-365',
      ],
      example: { values: [101.293, 101.421, 101.237, 101.158, 101.323], probabilities: [0.05, 0.95] },
      run: ({ values, probabilities, quantile_type }) => {
        const { standardError, lag1Autocorrelation, n, mean, sd, min, max, range, median } = summary(values);
        return {
          ...{ n, mean, sd, lag1_autocorrelation: lag1Autocorrelation, min, max, range, median },
          standard_error: standardError,
          quantiles: quantiles(values, probabilities, quantile_type),
        };
      },
    }),
  ],
};
