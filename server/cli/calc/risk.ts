import * as z from 'zod';
import { conformance, conformanceWithPrior, priorOf } from '../../quality/risk/conformance.ts';
import type { PosteriorConformance } from '../../quality/risk/conformance.ts';
import { decisionRisk } from '../../quality/risk/decision-risk.ts';
import {
  guardBandForConsumerRisk,
  guardBandForProcess,
  guardBandForResult,
  guardBandsForResultWithPrior,
} from '../../quality/risk/guard-band.ts';
import type { Split } from '../../quality/risk/normal-interval.ts';
import { budgetCalculation } from './risk-budget.ts';
import { calculation, limit } from './topic.ts';
import type { Topic } from './topic.ts';

const measurement = {
  u: z.number().min(0).describe('standard uncertainty of measurement (not the expanded one), unit of the limits'),
  L: limit('lower tolerance limit; null = none'),
  U: limit('upper tolerance limit; null = none'),
};
const processMean = 'mean of the true values of the process';
const processSd = 'standard deviation of the true values of the process, without the spread of measuring';
const JCGM = 'JCGM 106:2012';

const conformanceCalculation = calculation({
  kind: 'conformance',
  about: 'How probably a measured part conforms. With mu0 and sigma0 also after what is known of the process.',
  input: z.strictObject({
    kind: z.literal('conformance'),
    y: z.number().describe('measured value'),
    ...measurement,
    mu0: limit(`${processMean}; null = not known`),
    sigma0: z.number().min(0).nullable().default(null).describe(`${processSd}; null = not known`),
  }),
  outputs: {
    p_conform: 'probability that the true value lies within the limits, 0 to 1',
    p_below: 'that it lies below L; 0 without L',
    p_above: 'that it lies above U; 0 without U',
    with_prior:
      'the same with the process known; null without mu0 and sigma0, or when u and sigma0 are 0 and y is not mu0',
    'with_prior.posterior_mean': 'best estimate of the true value',
    'with_prior.posterior_sd': 'its standard uncertainty',
    'with_prior.p_conform': 'probability that the true value lies within the limits, 0 to 1',
    'with_prior.p_below': 'that it lies below L',
    'with_prior.p_above': 'that it lies above U',
  },
  sources: [`${JCGM}, clause 7 (conformance probability) and 6.2 (prior knowledge); clauses from memory`],
  example: { kind: 'conformance', y: 100.8, u: 0.25, L: 99, U: 101, mu0: 100, sigma0: 0.4 },
  run: ({ y, u, L, U, mu0, sigma0 }) => {
    const measured = { value: y, u };
    const tolerance = { lower: L, upper: U };
    const prior = priorOf(mu0, sigma0);
    const after = prior === null ? null : conformanceWithPrior(measured, prior, tolerance);
    return { ...splitAnswer(conformance(measured, tolerance)), with_prior: after && posteriorAnswer(after) };
  },
});

const splitAnswer = ({ within, below, above }: Split): object => ({
  p_conform: within,
  p_below: below,
  p_above: above,
});

const posteriorAnswer = ({ mean, sd, ...split }: PosteriorConformance): object => ({
  posterior_mean: mean,
  posterior_sd: sd,
  ...splitAnswer(split),
});

const globalCalculation = calculation({
  kind: 'global',
  about:
    'What a process and a test decide together: how often a bad part is accepted and a good one rejected. Acceptance limits lie w inside the tolerance limits.',
  input: z.strictObject({
    kind: z.literal('global'),
    mu0: z.number().describe(processMean),
    sigma0: z.number().min(0).describe(processSd),
    ...measurement,
    w: z.number().default(0).describe('guard band, moves each acceptance limit inwards; negative: outwards'),
  }),
  outputs: {
    global_consumer_risk: 'P(bad and accepted): share of all parts that are nonconforming and accepted, 0 to 1',
    global_producer_risk: 'P(good and rejected): share of all parts that are conforming and rejected',
    P_accept: 'share of all parts that are accepted',
    P_nonconforming: 'share of all parts that are nonconforming, accepted or not',
    P_nonconforming_given_accepted: 'share of the accepted parts that are nonconforming; null if none is accepted',
    P_accepted_given_nonconforming: 'share of the nonconforming parts that are accepted; null if there are none',
    P_conforming_given_rejected: 'share of the rejected parts that are conforming; null if none is rejected',
    acceptance_lower: 'L + w; null without L. Above acceptance_upper: nothing is accepted',
    acceptance_upper: 'U - w; null without U',
  },
  sources: [`${JCGM}, clause 9 (consumer's and producer's risks), 8.3 (guard bands); clauses from memory`],
  example: { kind: 'global', mu0: 1500, sigma0: 0.12, u: 0.04, L: 1499.8, U: 1500.2, w: 0.04 },
  run: ({ mu0, sigma0, u, L, U, w }) => {
    const risk = decisionRisk({ process: { mean: mu0, sd: sigma0 }, u, tolerance: { lower: L, upper: U } }, w);
    return {
      global_consumer_risk: risk.consumerRisk,
      global_producer_risk: risk.producerRisk,
      P_accept: risk.accepted,
      P_nonconforming: risk.nonconforming,
      P_nonconforming_given_accepted: risk.nonconformingGivenAccepted,
      P_accepted_given_nonconforming: risk.acceptedGivenNonconforming,
      P_conforming_given_rejected: risk.conformingGivenRejected,
      acceptance_lower: risk.acceptance.lower,
      acceptance_upper: risk.acceptance.upper,
    };
  },
});

const guardBandCalculation = calculation({
  kind: 'guard_band',
  about:
    'How far inside the tolerance limits to accept, so that a risk stays at or below max_probability: four meanings of that risk. A single result to be sure of: pointwise. Parts shipped: global_conditional. The consumer’s risk of a process as JCGM 106 defines it: global_joint. 0 = no guard band needed, null = none between the limits is enough, or mu0 and sigma0 are missing.',
  input: z.strictObject({
    kind: z.literal('guard_band'),
    mu0: limit(`${processMean}; null = not known`),
    sigma0: z.number().min(0).nullable().default(null).describe(`${processSd}; null = not known`),
    ...measurement,
    max_probability: z.number().gt(0).lt(1).default(0.05).describe('largest risk wanted, above 0 and below 1'),
  }),
  outputs: {
    pointwise_no_prior:
      'for single results, process not known: a value measured exactly on the acceptance limit is nonconforming (beyond either limit) with max_probability; same w at both limits',
    pointwise_with_prior: 'for single results of the known process, per limit; null without mu0 and sigma0',
    'pointwise_with_prior.upper': 'w below U; null also without U',
    'pointwise_with_prior.lower': 'w above L; null also without L',
    global_conditional:
      'for the process as a whole: of the accepted parts a share of max_probability is nonconforming; same w at both limits; null also without mu0 and sigma0',
    global_joint:
      "the consumer's risk of the process: of all parts made a share of max_probability is nonconforming and accepted; same w at both limits; null also without mu0 and sigma0",
  },
  sources: [
    `${JCGM}, 8.3 (guard bands), clause 7 (conformance probability), clause 9 (risks of a process); clauses from memory`,
  ],
  example: { kind: 'guard_band', mu0: 0, sigma0: 1.2, u: 0.3, L: -1, U: 1, max_probability: 0.05 },
  run: ({ mu0, sigma0, u, L, U, max_probability }) => {
    const tolerance = { lower: L, upper: U };
    const process = priorOf(mu0, sigma0);
    const decision = process && { process, u, tolerance };
    return {
      pointwise_no_prior: guardBandForResult(u, tolerance, max_probability),
      pointwise_with_prior: decision && guardBandsForResultWithPrior(decision, max_probability),
      global_conditional: decision && guardBandForProcess(decision, max_probability),
      global_joint: decision && guardBandForConsumerRisk(decision, max_probability),
    };
  },
});

/** `barolot calc risk`: what measurement uncertainty does to decisions, and where that uncertainty comes from. */
export const riskTopic: Topic = {
  name: 'risk',
  about: 'measurement uncertainty and decisions: conformance probability, risks, guard bands, uncertainty budget',
  selectBy: 'kind',
  calculations: [conformanceCalculation, globalCalculation, guardBandCalculation, budgetCalculation],
};
