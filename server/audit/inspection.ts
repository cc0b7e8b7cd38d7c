import { HttpProblem } from '../http/problem.ts';
import { SWITCHING_START, nextSwitching, resumeSwitching } from '../quality/sampling/switching.ts';
import type { SwitchingState } from '../quality/sampling/switching.ts';
import type { DrawnAudit } from '../store/audit-history.ts';
import type { Actor } from '../store/record-format.ts';
import type { LedgerReader } from '../store/reader.ts';
import type { Store } from '../store/store.ts';
import { decisionsOf, stateOfAudit } from './audits.ts';
import type { InspectionView } from './contract.ts';
import { badOf, notJudgedOf } from './evaluation/proposal.ts';
import { partsOf, stageList } from './evidence.ts';
import { phaseOf } from './state.ts';

/** More than any ledger has: where a series of lots stands depends on all of it. */
const ALL = 1_000_000_000;
/** Acceptance numbers of the single plans of ISO 2859-1 in order (from memory): the AQL one step tighter has the one before. */
const ACCEPTANCES = [0, 1, 2, 3, 5, 7, 10, 14, 21, 30, 44] as const;

/** What an audit by attributes that was gone through found; null for one that is no inspection. */
type Inspected = {
  readonly bad: number;
  readonly acceptance: number;
  readonly severity: 'normal' | 'tightened';
} | null;

/** What is over never changes: each audit is read once as long as the ledger is open. */
const READ = new WeakMap<LedgerReader, Map<string, Inspected>>();

/** The action in the journal with which inspection was taken up again. */
export const RESUMED = 'sampling-resumed';
const subjectOf = (partNumber: string): string => `${partNumber}/sampling`;

/**
 * Where the inspection of a part number by attributes stands after all its audits that were gone through to the end, in the
 * order of their draws (ISO 2859-1:1999, 9.3 and 9.4; see `nextSwitching`), with a verdict for every part drawn. A lot that
 * was inspected before is one presented again. A sample that was drawn under another severity than the one that holds by
 * then, because another lot came between, counts for nothing. Null where none of them was inspected by attributes.
 */
export function inspectionOf(reader: LedgerReader, partNumber: string): InspectionView | null {
  const resumptions = reader
    .journalOf(subjectOf(partNumber), ALL)
    .filter(({ content }) => content.action === RESUMED)
    .toReversed();
  const lots = new Set<string>();
  let state: SwitchingState = SWITCHING_START;
  let last: Pick<InspectionView, 'explanation' | 'resumed'> | null = null;
  const resumeBefore = (sequence: number): void => {
    for (let next = resumptions[0]; next !== undefined && next.sequence < sequence; next = resumptions[0]) {
      resumptions.shift();
      state = resumeSwitching(state);
      const resumed = { at: next.at, by: next.content.actor.name, reason: next.content.comment ?? '' };
      last = { explanation: null, resumed };
    }
  };
  for (const drawn of reader.audits.drawn({ partNumber, lot: null }, ALL).toReversed()) {
    const inspected = inspectedOf(reader, drawn);
    if (inspected === null) continue;
    resumeBefore(drawn.sequence);
    const original = !lots.has(drawn.lot);
    lots.add(drawn.lot);
    const { severity, ...found } = inspected;
    if (severity !== state.severity && state.severity !== 'discontinued') continue;
    const step = nextSwitching(state, { ...found, acceptanceTighter: tighterOf(found.acceptance), original });
    state = step.state;
    last = { explanation: step.explanation, resumed: null };
  }
  resumeBefore(ALL);
  return last === null ? null : { severity: state.severity, score: state.score, ...last };
}

const tighterOf = (acceptance: number): number | null =>
  acceptance < 2 ? null : Math.max(...ACCEPTANCES.filter((each) => each < acceptance));

function inspectedOf(reader: LedgerReader, { audit, sequence }: DrawnAudit): Inspected {
  const read = READ.get(reader) ?? new Map<string, Inspected>();
  READ.set(reader, read);
  const known = read.get(audit);
  if (known !== undefined) return known;
  const { content } = reader.auditActAt(sequence);
  if (content.act !== 'drawn' || content.plan.kind !== 'attributes') {
    read.set(audit, null);
    return null;
  }
  const state = stateOfAudit(reader, audit);
  const parts = partsOf(state, stageList(state, reader.document('profile', content.profile)));
  const { plan, severity = 'normal' } = content;
  const bad = badOf(parts);
  const phase = phaseOf(state, decisionsOf(reader, state).length > 0);
  // Only the whole sample accepts a lot; more bad parts than are allowed refuse it, whatever is missing or was given up.
  const isWhole = phaseOf(state, true) === 'decided' && parts.length === state.sample.size && notJudgedOf(parts) === 0;
  const isRefused = bad > plan.c && (phaseOf(state, true) === 'decided' || phase === 'abandoned');
  const inspected = isWhole || isRefused ? { bad, acceptance: plan.c, severity } : null;
  if (phase === 'decided' || phase === 'abandoned') read.set(audit, inspected);
  return inspected;
}

/**
 * Takes inspection by attributes up again after somebody acted on the cause of its end: tightened, with a new count
 * (ISO 2859-1:1999, 9.4). Throws the HttpProblem `not-discontinued`.
 */
export function resumeSampling(
  store: Store,
  partNumber: string,
  { reason, actor }: { readonly reason: string; readonly actor: Actor },
): void {
  store.checkpoint();
  if (inspectionOf(store, partNumber)?.severity !== 'discontinued')
    throw new HttpProblem(
      409,
      'not-discontinued',
      `Inspection of ${partNumber} by attributes is not discontinued. There is nothing to take up again.`,
      { partNumber },
    );
  store.journal({ action: RESUMED, subject: subjectOf(partNumber), facts: {}, comment: reason, actor });
  store.checkpoint();
}
