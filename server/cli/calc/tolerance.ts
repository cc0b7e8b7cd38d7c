import * as z from 'zod';
import { summary } from '../../quality/description/summary.ts';
import { toleranceFactors, toleranceLimits } from '../../quality/capability/tolerance-interval.ts';
import { calculation } from './topic.ts';
import type { Topic } from './topic.ts';

const share = (text: string): z.ZodNumber => z.number().gt(0).lt(1).describe(text);

/** `barolot calc tolerance`. */
export const toleranceTopic: Topic = {
  name: 'tolerance',
  about: 'normal tolerance limits: mean and k times sd that hold a share of the population with a confidence',
  selectBy: null,
  calculations: [
    calculation({
      kind: null,
      about:
        'Factors k for mean - k sd, mean + k sd of a normal sample that hold a share of the population with a confidence. With the readings, or with mean and sd, also the limits.',
      input: z
        .strictObject({
          n: z.int().min(1).optional().describe('number of values; values or n is wanted'),
          coverage: share('share of the population to be held, fraction'),
          confidence: share('confidence that at least that share is held, fraction'),
          values: z.array(z.number()).optional().describe('the readings themselves, in one unit, in any order'),
          mean: z.number().optional().describe('with n: mean of the readings, their unit'),
          sd: z.number().min(0).optional().describe('with n and mean: standard deviation (n - 1), unit of the mean'),
        })
        .refine(({ n, values }) => (n === undefined) !== (values === undefined), {
          error: 'values or n wanted, not both',
        })
        .refine(({ mean, sd }) => (mean === undefined) === (sd === undefined), {
          error: 'mean and sd wanted, or neither',
        })
        .refine(({ values, mean }) => values === undefined || mean === undefined, {
          error: 'values wanted, or mean and sd, not both',
        }),
      outputs: {
        n: 'number of values',
        k1_one_sided_exact: 'k of a limit on one side, exact (noncentral t), no unit; null for one value',
        k1_one_sided_approx_natrella:
          "the same by Natrella's approximation, no unit; null where it has no value, for few values",
        k2_two_sided_exact:
          'k of limits on both sides, exact by integration over the sample mean, no unit; null for one value',
        k2_two_sided_howe: "the same by Howe's approximation, no unit; null for one value",
        'limits.one_sided_lower': 'mean - k1 sd: at least the share is above it, unit of the values',
        'limits.one_sided_upper': 'mean + k1 sd: at least the share is below it, unit of the values',
        'limits.two_sided_lower': 'mean - k2 sd, unit of the values',
        'limits.two_sided_upper': 'mean + k2 sd: at least the share is between the two, unit of the values',
        limits: 'by the exact factors; null without readings or mean and sd',
      },
      sources: [
        'NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.6.3: definitions and the two approximations',
        'Wald & Wolfowitz, Annals of Mathematical Statistics 17 (1946) 208-215: two-sided limits, the integral',
        'Howe, Two-sided tolerance limits for normal populations, JASA 64 (1969) 610-620',
        'Natrella, Experimental Statistics, NBS Handbook 91 (1963), section 2-5.3',
      ],
      example: { n: 43, coverage: 0.9, confidence: 0.99, mean: 97.07, sd: 0.0268 },
      run: ({ coverage, confidence, values, n: count, mean, sd }) => {
        const sample = values === undefined ? { n: count ?? 1, mean: mean ?? null, sd: sd ?? null } : summary(values);
        const { n } = sample;
        const factors = toleranceFactors(n, coverage, confidence);
        const limits = sample.mean === null ? null : toleranceLimits(factors, sample.mean, sample.sd);
        return {
          n,
          k1_one_sided_exact: factors.oneSidedExact,
          k1_one_sided_approx_natrella: factors.oneSidedNatrella,
          k2_two_sided_exact: factors.twoSidedExact,
          k2_two_sided_howe: factors.twoSidedHowe,
          limits:
            limits === null
              ? null
              : {
                  one_sided_lower: limits.oneSidedLower,
                  one_sided_upper: limits.oneSidedUpper,
                  two_sided_lower: limits.twoSidedLower,
                  two_sided_upper: limits.twoSidedUpper,
                },
        };
      },
    }),
  ],
};
