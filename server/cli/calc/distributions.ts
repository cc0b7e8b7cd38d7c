import * as z from 'zod';
import { binomialCdf } from '../../quality/distributions/binomial.ts';
import { chiSquareCdf, chiSquareQuantile } from '../../quality/distributions/chi-square.ts';
import { fCdf, fQuantile } from '../../quality/distributions/f.ts';
import { hypergeometricCdf } from '../../quality/distributions/hypergeometric.ts';
import { noncentralTCdf, noncentralTQuantile } from '../../quality/distributions/noncentral-t.ts';
import { normalCdf, normalQuantile } from '../../quality/distributions/normal.ts';
import { poissonCdf } from '../../quality/distributions/poisson.ts';
import { tCdf, tQuantile } from '../../quality/distributions/student-t.ts';
import { calculation } from './topic.ts';
import type { Calculation, Topic } from './topic.ts';

const HANDBOOK = 'Abramowitz & Stegun, "Handbook of Mathematical Functions"';

const x = z.number().describe('value whose tail is wanted');
const p = z.number().gt(0).lt(1).describe('probability in the tail, above 0 and below 1');
const tail = z
  .enum(['lower', 'upper'])
  .default('lower')
  .describe('lower is P(X <= x), upper is P(X > x); both keep their digits however small they are');
const freedom = (text: string): z.ZodNumber => z.number().positive().describe(`${text}, above 0, need not be whole`);
const df = freedom('degrees of freedom');
const df1 = freedom('degrees of freedom of the numerator');
const df2 = freedom('degrees of freedom of the denominator');
const ncp = z.number().describe('noncentrality: mean of the normal variable above the chi variable');
const mean = z.number().default(0).describe('mean of the distribution, unit of x');
const sd = z.number().positive().default(1).describe('standard deviation of the distribution, unit of x');
const count = z.int().describe('count whose tail is wanted');
const parts = (text: string): z.ZodNumber => z.int().min(0).describe(text);

const probability = { value: 'the probability of the tail, 0 to 1' };
const quantile = { value: 'the value that has probability p in the tail asked for' };

const normal: readonly Calculation[] = [
  calculation({
    kind: 'normal.cdf',
    about: 'Probability of a tail of the normal distribution.',
    input: z.strictObject({ function: z.literal('normal.cdf'), x, mean, sd, tail }),
    outputs: probability,
    sources: [`${HANDBOOK}, 26.2`],
    example: { function: 'normal.cdf', x: 101.5, mean: 100, sd: 0.5, tail: 'upper' },
    run: (given) => ({ value: normalCdf((given.x - given.mean) / given.sd, given.tail) }),
  }),
  calculation({
    kind: 'normal.quantile',
    about: 'The value beyond which the normal distribution has a given probability.',
    input: z.strictObject({ function: z.literal('normal.quantile'), p, mean, sd, tail }),
    outputs: quantile,
    sources: [`${HANDBOOK}, 26.2`],
    example: { function: 'normal.quantile', p: 0.00135, tail: 'upper' },
    run: (given) => ({ value: given.mean + given.sd * normalQuantile(given.p, given.tail) }),
  }),
];

const samples: readonly Calculation[] = [
  calculation({
    kind: 't.cdf',
    about: "Probability of a tail of Student's t distribution.",
    input: z.strictObject({ function: z.literal('t.cdf'), x, df, tail }),
    outputs: probability,
    sources: [`${HANDBOOK}, 26.7`],
    example: { function: 't.cdf', x: 2.262157162798205, df: 9, tail: 'upper' },
    run: (given) => ({ value: tCdf(given.x, given.df, given.tail) }),
  }),
  calculation({
    kind: 't.quantile',
    about: "The value beyond which Student's t distribution has a given probability.",
    input: z.strictObject({ function: z.literal('t.quantile'), p, df, tail }),
    outputs: quantile,
    sources: [`${HANDBOOK}, 26.7`],
    example: { function: 't.quantile', p: 0.975, df: 9 },
    run: (given) => ({ value: tQuantile(given.p, given.df, given.tail) }),
  }),
  calculation({
    kind: 'chisq.cdf',
    about: 'Probability of a tail of the chi-square distribution.',
    input: z.strictObject({ function: z.literal('chisq.cdf'), x, df, tail }),
    outputs: probability,
    sources: [`${HANDBOOK}, 26.4`],
    example: { function: 'chisq.cdf', x: 100, df: 10, tail: 'upper' },
    run: (given) => ({ value: chiSquareCdf(given.x, given.df, given.tail) }),
  }),
  calculation({
    kind: 'chisq.quantile',
    about: 'The value beyond which the chi-square distribution has a given probability.',
    input: z.strictObject({ function: z.literal('chisq.quantile'), p, df, tail }),
    outputs: quantile,
    sources: [`${HANDBOOK}, 26.4`],
    example: { function: 'chisq.quantile', p: 0.025, df: 124 },
    run: (given) => ({ value: chiSquareQuantile(given.p, given.df, given.tail) }),
  }),
  calculation({
    kind: 'f.cdf',
    about: 'Probability of a tail of the F distribution.',
    input: z.strictObject({ function: z.literal('f.cdf'), x, df1, df2, tail }),
    outputs: probability,
    sources: [`${HANDBOOK}, 26.6`],
    example: { function: 'f.cdf', x: 34.44, df1: 2, df2: 18, tail: 'upper' },
    run: (given) => ({ value: fCdf(given.x, given.df1, given.df2, given.tail) }),
  }),
  calculation({
    kind: 'f.quantile',
    about: 'The value beyond which the F distribution has a given probability.',
    input: z.strictObject({ function: z.literal('f.quantile'), p, df1, df2, tail }),
    outputs: quantile,
    sources: [`${HANDBOOK}, 26.6`],
    example: { function: 'f.quantile', p: 0.95, df1: 18, df2: 60 },
    run: (given) => ({ value: fQuantile(given.p, given.df1, given.df2, given.tail) }),
  }),
];

const NONCENTRAL = 'Johnson, Kotz & Balakrishnan, "Continuous Univariate Distributions", vol. 2, 2nd ed., chapter 31';

const noncentral: readonly Calculation[] = [
  calculation({
    kind: 'nct.cdf',
    about:
      'Probability of a tail of the noncentral t distribution, which exact bounds of capability indices come from.',
    input: z.strictObject({ function: z.literal('nct.cdf'), x, df, ncp, tail }),
    outputs: probability,
    sources: [NONCENTRAL],
    example: { function: 'nct.cdf', x: 60, df: 99, ncp: 50, tail: 'upper' },
    run: (given) => ({ value: noncentralTCdf(given.x, given.df, given.ncp, given.tail) }),
  }),
  calculation({
    kind: 'nct.quantile',
    about: 'The value beyond which the noncentral t distribution has a given probability.',
    input: z.strictObject({ function: z.literal('nct.quantile'), p, df, ncp, tail }),
    outputs: quantile,
    sources: [NONCENTRAL],
    example: { function: 'nct.quantile', p: 0.95, df: 9, ncp: 2.1 },
    run: (given) => ({ value: noncentralTQuantile(given.p, given.df, given.ncp, given.tail) }),
  }),
];

const counts: readonly Calculation[] = [
  calculation({
    kind: 'binomial.cdf',
    about: 'Probability of at most k (lower) or more than k (upper) bad parts in n from a process.',
    input: z.strictObject({
      function: z.literal('binomial.cdf'),
      k: count,
      n: parts('number of parts drawn'),
      p: z.number().min(0).max(1).describe('fraction bad of the process, 0 to 1'),
      tail,
    }),
    outputs: probability,
    sources: [`${HANDBOOK}, 26.5.24`],
    example: { function: 'binomial.cdf', k: 2, n: 80, p: 0.01 },
    run: (given) => ({ value: binomialCdf(given.k, given.n, given.p, given.tail) }),
  }),
  calculation({
    kind: 'poisson.cdf',
    about: 'Probability of at most k (lower) or more than k (upper) faults where so many are expected.',
    input: z.strictObject({
      function: z.literal('poisson.cdf'),
      k: count,
      mean: z.number().min(0).describe('number of faults expected'),
      tail,
    }),
    outputs: probability,
    sources: [`${HANDBOOK}, 26.4.21`],
    example: { function: 'poisson.cdf', k: 2, mean: 0.8 },
    run: (given) => ({ value: poissonCdf(given.k, given.mean, given.tail) }),
  }),
  calculation({
    kind: 'hypergeometric.cdf',
    about: 'Probability of at most k (lower) or more than k (upper) bad parts in a sample from one lot.',
    input: z.strictObject({
      function: z.literal('hypergeometric.cdf'),
      k: count,
      N: parts('lot size, parts'),
      D: parts('bad parts in the lot, at most N'),
      n: parts('sample size, parts, at most N'),
      tail,
    }),
    outputs: probability,
    sources: [
      'Johnson, Kemp & Kotz, "Univariate Discrete Distributions", 3rd ed., section 6.2 (hypergeometric distribution)',
    ],
    example: { function: 'hypergeometric.cdf', k: 2, N: 1200, D: 12, n: 80 },
    run: ({ k, N, D, n, tail: end }) => ({
      value: hypergeometricCdf(k, { lot: N, bad: D, sample: n }, end, { lot: 'N', bad: 'D', sample: 'n' }),
    }),
  }),
];

/** Tails and quantiles of the distributions that the other topics rest on. */
export const distributionsTopic: Topic = {
  name: 'distributions',
  about: 'Tails and quantiles of the normal, t, chi-square, F, noncentral t and of counts',
  selectBy: 'function',
  calculations: [...normal, ...samples, ...noncentral, ...counts],
};
