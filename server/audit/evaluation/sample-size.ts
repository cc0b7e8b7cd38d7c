import { auditMisses, lotMisses, variablesMisses, zeroAcceptanceMisses } from '../../quality/sampling/plan-misses.ts';
import { zeroAcceptance } from '../../quality/sampling/zero-acceptance.ts';
import type { PlanMisses, SamplingPlan } from './contract.ts';

/**
 * How many parts of a lot a plan asks for. A plan without acceptance takes the smallest sample that shows a bad part with
 * its confidence when so many of the lot are bad (hypergeometric; see `zeroAcceptance`): never more than the lot. The other
 * plans ask for their number, whatever the lot.
 *
 * @param lotSize parts of the lot that passed, 1 or more
 * @throws QualityError `out-of-range`, `not-whole` (lot size)
 */
export function sampleSizeOf(plan: SamplingPlan, lotSize: number): number {
  if (plan.kind !== 'zero-acceptance') return plan.n;
  return zeroAcceptance(lotSize, fewestBadOf(plan, lotSize), 1 - plan.confidence).n;
}

/** Bad parts of a lot that the plan is to refuse: rounded up, one at least. */
export const fewestBadOf = ({ badShare }: { readonly badShare: number }, lotSize: number): number =>
  Math.min(lotSize, Math.max(1, Math.ceil(badShare * lotSize - 1e-9)));

/**
 * What the plan lets through.
 *
 * @throws QualityError `beyond-lot` for a plan by attributes that asks for more parts than the lot has, `out-of-range`
 */
export function missesOf(plan: SamplingPlan, lotSize: number): PlanMisses {
  switch (plan.kind) {
    case 'zero-acceptance':
      return zeroAcceptanceMisses(lotSize, fewestBadOf(plan, lotSize), sampleSizeOf(plan, lotSize));
    case 'attributes':
      return lotMisses({ n: plan.n, c: plan.c }, lotSize);
    case 'variables':
      return variablesMisses({ n: plan.n, k: plan.k });
    case 'fixed':
      return auditMisses(plan.n);
  }
}
