import { HttpProblem } from '../http/problem.ts';
import type { Actor } from '../store/record-format.ts';
import type { LedgerReader } from '../store/reader.ts';
import type { Store } from '../store/store.ts';
import { stateOfAudit, decisionsOf } from './audits.ts';
import type { SampleAct, SamplingPlanView } from './contract.ts';
import { inspectionOf } from './inspection.ts';
import { planInForce, samplingPlanFor } from './plan-in-force.ts';
import { openLoad, phaseOf } from './state.ts';

/** How a part number's samples are drawn. `conditions` are those of its profile here, if there is one. */
export function samplingPlanView(
  reader: LedgerReader,
  partNumber: string,
  conditions: SamplingPlanView['conditions'] = [],
): SamplingPlanView {
  const kept = reader.samplingPlanOf(partNumber);
  const plan = samplingPlanFor(reader, partNumber);
  return {
    partNumber,
    plan,
    isDefault: kept === undefined,
    inspection: inspectionOf(reader, partNumber),
    inForce: planInForce(reader, partNumber, plan),
    conditions,
    since: kept === undefined ? null : { at: kept.at, by: kept.content.actor.name, reason: kept.content.reason },
  };
}

/**
 * Keeps what a person says about the sample. A missing part is never replaced: the sample is the drawn one or smaller.
 *
 * Throws the HttpProblems `no-such-audit`, `not-drawn`, `in-load` (a part that was in a load is there), `load-inside` (an
 * audit is not given up while its load is being tested), `audit-over`.
 */
export function tellSample(store: Store, audit: string, act: SampleAct, actor: Actor): void {
  const state = stateOfAudit(store, audit);
  const phase = phaseOf(state, decisionsOf(store, state).length > 0);
  if (phase === 'decided' || phase === 'abandoned')
    throw new HttpProblem(409, 'audit-over', 'This audit is over. What was kept of it stays as it is.', { phase });
  if (act.type === 'abandon') {
    if (openLoad(state) !== null && phase === 'running')
      throw new HttpProblem(409, 'load-inside', 'A load is being tested. Stop it first.', { why: 'testing' });
    store.audit(() => ({ audit, act: 'abandoned', reason: act.reason, actor }));
    return;
  }
  const part = state.sample.get(act.serial);
  if (part === undefined)
    throw new HttpProblem(409, 'not-drawn', `${act.serial} is not in this sample. Put it back; it is not drawn.`, {
      serial: act.serial,
    });
  if (state.loads.some(({ places }) => places.includes(act.serial)))
    throw new HttpProblem(409, 'in-load', `${act.serial} was in a load already.`, { serial: act.serial });
  if (act.type === 'found') {
    if (part.state !== 'found') store.audit(() => ({ audit, act: 'found', serial: act.serial, actor }));
    return;
  }
  store.audit(() => ({ audit, act: 'missing', serial: act.serial, reason: act.reason, actor }));
}
