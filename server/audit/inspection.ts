import { SWITCHING_START, nextSwitching } from '../quality/sampling/switching.ts';
import type { SwitchingState } from '../quality/sampling/switching.ts';
import type { LedgerReader } from '../store/reader.ts';
import { stateOfAudit } from './audits.ts';
import type { InspectionView } from './contract.ts';
import { badOf, notJudgedOf } from './evaluation/proposal.ts';
import { partsOf, stageList } from './evidence.ts';
import { phaseOf } from './state.ts';

/** Audits of a part number that are gone through. */
const MOST_AUDITS = 200;
/** Acceptance numbers of the single plans of ISO 2859-1 in order (from memory): the AQL one step tighter has the one before. */
const ACCEPTANCES = [0, 1, 2, 3, 5, 7, 10, 14, 21] as const;

/**
 * Where the inspection of a part number by attributes stands after its audits that were gone through to the end, oldest first
 * (ISO 2859-1:1999, 9.3; see `nextSwitching`), with a verdict for every part drawn. A lot that was drawn from before is one presented again. Null where the plan of
 * none of them was one by attributes.
 */
export function inspectionOf(reader: LedgerReader, partNumber: string): InspectionView | null {
  const lots = new Set<string>();
  let state: SwitchingState = SWITCHING_START;
  let last: string | null = null;
  for (const { audit, lot } of reader.audits.drawn({ partNumber, lot: null }, MOST_AUDITS).toReversed()) {
    const isOriginal = !lots.has(lot);
    lots.add(lot);
    const each = stateOfAudit(reader, audit);
    const { plan, profile } = each.drawn.content;
    if (plan.kind !== 'attributes' || phaseOf(each, true) !== 'decided') continue;
    const parts = partsOf(each, stageList(each, reader.document('profile', profile)));
    // A sample that was not judged whole is no inspection.
    if (parts.length < each.sample.size || notJudgedOf(parts) > 0) continue;
    const step = nextSwitching(state, {
      bad: badOf(parts),
      acceptance: plan.c,
      acceptanceTighter: plan.c < 2 ? null : Math.max(...ACCEPTANCES.filter((c) => c < plan.c)),
      original: isOriginal,
    });
    state = step.state;
    last = step.explanation;
  }
  return last === null ? null : { severity: state.severity, score: state.score, explanation: last };
}
