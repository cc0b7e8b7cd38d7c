import * as z from 'zod';
import { individualsCapability, subgroupsCapability } from '../../quality/capability/capability.ts';
import type { Capability, SpreadCapability } from '../../quality/capability/capability.ts';
import { overallBounds, pooledBounds } from '../../quality/capability/capability-bounds.ts';
import type { Interval } from '../../quality/capability/capability-bounds.ts';
import type { CapabilityIndices, Limits } from '../../quality/capability/capability-indices.ts';
import { lognormalCapability, weibullCapability } from '../../quality/capability/fitted-capability.ts';
import type { FittedCapability } from '../../quality/capability/fitted-capability.ts';
import {
  FEWEST_NOT_NORMAL,
  nonNormalClaim,
  percentileCapability,
} from '../../quality/capability/percentile-capability.ts';
import { calculation, limit, numbers } from './topic.ts';
import type { Topic } from './topic.ts';

const capability = calculation({
  kind: null,
  about:
    'Capability of one characteristic against its limits: indices from the spread within subgroups and from the overall spread, how far they can be trusted, expected and observed fractions beyond the limits; for skewed values also by fitted distributions and by percentiles.',
  input: z
    .strictObject({
      values: numbers('single values in the order they were made; or subgroups').optional(),
      subgroups: z.array(z.array(z.number())).optional().describe('rational subgroups in their order; or values'),
      lsl: limit('lower specification limit, unit of the values; null: none'),
      usl: limit('upper specification limit, unit of the values; null: none'),
      confidence: z.number().gt(0).lt(1).default(0.95).describe('of the bounds, 0.95 for 95 %'),
    })
    .refine(({ values, subgroups }) => (values === undefined) !== (subgroups === undefined), {
      path: ['values'],
      message: 'either values or subgroups wanted',
    }),
  outputs: {
    n: 'number of values',
    mean: 'mean of all values, their unit',
    sd_overall: 'standard deviation of all values, divisor n - 1',
    'sd_within.pooled': 'root of the pooled variance of the subgroups; null for single values',
    'sd_within.pooled_c4_unbiased': 'the same over c4(df + 1)',
    'sd_within.rbar_d2': 'mean range over d2; subgroups of one size only',
    'sd_within.moving_range_d2': 'mean moving range of two over d2(2); single values only',
    'Cp_Cpk.<sd_within>':
      'Cp, CPU, CPL, Cpk by that spread within; Cpk is the smaller of CPU and CPL. Null without the limit or the spread',
    Pp_Ppk: 'Pp, PPU, PPL, Ppk by the overall spread',
    ci: 'bounds of the indices; null without a spread',
    'ci.confidence': 'as asked',
    'ci.Pp': '[lower, upper], exact (chi-square)',
    'ci.Ppk_normal_approx': '[lower, upper], normal approximation',
    'ci.Ppk_exact_one_sided_lower': 'safe lower bound of Ppk: that of the nearer side',
    'ci.PPU_exact_one_sided_lower': 'exact lower bound (noncentral t), all of the doubt on this side',
    'ci.PPU_exact_two_sided': '[lower, upper], exact (noncentral t)',
    'ci.PPL_exact_one_sided_lower': 'as for PPU',
    'ci.PPL_exact_two_sided': 'as for PPU',
    'ci.df_pooled': 'degrees of freedom of the pooled spread, sum of (size - 1); null for single values',
    'ci.Cp_pooled': '[lower, upper], exact (chi-square), of Cp by the pooled spread',
    'ci.Cpk_pooled_normal_approx': '[lower, upper], normal approximation',
    'ci.Cpk_pooled_exact_one_sided_lower': 'safe lower bound of Cpk: that of the nearer side',
    'ci.CPU_pooled_exact_one_sided_lower': 'exact lower bound (noncentral t)',
    'ci.CPL_pooled_exact_one_sided_lower': 'exact lower bound (noncentral t)',
    'expected_fraction_out.<sd>':
      'below, above, total: fractions (0..1) of a normal process beyond the limits, by the named spread',
    observed: 'count_below, count_above: values strictly beyond a limit; fraction_out: their fraction (0..1)',
    nonnormal: 'whether an index by a fitted distribution or by percentiles may be reported',
    'nonnormal.claimable': `true from ${FEWEST_NOT_NORMAL} values on`,
    'nonnormal.reason': 'why not, or null',
    lognormal_mle: 'lognormal fit by maximum likelihood; null for values not all above 0, or all equal',
    'lognormal_mle.meanlog': 'mean of ln(value)',
    'lognormal_mle.sdlog': 'standard deviation of ln(value), divisor n',
    'lognormal_mle.loglik': 'log-likelihood; the larger of two fits is the better',
    'lognormal_mle.x_0.00135': 'percentiles x_0.00135, x_0.5, x_0.99865, unit of the values',
    'lognormal_mle.Pp': 'percentile indices Pp, Ppu, Ppl, Ppk',
    'lognormal_mle.expected_fraction_below': 'expected fractions (0..1) beyond each limit, and their sum',
    weibull_mle: 'Weibull fit by maximum likelihood: shape, scale (unit of the values); the rest as for lognormal_mle',
    percentile_method: `percentiles of the values themselves and indices; null below ${FEWEST_NOT_NORMAL} values`,
    'percentile_method.tails_reached':
      'false: too few values for the outer percentiles, which are the smallest and the largest value; the indices look too good',
  },
  sources: [
    'Indices: ISO 22514-2; Kane, Journal of Quality Technology 18 (1986) 41-52. Within: Cp, Cpk; overall: Pp, Ppk.',
    'Spread within: ISO 7870-2; ASTM E2587.',
    'Bounds: Cp and Pp chi-square (Kane 1986); Cpk and Ppk normal approximation c -/+ z sqrt(1/(9 n) + c^2/(2 df)) (Bissell, Applied Statistics 39 (1990) 331-340); one-sided indices noncentral t (Chou, Owen & Borrego, Journal of Quality Technology 22 (1990) 223-229).',
    'Lower bound of Ppk: the exact one of the nearer side, conservative when both limits are near (Kushler & Hurley, Journal of Quality Technology 24 (1992) 188-195).',
    'Percentile indices: ISO 22514-2; sample percentiles: definition 8 of Hyndman & Fan, The American Statistician 50 (1996) 361-365.',
    'Fits: Lawless, Statistical Models and Methods for Lifetime Data, 2nd ed., chapter 5.',
  ],
  example: {
    subgroups: [
      [4.02, 4.01, 4.03],
      [4.0, 4.02, 4.04],
      [4.01, 4.03, 4.02],
    ],
    lsl: 3.9575,
    usl: 4.0925,
  },
  run: ({ values, subgroups, lsl, usl, confidence }) => {
    const limits = { lsl, usl };
    const all = values ?? (subgroups ?? []).flat();
    const found =
      values === undefined ? subgroupsCapability(subgroups ?? [], limits) : individualsCapability(values, limits);
    return { ...normalAnswer(found, confidence), ...nonNormalAnswer(all, limits) };
  },
});

/** Topic `capability`: process capability and performance. */
export const capabilityTopic: Topic = {
  name: 'capability',
  about: 'Cp, Cpk, Pp, Ppk with bounds and expected fractions; by fitted distributions and percentiles',
  selectBy: null,
  calculations: [capability],
};

function normalAnswer(found: Capability, confidence: number): object {
  const { pooled, pooledUnbiased, meanRange, movingRange } = found.within;
  const fraction = (spread: SpreadCapability | null): object | null => spread?.fractionOutside ?? null;
  const sd = (spread: SpreadCapability | null): number | null => spread?.sd ?? null;
  const overall = found.overall?.indices ?? null;
  return {
    n: found.n,
    mean: found.mean,
    sd_overall: sd(found.overall),
    sd_within: {
      pooled: sd(pooled),
      pooled_c4_unbiased: sd(pooledUnbiased),
      rbar_d2: sd(meanRange),
      moving_range_d2: sd(movingRange),
    },
    Cp_Cpk: {
      pooled: within(pooled),
      pooled_c4_unbiased: within(pooledUnbiased),
      rbar_d2: within(meanRange),
      moving_range_d2: within(movingRange),
    },
    Pp_Ppk: {
      Pp: overall?.both ?? null,
      PPU: overall?.upper ?? null,
      PPL: overall?.lower ?? null,
      Ppk: overall?.nearer ?? null,
    },
    ci: boundsAnswer(found, confidence),
    expected_fraction_out: {
      overall: fraction(found.overall),
      pooled: fraction(pooled),
      pooled_c4_unbiased: fraction(pooledUnbiased),
      rbar_d2: fraction(meanRange),
      moving_range_d2: fraction(movingRange),
    },
    observed: {
      count_below: found.observed.countBelow,
      count_above: found.observed.countAbove,
      fraction_out: found.observed.fraction,
    },
  };
}

function within(spread: SpreadCapability | null): object | null {
  if (spread === null) return null;
  const { both, upper, lower, nearer } = spread.indices;
  return { Cp: both, CPU: upper, CPL: lower, Cpk: nearer };
}

function boundsAnswer(found: Capability, confidence: number): object | null {
  const overall = overallBounds(found, confidence);
  if (overall === null) return null;
  const pooled = pooledBounds(found, confidence);
  return {
    confidence,
    Pp: pair(overall.both),
    Ppk_normal_approx: pair(overall.nearerApproximate),
    Ppk_exact_one_sided_lower: overall.nearerAtLeast,
    PPU_exact_one_sided_lower: overall.upperAtLeast,
    PPU_exact_two_sided: pair(overall.upper),
    PPL_exact_one_sided_lower: overall.lowerAtLeast,
    PPL_exact_two_sided: pair(overall.lower),
    df_pooled: found.pooledDf,
    Cp_pooled: pair(pooled?.both ?? null),
    Cpk_pooled_normal_approx: pair(pooled?.nearerApproximate ?? null),
    Cpk_pooled_exact_one_sided_lower: pooled?.nearerAtLeast ?? null,
    CPU_pooled_exact_one_sided_lower: pooled?.upperAtLeast ?? null,
    CPL_pooled_exact_one_sided_lower: pooled?.lowerAtLeast ?? null,
  };
}

const pair = (interval: Interval | null): readonly [number, number] | null =>
  interval === null ? null : [interval.lower, interval.upper];

function nonNormalAnswer(all: readonly number[], limits: Limits): object {
  const lognormal = lognormalCapability(all, limits);
  const weibull = weibullCapability(all, limits);
  const byPercentiles = all.length < FEWEST_NOT_NORMAL ? null : percentileCapability(all, limits);
  return {
    nonnormal: nonNormalClaim(all.length),
    lognormal_mle:
      lognormal === null ? null : { meanlog: lognormal.meanLog, sdlog: lognormal.sdLog, ...fitted(lognormal) },
    weibull_mle: weibull === null ? null : { shape: weibull.shape, scale: weibull.scale, ...fitted(weibull) },
    percentile_method:
      byPercentiles === null ? null : { ...percentileNames(byPercentiles), tails_reached: byPercentiles.tailsReached },
  };
}

function fitted(fit: FittedCapability): object {
  const { below, above, total } = fit.fractionOutside;
  return {
    loglik: fit.logLikelihood,
    ...percentileNames(fit),
    expected_fraction_below: below,
    expected_fraction_above: above,
    expected_fraction_total: total,
  };
}

function percentileNames(by: {
  readonly x00135: number;
  readonly x50: number;
  readonly x99865: number;
  readonly indices: CapabilityIndices;
}): object {
  const { both, upper, lower, nearer } = by.indices;
  return {
    'x_0.00135': by.x00135,
    'x_0.5': by.x50,
    'x_0.99865': by.x99865,
    Pp: both,
    Ppu: upper,
    Ppl: lower,
    Ppk: nearer,
  };
}
