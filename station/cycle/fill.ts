import { StationFault } from '../faults.ts';
import type { SampleBlock } from '../rig/port.ts';
import type { CycleEvent } from './event.ts';
import { meanOf } from './means.ts';
import { NestHold, refusedLeak } from './nest-hold.ts';
import { BLOCK_MS } from './sampling.ts';
import type { Test } from './test.ts';

/** How near to the test pressure a fill must come, kPa; each leak is referred to the pressure that was held. */
const FILLED_KPA = 1;
const FILL_LIMIT_MS = 3000;
/** A nest that was shut before the fill must stay this near to ambient, kPa. */
const STAYS_SHUT_KPA = 2;
/** A nest that took less than this of the fill, kPa, took none: its valve never opened. */
const TOOK_NONE_KPA = 0.5;
/** At ambient between two fills, so that the second starts from gas like the first. */
const REFILL_VENT_MS = 3000;
/** How long the fall of a nest that refused the pressure is looked at. */
const REFUSED_LOOK_MS = 100;

/**
 * Fills every nest under test in exactly the profile's time, as it was when the nests were characterised. A nest that
 * alone refuses the pressure ends as a gross leak, once the air is proved without it; the others are filled anew.
 */
export async function* fill(test: Test): AsyncGenerator<CycleEvent, void> {
  yield test.enter('fill');
  if (await fillOnce(test)) return;
  while (!(await test.sampling.until(FILL_LIMIT_MS, (block) => isFilled(test, block)))) {
    yield* endRefuser(test);
    if (test.underTest.length === 0) return;
  }
  await test.rig.vent(test.stop);
  await test.sampling.pass(REFILL_VENT_MS);
  if (!(await fillOnce(test))) throw notReached(test);
}

/** Shuts all nests under test and takes the manifold half-way down: a leaking valve then makes a leak, never hides one. */
export async function shutOff(test: Test): Promise<void> {
  for (const nest of test.underTest) await test.rig.isolate(nest, true, test.stop);
  await test.rig.setPressure((test.profile.leakHold.testKpaAbs + test.ambientKpaAbs) / 2, test.stop);
}

/** A valve that was seen not to be where it was put. */
export const stuckValve = (nest: number, told: 'open' | 'shut', nestKpaAbs: number): StationFault =>
  new StationFault('valve-no-answer', { nest, facts: { valve: 'isolation', told, nestKpaAbs } });

/** One fill of `fillMs`; whether every nest under test was at the pressure in its last block. */
async function fillOnce(test: Test): Promise<boolean> {
  const { testKpaAbs, fillMs } = test.profile.leakHold;
  await test.rig.setPressure(testKpaAbs, test.stop);
  await test.sampling.pass(fillMs - BLOCK_MS, (block) => isFilled(test, block));
  return test.sampling.until(BLOCK_MS, (block) => isFilled(test, block));
}

/** Looks at all nests: those under test must reach the pressure, those that were shut must not see it. */
function isFilled(test: Test, block: SampleBlock): boolean {
  let filled = true;
  for (let nest = 0; nest < test.nests.length; nest += 1) {
    const kPaAbs = kPaIn(block, nest);
    if (test.nests[nest]?.is === 'under-test') filled &&= isNear(test, kPaAbs);
    else if (kPaAbs > test.ambientKpaAbs + STAYS_SHUT_KPA) throw stuckValve(nest, 'shut', kPaAbs);
  }
  return filled;
}

/** Shuts the nest that stays lowest and blames it only when the pressure then comes on the others and the manifold. */
async function* endRefuser(test: Test): AsyncGenerator<CycleEvent, void> {
  const { rig, stop, sampling } = test;
  const at = await lowest(test);
  await rig.isolate(at.nest, true, stop);
  const fromMs = sampling.nowMs;
  const hold = new NestHold(at.nest);
  hold.measure();
  const others = test.underTest.filter((nest) => nest !== at.nest);
  const proved = await sampling.until(FILL_LIMIT_MS, (block) => {
    if (hold.elapsedMs < REFUSED_LOOK_MS) hold.take(block, rig.abilities.sampleHz);
    else if (isNear(test, meanOf(block.controllerKpaAbs)))
      return others.every((nest) => isNear(test, kPaIn(block, nest)));
    return false;
  });
  if (!proved) throw notReached(test);
  if (at.kPaAbs - test.ambientKpaAbs < TOOK_NONE_KPA) throw stuckValve(at.nest, 'open', at.kPaAbs);
  yield refusedLeak(test, hold, fromMs, at.kPaAbs);
  yield await test.end(at.nest, 'gross-leak');
}

async function lowest(test: Test): Promise<{ nest: number; kPaAbs: number }> {
  let low = { nest: 0, kPaAbs: Infinity };
  await test.sampling.pass(BLOCK_MS, (block) => {
    for (const nest of test.underTest) {
      const kPaAbs = kPaIn(block, nest);
      if (kPaAbs < low.kPaAbs) low = { nest, kPaAbs };
    }
  });
  return low;
}

const kPaIn = (block: SampleBlock, nest: number): number =>
  meanOf(block.nests[nest]?.referenceKpaAbs ?? new Float64Array());

const isNear = (test: Test, kPaAbs: number): boolean =>
  Math.abs(kPaAbs - test.profile.leakHold.testKpaAbs) <= FILLED_KPA;

const notReached = (test: Test): StationFault =>
  new StationFault('pressure-not-reached', { facts: { testKpaAbs: test.profile.leakHold.testKpaAbs } });
