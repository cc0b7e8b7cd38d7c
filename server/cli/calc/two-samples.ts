import * as z from 'zod';
import { compareMeans, compareSpreads, smallestShown } from '../../quality/comparison/two-samples.ts';
import { calculation } from './topic.ts';
import type { Topic } from './topic.ts';

const sample = (which: string) =>
  z
    .strictObject({
      n: z.int().min(1).describe('parts'),
      mean: z.number().describe('their mean, unit of the values'),
      sd: z.number().min(0).nullable().describe('standard deviation, divisor n - 1, same unit; null for one part'),
    })
    .describe(`${which} sample, by its summary`);

/** `barolot calc two-samples`. */
export const twoSamplesTopic: Topic = {
  name: 'two-samples',
  about:
    'two lots or audits against one another: difference of means (Welch), ratio of spreads (F), what could be shown',
  selectBy: null,
  calculations: [
    calculation({
      kind: null,
      about:
        'Whether two independent samples differ in mean or spread, and the smallest difference of means that samples like these show.',
      input: z.strictObject({
        first: sample('the first'),
        second: sample('the second'),
        confidence: z.number().gt(0).lt(1).default(0.95).describe('of the bounds, 0 to 1'),
        alpha: z.number().gt(0).lt(1).default(0.05).describe('level of the test of what could be shown, two-sided'),
        power: z.number().min(0.5).lt(1).default(0.9).describe('probability with which it is to be shown, 0.5 to 1'),
      }),
      outputs: {
        'mean.difference': 'first mean less second; null with the rest where one has one part or neither has a spread',
        'mean.standard_error': 'its standard error',
        'mean.df': 'degrees of freedom (Welch-Satterthwaite), not whole',
        'mean.t': 'difference over its standard error',
        'mean.p': 'probability of such a difference or a larger one, either way, if the means are alike; 0 to 1',
        'mean.bounds[]': 'bounds of the difference with the confidence',
        'spread.ratio': 'first standard deviation over second; null with the rest where one has one part or no spread',
        'spread.f': 'ratio of the variances',
        'spread.p': 'probability of such a ratio or one farther out, if the spreads are alike; 0 to 1',
        'spread.bounds[]': 'bounds of the ratio of the standard deviations; both samples normal',
        smallest_shown: 'difference of the means that is found with the power at alpha; null where mean is',
      },
      sources: [
        'Welch, Biometrika 34 (1947) 28-35; Satterthwaite, Biometrics Bulletin 2 (1946) 110-114 (from memory)',
        'NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.3 and 1.3.5.9',
        'Cohen, "Statistical Power Analysis for the Behavioral Sciences", 2nd ed. (1988), 2.2 (from memory)',
      ],
      example: { first: { n: 13, mean: -2.31, sd: 0.42 }, second: { n: 13, mean: 0.08, sd: 0.35 } },
      run: ({ first, second, confidence, alpha, power }) => {
        const means = compareMeans(first, second, confidence);
        const spreads = compareSpreads(first, second, confidence);
        return {
          mean:
            means === null
              ? null
              : {
                  difference: means.difference,
                  standard_error: means.standardError,
                  ...{ df: means.df, t: means.t, p: means.p },
                  bounds: [means.bounds.lower, means.bounds.upper],
                },
          spread:
            spreads === null
              ? null
              : {
                  ...{ ratio: spreads.ratio, f: spreads.f, p: spreads.p },
                  bounds: [spreads.bounds.lower, spreads.bounds.upper],
                },
          smallest_shown: smallestShown(first, second, alpha, power),
        };
      },
    }),
  ],
};
