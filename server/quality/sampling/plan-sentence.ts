import { checkRange, checkWhole } from '../checks.ts';
import { checkSampleOfLot } from './lot-checks.ts';
import { acceptance, acceptanceInLot, checkPlan, lotPoints, qualityAt } from './operating-characteristic.ts';
import type { AttributesPlan, ProcessModel } from './operating-characteristic.ts';
import { variablesQualityAt } from './variables-plan.ts';
import type { VariablesPlan } from './variables-plan.ts';

/**
 * What a plan lets through, each in one plain sentence that can stand beside its numbers: what it nearly always accepts, and
 * how bad a lot must be to be stopped nine times in ten (consumer's risk 0.10). Choice and wording of this project.
 */

/** A plan applied to one lot, counted exactly (hypergeometric). */
export function lotSentence(plan: AttributesPlan, lot: number): string {
  checkPlan(plan);
  checkSampleOfLot(lot, plan.n);
  if (plan.c >= plan.n) return ACCEPTS_ALL;
  if (plan.n === lot) return `Every part of the lot is inspected; it is accepted with at most ${plan.c} bad.`;
  const { mostAccepted, fewestRefused } = lotPoints(plan, lot);
  // That a lot without a bad part is accepted says nothing; then one bad part is spoken of.
  const few = Math.max(1, mostAccepted);
  const passed = outOf100(acceptanceInLot(plan, lot, few));
  const first = `Of lots of ${lot} with ${few} bad (${percent(few / lot)}), this plan accepts ${passed}`;
  // With c below n, a lot that is all bad is always refused.
  const bad = fewestRefused ?? lot;
  return `${first}; ${bad} must be bad (${percent(bad / lot)}) to be stopped 9 times in 10 (exactly this lot, hypergeometric).`;
}

/** A plan for a process with fraction `p` bad, usually its AQL; `p` null takes what is accepted 95 times in 100. */
export function processSentence(plan: AttributesPlan, p: number | null, model: ProcessModel): string {
  checkPlan(plan);
  const stopped = qualityAt(plan, 0.1, model);
  const usual = p ?? qualityAt(plan, 0.95, model);
  if (stopped === null || usual === null) return ACCEPTS_ALL;
  // From 10 in 100 on, faults are not much like bad parts: a part may have several.
  const share = (fraction: number): string =>
    model === 'poisson' && stopped >= 0.1
      ? `${figures(100 * fraction)} faults in 100 parts`
      : `${percent(fraction)} bad`;
  const first = `Of lots with ${share(usual)}, this plan accepts ${outOf100(acceptance(plan, usual, model))}`;
  return `${first}; a lot must have ${share(stopped)} to be stopped 9 times in 10 (lots of a process, ${model === 'poisson' ? 'Poisson' : model}).`;
}

/** A sample that may show no bad part, against the lot for which it was chosen. */
export function zeroAcceptanceSentence(lot: number, bad: number, n: number): string {
  const missed = acceptanceInLot({ n, c: 0 }, lot, bad);
  if (n === lot) return 'Every part of the lot is inspected; it is accepted only without a bad one.';
  return `With no bad part allowed among ${n}, a lot of ${lot} with ${bad} bad (${percent(bad / lot)}) is accepted in ${inTrials(missed)}.`;
}

/** A plan by variables for one limit, by what it accepts 95 times in 100. */
export function variablesSentence(plan: VariablesPlan): string {
  const usual = variablesQualityAt(plan, 0.95);
  const stopped = variablesQualityAt(plan, 0.1);
  if (usual > 1 - NEXT_TO_NOTHING) return 'This plan accepts nearly every lot of normally distributed values.';
  if (stopped < NEXT_TO_NOTHING) return 'This plan refuses nearly every lot of normally distributed values.';
  const first = `Of lots with ${percent(usual)} beyond the limit, this plan accepts 95 of 100`;
  return `${first}; a lot must have ${percent(stopped)} to be stopped 9 times in 10, if the values are normally distributed.`;
}

/** A fraction that no sample will ever show. */
const NEXT_TO_NOTHING = 1e-9;

/**
 * A fixed number of parts checked whatever the lot, none of which may be bad: what it lets through shows that it watches a
 * process and does not judge a lot.
 *
 * @param p fraction bad to speak of
 * @throws QualityError `not-whole`, `not-finite`, `out-of-range`
 */
export function auditSentence(n: number, p = 0.1): string {
  checkWhole(n, 'n', 1);
  checkRange(p, 'p', 0, 1);
  const missed = acceptance({ n, c: 0 }, p, 'binomial');
  return `${n} ${n === 1 ? 'part accepts' : 'parts accept'} a lot with ${percent(p)} bad in ${inTrials(missed)}: a process audit, not lot acceptance.`;
}

const ACCEPTS_ALL = 'This plan accepts every lot: as many bad parts are allowed as are inspected.';

const percent = (fraction: number): string =>
  fraction > 0 && fraction < NEXT_TO_NOTHING ? 'next to nothing' : `${figures(100 * fraction)} %`;

/** Two figures, three from 100 on, never in powers of ten. */
function figures(value: number): string {
  if (value === 0) return '0';
  const decimals = Math.max(0, 1 - Math.floor(Math.log10(Math.abs(value))));
  const text = value.toFixed(Math.min(20, decimals));
  return text.includes('.') ? text.replace(/\.?0+$/, '') : text;
}

/** A probability as a count of 100 that is never rounded to certainty. */
function outOf100(probability: number): string {
  if (probability === 0) return 'none';
  if (probability === 1) return 'all';
  return `${hundredths(probability)} of 100`;
}

const inTrials = (probability: number): string => {
  if (probability === 0) return 'no case';
  if (probability === 1) return 'every case';
  return `${hundredths(probability)} of 100 cases`;
};

function hundredths(probability: number): string {
  const count = Math.round(100 * probability);
  if (count === 0) return 'less than 1';
  return count === 100 ? 'more than 99' : String(count);
}
