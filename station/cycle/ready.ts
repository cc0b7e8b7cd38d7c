import { type FaultCode, StationFault } from '../faults.ts';
import { checkRoad } from '../profile/road.ts';
import type { Interlocks } from '../rig/port.ts';
import { checkOutputZero, compareVented, Gathering } from './crosscheck.ts';
import type { CycleEvent } from './event.ts';
import { Mean } from './means.ts';
import type { Test } from './test.ts';

const LOOK_MS = 100;
/** Longest wait for a nest to be at ambient before the start. */
const VENT_LIMIT_MS = 3000;
const VENTED_KPA = 0.5;
const CLAMP_LIMIT_MS = 3000;

/** Which wired input, when it is not as it must be, is which fault. */
const INPUTS: readonly (readonly [keyof Interlocks, FaultCode])[] = [
  ['stopChainClosed', 'stop-chain-open'],
  ['guardShut', 'guard-open'],
  ['airPresent', 'air-lost'],
  ['vacuumPresent', 'vacuum-lost'],
];

/**
 * Before anything moves: the wired inputs allow it, everything is vented, and while it is, the instruments agree with
 * one another and read zero where there is nothing.
 */
export async function* ready(test: Test): AsyncGenerator<CycleEvent, void> {
  yield test.enter('ready');
  const { rig, stop, sampling } = test;
  const inputs = await rig.interlocks(stop);
  for (const [input, code] of INPUTS) if (!inputs[input]) throw new StationFault(code);
  // Clamps that are still closed hold the parts of the cycle before: these are not the ones that were scanned.
  if (inputs.clamped) throw new StationFault('release-refused');

  await rig.vent(stop);
  for (let nest = 0; nest < test.nests.length; nest += 1) {
    await rig.isolate(nest, false, stop);
    await rig.supply(nest, 0, stop);
  }
  await rig.connectLoad(test.profile.load, stop);
  const vented = await sampling.until(VENT_LIMIT_MS, (block) =>
    block.nests.every((nest) => Math.abs((nest.referenceKpaAbs[0] ?? 0) - block.barometerKpaAbs) < VENTED_KPA),
  );

  const gathering = new Gathering(test.nests.length);
  const partC = test.nests.map(() => new Mean());
  await sampling.pass(LOOK_MS, (block) => {
    gathering.take(block);
    test.barometerKpaAbs.add(block.barometerKpaAbs);
    test.roomC.add(block.roomC);
    for (let nest = 0; nest < partC.length; nest += 1) partC[nest]?.add(block.nests[nest]?.partC ?? Number.NaN);
  });
  compareVented(test, gathering);
  if (!vented) throw new StationFault('not-vented');
  checkOutputZero(test, gathering);
  checkCondition(test, partC);
  checkAmbient(test);
}

/** Limits widen with temperature: outside the tolerance of its condition no part may be judged. */
function checkCondition(test: Test, partC: readonly Mean[]): void {
  const condition = test.profile.conditions.find(({ id }) => id === test.plan.condition);
  if (condition === undefined) throw new StationFault('not-testable', { facts: { condition: test.plan.condition } });
  for (const nest of test.underTest) {
    const measuredC = partC[nest]?.mean ?? Number.NaN;
    if (!(Math.abs(measuredC - condition.targetC) <= condition.toleranceC)) {
      const { targetC, toleranceC } = condition;
      throw new StationFault('condition-not-met', { nest, facts: { measuredC, targetC, toleranceC } });
    }
  }
}

/** At an ambient pressure outside the range that profiles are checked for, a point may be met from the wrong side. */
function checkAmbient({ plan, profile, barometerKpaAbs }: Test): void {
  const ambientKpaAbs = barometerKpaAbs.mean;
  const [problem] = checkRoad(profile, { low: ambientKpaAbs, high: ambientKpaAbs }, plan.kind === 'audit');
  if (problem !== undefined) throw new StationFault('not-testable', { facts: { ambientKpaAbs, wrong: problem.wrong } });
}

export async function* clampParts(test: Test): AsyncGenerator<CycleEvent, void> {
  yield test.enter('clamp');
  await test.rig.clamp(test.stop);
  for (let waitedMs = 0; waitedMs < CLAMP_LIMIT_MS; waitedMs += LOOK_MS) {
    await test.sampling.pass(LOOK_MS);
    if ((await test.rig.interlocks(test.stop)).clamped) return;
  }
  throw new StationFault('not-clamped');
}
