import * as z from 'zod';
import { variablesSentence } from './plan-sentence.ts';
import { variablesAcceptance, variablesDecision, variablesQualityAt } from '../../quality/sampling/variables-plan.ts';
import { SENTENCE } from './sampling-attributes.ts';
import { calculation, limit, numbers } from './topic.ts';

const LIEBERMAN =
  'Lieberman & Resnikoff, "Sampling plans for inspection by variables", Journal of the American Statistical Association 50 (1955) 457-516';

export const variablesOcCalculation = calculation({
  kind: 'variables_oc',
  about:
    'What a plan by variables does. Standard deviation unknown, one limit, k method: accept if the mean keeps k sample standard deviations from the limit.',
  input: z.strictObject({
    kind: z.literal('variables_oc'),
    n: z.int().min(2).max(1_000_000).describe('sample size, parts'),
    k: z.number().describe('acceptability constant, in standard deviations'),
    p: z.array(z.number().min(0).max(1)).default([]).describe('fractions beyond the limit to answer for, each 0 to 1'),
  }),
  outputs: {
    'oc[]': 'for each p: Pa, probability that the lot is accepted if the values are normally distributed',
    p_at_Pa: 'p accepted with probability 0.95 (producer risk point), 0.50 (indifference), 0.10 (consumer risk point)',
    sentence: SENTENCE,
  },
  sources: [LIEBERMAN, 'MIL-STD-414 Form 1; ISO 3951-1, s method'],
  example: { kind: 'variables_oc', n: 10, k: 1.72, p: [0.01, 0.05] },
  run: ({ n, k, p }) => {
    const plan = { n, k };
    return {
      oc: p.map((each) => ({ p: each, Pa: variablesAcceptance(plan, each) })),
      p_at_Pa: Object.fromEntries([0.95, 0.5, 0.1].map((pa) => [pa.toFixed(2), variablesQualityAt(plan, pa)])),
      sentence: variablesSentence(plan),
    };
  },
});

export const variablesDecisionCalculation = calculation({
  kind: 'variables_decision',
  about:
    'Whether the readings of a sample are accepted by a plan by variables. Each limit given is judged on its own with the same k.',
  input: z.strictObject({
    kind: z.literal('variables_decision'),
    values: numbers('readings of the sample, one a part, any one unit'),
    usl: limit('upper specification limit, unit of the values; null when there is none'),
    lsl: limit('lower specification limit, unit of the values; null when there is none'),
    k: z.number().describe('acceptability constant, in standard deviations'),
  }),
  outputs: {
    mean: 'mean, unit of the values',
    sd: 'standard deviation, divisor n - 1, unit of the values; null for one reading',
    Q_upper: '(usl - mean) / sd; null without the limit or without a spread',
    Q_lower: '(mean - lsl) / sd; null without the limit or without a spread',
    accept:
      'whether every Q is at least k; null if readings within the limits show no spread, so that nothing can be said',
    sentence: 'what a plan with this n and k lets through, in one plain sentence; null for one reading',
  },
  sources: [
    LIEBERMAN,
    'MIL-STD-414 Form 1; ISO 3951-1, s method (two limits: separate control, not the combined method)',
  ],
  example: { kind: 'variables_decision', values: [0.21, 0.25, 0.19, 0.3, 0.22], usl: 0.4, lsl: null, k: 1.53 },
  run: ({ values, usl, lsl, k }) => {
    const { n, mean, sd, qUpper, qLower, accept } = variablesDecision(values, lsl, usl, k);
    const sentence = n < 2 ? null : variablesSentence({ n, k });
    return { mean, sd, Q_upper: qUpper, Q_lower: qLower, accept, sentence };
  },
});
