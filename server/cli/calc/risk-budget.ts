import * as z from 'zod';
import { positionOf, uncertaintyBudget } from '../../quality/risk/uncertainty-budget.ts';
import type { Contribution } from '../../quality/risk/uncertainty-budget.ts';
import { calculation } from './topic.ts';

const contribution = z.strictObject({
  name: z.string().min(1),
  type: z.enum(['A', 'B']),
  value: z.number().min(0),
  distribution: z.enum(['normal', 'rectangular', 'triangular', 'arcsine']).default('normal'),
  coverage_factor: z.number().positive().optional(),
  sensitivity: z.number().default(1),
  df: z.number().positive().nullable().default(null),
});

const input = z.strictObject({
  kind: z.literal('budget'),
  contributions: z
    .array(contribution)
    .describe(
      'lines of the budget. value: for normal the standard uncertainty, or an expanded one with its coverage_factor (else 1), for rectangular, triangular and arcsine (U-shaped) the half-width; unit of the input. sensitivity: change of the result per unit of the input (left out: 1). df: degrees of freedom, null or left out = infinite',
    ),
  correlations: z
    .array(z.strictObject({ first: z.string(), second: z.string(), r: z.number().min(-1).max(1) }))
    .default([])
    .describe('correlated pairs, by name; pairs not listed are independent'),
  coverage_probability: z
    .number()
    .gt(0)
    .lt(1)
    .default(0.95)
    .describe('probability the expanded uncertainty is to cover'),
});

type Line = z.infer<typeof contribution>;

/** `barolot calc risk`, kind `budget`: where the u of the other kinds comes from. */
export const budgetCalculation = calculation({
  kind: 'budget',
  about:
    'Uncertainty budget: combines contributions into the standard uncertainty u that the other kinds ask for, and expands it.',
  input,
  outputs: {
    'contributions[].name': 'as given',
    'contributions[].type': 'A: from repeated observations, B: from anything else',
    'contributions[].divisor': 'what the value was divided by: its coverage factor, root 3, root 6 or root 2',
    'contributions[].u': 'standard uncertainty, unit of the input',
    'contributions[].contribution': 'sensitivity times u, unit of the result',
    'contributions[].df': 'degrees of freedom; null = infinite',
    'contributions[].share_percent':
      'share of the combined variance, percent; with correlations half of each covariance included, so it may be negative',
    combined_standard_uncertainty: 'u of the result',
    effective_df:
      'effective degrees of freedom; null = infinite when coverage_from is "normal", undefined when that is null (correlated contributions of finite degrees of freedom)',
    coverage_from: '"t", "normal", or null (undefined)',
    coverage_factor: 'k for the coverage probability at the effective degrees of freedom as they are',
    expanded_uncertainty: 'U = k u',
    'truncated.df': 'effective degrees of freedom cut to the next lower whole number, the cautious way',
    'truncated.coverage_factor': 'k for those',
    'truncated.expanded_uncertainty': 'U with that k',
  },
  sources: [
    'JCGM 100:2008 (GUM), 4.3 (type B), 5.1.2 eq. 10, 5.2.2 eq. 16 (correlations), G.4.1 eq. G.2b (effective degrees of freedom), G.6.4 (truncation)',
  ],
  example: {
    kind: 'budget',
    contributions: [
      { name: 'reference', type: 'B', value: 0.02, coverage_factor: 2 },
      { name: 'repeatability', type: 'A', value: 0.008, df: 9 },
      { name: 'resolution', type: 'B', value: 0.005, distribution: 'rectangular' },
    ],
  },
  run: ({ contributions, correlations, coverage_probability }) => {
    const given = contributions.map(contributionOf);
    const budget = uncertaintyBudget(
      given,
      correlations.map(({ first, second, r }, at) => ({
        between: [
          positionOf(first, given, `correlations[${at}].first`),
          positionOf(second, given, `correlations[${at}].second`),
        ],
        r,
      })),
      coverage_probability,
    );
    return {
      contributions: budget.lines.map(({ sharePercent, ...line }) => ({ ...line, share_percent: sharePercent })),
      combined_standard_uncertainty: budget.combined,
      effective_df: budget.effectiveDf,
      coverage_from: budget.coverageFrom,
      coverage_factor: budget.expanded.coverageFactor,
      expanded_uncertainty: budget.expanded.expandedUncertainty,
      truncated: {
        df: budget.cautious.df,
        coverage_factor: budget.cautious.coverageFactor,
        expanded_uncertainty: budget.cautious.expandedUncertainty,
      },
    };
  },
});

const contributionOf = ({ distribution, coverage_factor, ...line }: Line): Contribution => ({
  ...line,
  spread: distribution,
  coverageFactor: coverage_factor ?? 1,
});
