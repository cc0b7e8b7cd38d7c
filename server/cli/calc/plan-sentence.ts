import { auditEnglish } from '../../../station/words/audit-en.ts';
import { fill } from '../../../station/words/fill.ts';
import { countText, figuresText, missesText, shareText } from '../../../station/words/plan-text.ts';
import { checkPlan, acceptance, qualityAt } from '../../quality/sampling/operating-characteristic.ts';
import type { AttributesPlan, ProcessModel } from '../../quality/sampling/operating-characteristic.ts';
import {
  ACCEPTS_ALL,
  auditMisses,
  lotMisses,
  variablesMisses,
  zeroAcceptanceMisses,
} from '../../quality/sampling/plan-misses.ts';
import type { PlanMisses } from '../../quality/sampling/plan-misses.ts';
import type { VariablesPlan } from '../../quality/sampling/variables-plan.ts';

/** What a plan lets through, each in one plain sentence (English) that can stand beside its numbers; see `PlanMisses`. */

export const ENGLISH = { language: 'en', words: auditEnglish } as const;

const sentence = (misses: PlanMisses): string => missesText(ENGLISH, misses);

/** A plan applied to one lot, counted exactly (hypergeometric). */
export const lotSentence = (plan: AttributesPlan, lot: number): string => sentence(lotMisses(plan, lot));

/** A sample that may show no bad part, against the lot for which it was chosen. */
export const zeroAcceptanceSentence = (lot: number, bad: number, n: number): string =>
  sentence(zeroAcceptanceMisses(lot, bad, n));

/** A plan by variables for one limit, by what it accepts 95 times in 100. */
export const variablesSentence = (plan: VariablesPlan): string => sentence(variablesMisses(plan));

/** A fixed number of parts checked whatever the lot; `p` is the fraction bad to speak of. */
export const auditSentence = (n: number, p?: number): string => sentence(auditMisses(n, p));

/** A plan for a process with fraction `p` bad, usually its AQL; `p` null takes what is accepted 95 times in 100. */
export function processSentence(plan: AttributesPlan, p: number | null, model: ProcessModel): string {
  checkPlan(plan);
  const stopped = qualityAt(plan, 0.1, model);
  const usual = p ?? qualityAt(plan, 0.95, model);
  if (stopped === null || usual === null) return sentence(ACCEPTS_ALL);
  // From 10 in 100 on, faults are not much like bad parts: a part may have several.
  const share = (fraction: number): string =>
    model === 'poisson' && stopped >= 0.1
      ? `${figuresText(100 * fraction, 'en')} faults in 100 parts`
      : `${shareText(ENGLISH, fraction)} bad`;
  return fill(
    'Of lots with {usual}, this plan accepts {accepted}; a lot must have {stopped} to be stopped 9 times in 10 (lots of a process, {model}).',
    {
      usual: share(usual),
      accepted: countText(ENGLISH, acceptance(plan, usual, model)),
      stopped: share(stopped),
      model: model === 'poisson' ? 'Poisson' : model,
    },
  );
}
