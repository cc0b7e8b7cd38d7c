import { HttpProblem } from '../http/problem.ts';
import { tightenedPlan } from '../quality/sampling/acceptance-tables.ts';
import type { LedgerReader } from '../store/reader.ts';
import type { NotDrawn, PlanInForce } from './contract.ts';
import type { SamplingPlan } from './evaluation/contract.ts';
import { inspectionOf } from './inspection.ts';

/** What holds for a part number until somebody says otherwise: 90 times in 100 a lot with a tenth bad is refused. */
export const DEFAULT_PLAN: SamplingPlan = { kind: 'zero-acceptance', confidence: 0.9, badShare: 0.1 };

/** The plan that was said for a part number. */
export const samplingPlanFor = (reader: LedgerReader, partNumber: string): SamplingPlan =>
  reader.samplingPlanOf(partNumber)?.content.plan ?? DEFAULT_PLAN;

/**
 * What a sample of a part number is drawn by now. A plan by attributes is the normal one; under tightened inspection the
 * tightened plan of the same letter and AQL takes its place (ISO 2859-1:1999, 9.3.1; see `tightenedPlan`), and while
 * inspection is discontinued no lot is drawn by it (9.4). Reduced inspection is never entered: the rules ask for nobody's
 * lots to be looked at less without steady production and the responsible authority's consent, and its table is not here.
 */
export function planInForce(reader: LedgerReader, partNumber: string, kept: SamplingPlan): PlanInForce {
  if (kept.kind !== 'attributes') return { plan: kept, severity: null, tightened: null, notDrawn: null };
  const severity = inspectionOf(reader, partNumber)?.severity ?? 'normal';
  const none = (code: NotDrawn['code']): PlanInForce => ({
    plan: null,
    severity,
    tightened: null,
    notDrawn: { code, facts: { partNumber, n: kept.n, c: kept.c } },
  });
  if (severity === 'normal') return { plan: kept, severity, tightened: null, notDrawn: null };
  if (severity === 'discontinued') return none('sampling-discontinued');
  const tightened = tightenedPlan(kept.n, kept.c);
  if (tightened === null) return none('no-tightened-plan');
  const { n, acceptance, letter, aql, fromMemory } = tightened;
  return { plan: { ...kept, n, c: acceptance }, severity, tightened: { letter, aql, fromMemory }, notDrawn: null };
}

/** The same, where a sample is to be drawn. Throws the HttpProblems `sampling-discontinued` and `no-tightened-plan`. */
export function mustDrawBy(
  reader: LedgerReader,
  partNumber: string,
  kept: SamplingPlan,
): { readonly plan: SamplingPlan; readonly severity: 'normal' | 'tightened' | null } {
  const { plan, severity, notDrawn } = planInForce(reader, partNumber, kept);
  if (notDrawn !== null)
    throw new HttpProblem(409, notDrawn.code, DETAILS[notDrawn.code](notDrawn.facts), notDrawn.facts);
  if (plan === null || severity === 'discontinued') throw new Error('a plan that is not drawn by says why');
  return { plan, severity };
}

const DETAILS: Readonly<Record<NotDrawn['code'], (facts: NotDrawn['facts']) => string>> = {
  'sampling-discontinued': ({ partNumber }) =>
    `Inspection of ${partNumber} by attributes is discontinued: five lots were not accepted under tightened inspection. Act on the cause; then take it up again with a name and what was done.`,
  'no-tightened-plan': ({ n, c }) =>
    `Inspection is tightened, and the tables have no tightened plan beside ${n} parts with at most ${c} bad. Keep a plan of the tables first.`,
};
