import { checkRange, checkWhole } from '../checks.ts';
import { checkSampleOfLot } from './lot-checks.ts';
import { acceptance, acceptanceInLot, checkPlan, lotPoints } from './operating-characteristic.ts';
import type { AttributesPlan } from './operating-characteristic.ts';
import { variablesQualityAt } from './variables-plan.ts';
import type { VariablesPlan } from './variables-plan.ts';

/**
 * What a plan lets through, as a code with its facts that one sentence can be made of: what it nearly always accepts, and how
 * bad a lot must be to be stopped nine times in ten (consumer's risk 0.10). Choice of this project. Probabilities and shares
 * are fractions.
 */
export interface PlanMisses {
  readonly code:
    | 'accepts-all'
    | 'whole-lot'
    | 'lot'
    | 'whole-lot-none-bad'
    | 'none-bad'
    | 'variables-all'
    | 'variables-none'
    | 'variables'
    | 'process-audit';
  readonly facts: Readonly<Record<string, number>>;
}

/** As many bad parts are allowed as are inspected. */
export const ACCEPTS_ALL: PlanMisses = { code: 'accepts-all', facts: {} };

/**
 * A plan applied to one lot, counted exactly (hypergeometric). Facts of `lot`: parts of the lot, `few` bad ones and how
 * probably it is accepted with them, `bad` ones with which it is stopped.
 *
 * @throws QualityError `not-whole`, `not-finite`, `out-of-range`, `beyond-lot`
 */
export function lotMisses(plan: AttributesPlan, lot: number): PlanMisses {
  checkPlan(plan);
  checkSampleOfLot(lot, plan.n);
  if (plan.c >= plan.n) return ACCEPTS_ALL;
  if (plan.n === lot) return { code: 'whole-lot', facts: { c: plan.c } };
  const { mostAccepted, fewestRefused } = lotPoints(plan, lot);
  // That a lot without a bad part is accepted says nothing; then one bad part is spoken of.
  const few = Math.max(1, mostAccepted);
  // With c below n, a lot that is all bad is always refused.
  const bad = fewestRefused ?? lot;
  return { code: 'lot', facts: { lot, few, accepted: acceptanceInLot(plan, lot, few), bad } };
}

/** A sample of `n` that may show no bad part, against the lot with `bad` ones for which it was chosen. */
export function zeroAcceptanceMisses(lot: number, bad: number, n: number): PlanMisses {
  const missed = acceptanceInLot({ n, c: 0 }, lot, bad);
  return n === lot ? { code: 'whole-lot-none-bad', facts: {} } : { code: 'none-bad', facts: { n, lot, bad, missed } };
}

/** A fraction that no sample will ever show. */
const NEXT_TO_NOTHING = 1e-9;

/** A plan by variables for one limit, by the share beyond it that is accepted 95 times in 100, and 10 times. */
export function variablesMisses(plan: VariablesPlan): PlanMisses {
  const usual = variablesQualityAt(plan, 0.95);
  const stopped = variablesQualityAt(plan, 0.1);
  if (usual > 1 - NEXT_TO_NOTHING) return { code: 'variables-all', facts: {} };
  if (stopped < NEXT_TO_NOTHING) return { code: 'variables-none', facts: {} };
  return { code: 'variables', facts: { usual, stopped } };
}

/**
 * A fixed number of parts checked whatever the lot, none of which may be bad: what it lets through shows that it watches a
 * process and does not judge a lot.
 *
 * @param share fraction bad to speak of
 * @throws QualityError `not-whole`, `not-finite`, `out-of-range`
 */
export function auditMisses(n: number, share = 0.1): PlanMisses {
  checkWhole(n, 'n', 1);
  checkRange(share, 'p', 0, 1);
  return { code: 'process-audit', facts: { n, share, missed: acceptance({ n, c: 0 }, share, 'binomial') } };
}
