import * as z from 'zod';
import { QualityError } from '../../quality/errors.ts';
import { checkBadOfLot, checkSampleOfLot } from '../../quality/sampling/lot-checks.ts';
import {
  acceptance,
  acceptanceInLot,
  lotPoints,
  outgoingLimit,
  qualityAt,
  rectification,
} from '../../quality/sampling/operating-characteristic.ts';
import type { AttributesPlan, ProcessModel } from '../../quality/sampling/operating-characteristic.ts';
import { auditSentence, lotSentence, processSentence, zeroAcceptanceSentence } from './plan-sentence.ts';
import { twoPointPlan, twoPointPlanOfLot } from '../../quality/sampling/two-point-plan.ts';
import { zeroAcceptance } from '../../quality/sampling/zero-acceptance.ts';
import { calculation } from './topic.ts';

const SCHILLING = 'Schilling & Neubauer, "Acceptance Sampling in Quality Control", 2nd ed.';
const LARGEST_LOT = 100_000_000;
export const SENTENCE = 'the plan in one plain sentence: what it accepts, and how bad a lot must be to be stopped';

const lotSize = (text: string): z.ZodNumber => z.int().min(1).max(LARGEST_LOT).describe(text);
/** A lot size that only some inputs have. */
export const maybeLotSize = (text: string): z.ZodDefault<z.ZodNullable<z.ZodNumber>> =>
  z.int().min(1).max(LARGEST_LOT).nullable().default(null).describe(text);
const fraction = z.number().min(0).max(1);
const risk = (text: string): z.ZodNumber => z.number().gt(0).lt(1).describe(text);

const keyedByPa = (quality: (pa: number) => number | null): object =>
  Object.fromEntries([0.95, 0.5, 0.1].map((pa) => [pa.toFixed(2), quality(pa)]));

export const planCalculation = calculation({
  kind: 'plan',
  about:
    'What a single-sampling plan does. Inspect n parts of a lot of N, accept with at most c bad: operating characteristic, risk points, average outgoing quality.',
  input: z.strictObject({
    kind: z.literal('plan'),
    N: lotSize('lot size, parts'),
    n: z.int().min(1).max(LARGEST_LOT).describe('sample size, parts'),
    c: z.int().min(0).max(LARGEST_LOT).describe('acceptance number: accepted with so many bad parts or fewer'),
    p: z.array(fraction).default([]).describe('fractions bad of the process to answer for, each 0 to 1'),
    D: z.array(z.int().min(0)).default([]).describe('numbers of bad parts in the lot to answer for, each 0 to N'),
  }),
  outputs: {
    'oc_binomial[]':
      'for each p: Pa, probability that the lot is accepted; bad parts counted (type B, lots of a process)',
    'oc_poisson[]': 'the same for faults, of which one part may have several; p is faults per part',
    'oc_hypergeometric[]': 'for each D: Pa for exactly this lot of N parts (type A)',
    quality_at_Pa_binomial:
      'p accepted with probability 0.95 (producer risk point), 0.50 (indifference), 0.10 (consumer risk point); null if every lot is accepted',
    quality_at_Pa_poisson: 'the same in faults per part, which may exceed 1',
    'hypergeometric_points.largest_D_with_Pa_ge_0_95': 'most bad parts with which the lot is accepted 95 times in 100',
    'hypergeometric_points.smallest_D_with_Pa_le_0_10':
      'fewest bad parts with which it is accepted 10 times in 100 or less; null if there is no such number',
    'aoq_binomial[]':
      'for each p: AOQ, average fraction bad going out, and ATI, average parts inspected in a lot; refused lots are sorted, bad parts replaced',
    aoql_binomial: 'AOQL, the largest AOQ, and the p at which it goes out (null if every part is inspected)',
    aoql_poisson: 'the same with Poisson probabilities, p from 0 to 1',
    sentence: SENTENCE,
  },
  sources: [
    `${SCHILLING}, chapter 5 (types A and B; AOQ, ATI, AOQL)`,
    'Dodge & Romig, "Sampling Inspection Tables", 2nd ed., 1959',
  ],
  example: { kind: 'plan', N: 1000, n: 80, c: 2, p: [0.01, 0.05], D: [10, 64] },
  run: ({ N, n, c, p, D }) => {
    checkSampleOfLot(N, n, { lot: 'N', sample: 'n' });
    for (const [at, bad] of D.entries()) checkBadOfLot(N, bad, `D[${at}]`);
    const plan: AttributesPlan = { n, c };
    const points = lotPoints(plan, N);
    const curve = (model: ProcessModel): object[] => p.map((each) => ({ p: each, Pa: acceptance(plan, each, model) }));
    const worst = (model: ProcessModel): object => {
      const { at, limit } = outgoingLimit(plan, N, model);
      return { p: at, AOQL: limit };
    };
    return {
      oc_binomial: curve('binomial'),
      oc_poisson: curve('poisson'),
      oc_hypergeometric: D.map((bad) => ({ D: bad, Pa: acceptanceInLot(plan, N, bad) })),
      quality_at_Pa_binomial: keyedByPa((pa) => qualityAt(plan, pa, 'binomial')),
      quality_at_Pa_poisson: keyedByPa((pa) => qualityAt(plan, pa, 'poisson')),
      hypergeometric_points: {
        largest_D_with_Pa_ge_0_95: points.mostAccepted,
        smallest_D_with_Pa_le_0_10: points.fewestRefused,
      },
      aoq_binomial: p.map((each) => {
        const { outgoing, inspected } = rectification(plan, N, each, 'binomial');
        return { p: each, AOQ: outgoing, ATI: inspected };
      }),
      aoql_binomial: worst('binomial'),
      aoql_poisson: worst('poisson'),
      sentence: lotSentence(plan, N),
    };
  },
});

export const zeroAcceptanceCalculation = calculation({
  kind: 'zero_acceptance',
  about:
    'Smallest sample without a bad part that is enough. It shows at least one bad part with probability 1 - beta when D parts of the lot of N are bad.',
  input: z.strictObject({
    kind: z.literal('zero_acceptance'),
    N: lotSize('lot size, parts'),
    D: z
      .int()
      .min(0)
      .describe(
        'bad parts, a whole number, in a lot that must be stopped, 1 to N; to prove "at most m bad" it is m + 1',
      ),
    beta: z.number().min(0).lt(1).describe('risk of accepting such a lot, a probability: 0.05 for 95 % confidence'),
  }),
  outputs: {
    n: 'smallest sample size, parts',
    P0_at_n: 'probability that the sample shows no bad part although D are in the lot; beta or less',
    P0_at_n_minus_1: 'the same with one part less; above beta',
    sentence: SENTENCE,
  },
  sources: [`${SCHILLING}, chapter 17 (compliance sampling); hypergeometric distribution`],
  example: { kind: 'zero_acceptance', N: 500, D: 5, beta: 0.1 },
  run: ({ N, D, beta }) => {
    const { n, missed, missedWithOneLess } = zeroAcceptance(N, D, beta, { lot: 'N', bad: 'D' });
    return { n, P0_at_n: missed, P0_at_n_minus_1: missedWithOneLess, sentence: zeroAcceptanceSentence(N, D, n) };
  },
});

export const twoPointCalculation = calculation({
  kind: 'two_point',
  about:
    'Smallest plan that keeps two promises. Lots with fraction aql bad are accepted with probability 1 - alpha or more, lots with ltpd bad with beta or less.',
  input: z.strictObject({
    kind: z.literal('two_point'),
    aql: fraction.describe('fraction bad that should be accepted'),
    alpha: risk("producer's risk at aql"),
    ltpd: fraction.describe('fraction bad that should be refused, above aql'),
    beta: risk("consumer's risk at ltpd"),
    model: z
      .enum(['binomial', 'poisson', 'hypergeometric'])
      .default('binomial')
      .describe('what is counted: bad parts of a process, faults of which a part may have several, one lot of N parts'),
    N: maybeLotSize('lot size, parts; for the hypergeometric model only'),
  }),
  outputs: {
    n: 'sample size, parts',
    c: 'acceptance number',
    Pa_at_aql: 'probability of acceptance at aql, 1 - alpha or more',
    Pa_at_ltpd: 'probability of acceptance at ltpd, beta or less',
    D_at_aql: 'bad parts in the lot taken for aql: aql N rounded down; null without a lot',
    D_at_ltpd: 'bad parts in the lot taken for ltpd: ltpd N rounded up; null without a lot',
    sentence: SENTENCE,
  },
  sources: [
    `${SCHILLING}, chapter 5`,
    'Hailey, "Minimum sample size single sampling plans", Journal of Quality Technology 12 (1980) 230-235',
  ],
  example: { kind: 'two_point', aql: 0.01, alpha: 0.05, ltpd: 0.05, beta: 0.1, model: 'binomial' },
  run: ({ model, N, ...points }) => {
    if (model === 'hypergeometric') {
      if (N === null) throw new QualityError('empty', 'N', 'N is missing; the hypergeometric model wants a lot size');
      const found = twoPointPlanOfLot(points, N);
      const { badAtAql, badAtLtpd } = found;
      return { ...twoPointAnswer(found), D_at_aql: badAtAql, D_at_ltpd: badAtLtpd, sentence: lotSentence(found, N) };
    }
    const found = twoPointPlan(points, model);
    const sentence = processSentence(found, points.aql, model);
    return { ...twoPointAnswer(found), D_at_aql: null, D_at_ltpd: null, sentence };
  },
});

const twoPointAnswer = (plan: AttributesPlan & { readonly atAql: number; readonly atLtpd: number }): object => ({
  n: plan.n,
  c: plan.c,
  Pa_at_aql: plan.atAql,
  Pa_at_ltpd: plan.atLtpd,
});

export const auditCalculation = calculation({
  kind: 'audit',
  about:
    'What a fixed number of parts, none of which may be bad, lets through. A few parts watch a process; they do not judge a lot.',
  input: z.strictObject({
    kind: z.literal('audit'),
    n: z.int().min(1).max(LARGEST_LOT).describe('parts checked, whatever the lot size'),
    p: fraction.default(0.1).describe('fraction bad to answer for'),
  }),
  outputs: { Pa: 'probability that no bad part is found although the fraction p is bad', sentence: SENTENCE },
  sources: ['binomial distribution, (1 - p)^n'],
  example: { kind: 'audit', n: 5, p: 0.1 },
  run: ({ n, p }) => ({ Pa: acceptance({ n, c: 0 }, p, 'binomial'), sentence: auditSentence(n, p) }),
});
