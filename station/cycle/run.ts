import { StationFault } from '../faults.ts';
import { takenPoints } from '../profile/audit-points.ts';
import { hashOfPlan, holdsLeak, type Plan } from '../profile/plan.ts';
import type { Rig } from '../rig/port.ts';
import { ambientCheck, contact } from './contact.ts';
import type { CycleEvent, Load } from './event.ts';
import { leakHold } from './hold.ts';
import { judge, type Judgement } from './judge.ts';
import { noiseReadings, PointMemory, pressurePoint } from './point.ts';
import { type Proof, requireProofs, requireSoak } from './proof.ts';
import { clampParts, ready } from './ready.ts';
import type { NestResult } from './result.ts';
import type { Onlooker } from './sampling.ts';
import { Test } from './test.ts';
import type { SoakProof } from '../soak/soak.ts';
import { nominalSupply, supplyStep } from './supply-step.ts';
import { release, vent } from './vent.ts';
import { resultsOf } from './verdict.ts';

/** What one cycle is given: nothing else has a say in it. */
export interface Start {
  readonly plan: Plan;
  readonly load: Load;
  readonly proofs: readonly Proof[];
  /** Why the parts are believed to have the condition's temperature: an audit in a chamber has to show it. */
  readonly soak?: SoakProof | undefined;
}

/** What the consumer answers to an event that must be kept: it is on disk, or it cannot be. */
export type Kept = 'kept' | 'lost';

/** How a cycle ended, known only after its record is kept. */
export interface CycleEnd {
  readonly results: readonly NestResult[];
  readonly vented: boolean;
}

/**
 * Runs one plan on a rig, all nests together, and says what happens as it happens. `yield` is the commit point: the
 * consumer answers `opened` and `closed` with whether they are kept. Nothing moves before the one is, and no verdict
 * leaves before the other is; venting waits for neither.
 *
 * A part's failure is a value among the results. A fault of the station, a stop, or a broken premise ends the test:
 * the rig is made safe and every part stays unjudged.
 */
export async function* runCycle(
  rig: Rig,
  start: Start,
  stop: AbortSignal,
  onlooker?: Onlooker,
): AsyncGenerator<CycleEvent, CycleEnd, Kept> {
  const { plan, load } = start;
  const test = new Test(rig, plan, load, stop, onlooker);
  const soak = start.soak === undefined ? {} : { soak: start.soak };
  const opened = yield { type: 'opened', atMs: 0, plan: hashOfPlan(plan), kind: plan.kind, load, ...soak };
  if (opened === 'lost') {
    yield test.fail(new StationFault('not-kept'));
    return { results: resultsOf(plan, load, [], [], test.faults), vented: true };
  }

  let vented = true;
  try {
    yield* measure(test, start);
  } catch (cause) {
    yield test.fail(cause);
    const state = await rig.safe();
    vented = state.vented;
    yield test.vented(vented, state.nestKpaAbs);
  }

  let judged = judgeAll(test);
  if (judged.broken !== null) {
    yield test.fail(judged.broken);
    judged = judgeAll(test);
  }
  const { judgements, results } = judged;
  for (const judgement of judgements) yield { type: 'judgement', atMs: test.sampling.nowMs, judgement };
  const closed = yield { type: 'closed', atMs: test.sampling.nowMs, results };
  if (closed === 'lost') {
    yield test.fail(new StationFault('not-kept'));
    yield* release(test);
    return { results: resultsOf(plan, load, [], [], test.faults), vented };
  }
  yield* release(test);
  return { results, vented };
}

/** The test itself, from the first look at the station to the proven vent. Throws what stops it. */
async function* measure(test: Test, { proofs, soak }: Start): AsyncGenerator<CycleEvent, void> {
  requireProofs(test.plan, test.load, proofs);
  requireSoak(test.plan, soak);
  yield* ready(test);
  yield* clampParts(test);
  yield* contact(test);
  yield* ambientCheck(test);
  if (holdsLeak(test.plan) && test.underTest.length > 0) yield* leakHold(test);
  const memory = new PointMemory(test.nests.length);
  for (const point of takenPoints(test.profile, test.plan.kind)) {
    if (test.underTest.length === 0) break;
    const { step } = point;
    if (step === null) yield* pressurePoint(test, point, memory);
    else yield* supplyStep(test, point, step);
    if (step?.supply === 'high') await nominalSupply(test, step.settleMs);
  }
  yield* noiseReadings(test, memory);
  yield* vent(test);
}

/** Judges what was measured. A broken premise of the program is no verdict on a part: it is handed back. */
function judgeAll(test: Test): { judgements: Judgement[]; results: NestResult[]; broken: unknown } {
  const { plan, load, readings, faults } = test;
  try {
    const judgements = faults.length === 0 ? judge(plan, readings) : [];
    return { judgements, results: resultsOf(plan, load, readings, judgements, faults), broken: null };
  } catch (broken) {
    return { judgements: [], results: [], broken };
  }
}
