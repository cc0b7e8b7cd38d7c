import { StationFault } from '../faults.ts';
import type { SampleBlock } from '../rig/port.ts';
import type { CycleEvent } from './event.ts';
import { meanOf } from './means.ts';
import { NestHold, refusedLeak } from './nest-hold.ts';
import { BLOCK_MS } from './sampling.ts';
import type { Test } from './test.ts';

/** How near to the test pressure a fill must come, kPa; each leak is referred to the pressure that was held. */
const FILLED_KPA = 1;
/** A nest that was shut before the fill must stay this near to ambient, kPa. */
const STAYS_SHUT_KPA = 2;
/** A nest that took less than this of the fill, kPa, took none: its valve never opened. */
const TOOK_NONE_KPA = 0.5;
/** At ambient between two fills, so that the second starts from gas like the first. */
const REFILL_VENT_MS = 3000;
/** How long the fall of a nest that refused the pressure is looked at. */
const REFUSED_LOOK_MS = 100;
/** When more nests than this refuse the pressure, the air is to blame. */
const MOST_REFUSERS = 4;

/** A nest that was shut because the pressure did not come: its fall from then on, and what it had taken. */
interface Refuser {
  readonly hold: NestHold;
  readonly fromMs: number;
  readonly tookKpaAbs: number;
}

/**
 * Fills every nest under test in exactly the profile's time, as it was when the nests were characterised. When the
 * pressure does not come in that time the lowest nest is shut, all are vented and the others filled anew. Whoever was
 * shut is blamed only once the pressure has come without it, on the others or on the manifold alone: that proves the air.
 */
export async function* fill(test: Test): AsyncGenerator<CycleEvent, void> {
  yield test.enter('fill');
  for (const { hold, fromMs, tookKpaAbs } of await fillAll(test)) {
    if (tookKpaAbs - test.ambientKpaAbs < TOOK_NONE_KPA) throw stuckValve(hold.nest, 'open', tookKpaAbs);
    yield refusedLeak(test, hold, fromMs, tookKpaAbs);
    yield await test.end(hold.nest, 'gross-leak');
  }
}

/** The filling itself: resolves, with the pressure on, with the nests that refused it. Rejects when the air is to blame. */
export async function fillAll(test: Test): Promise<readonly Refuser[]> {
  const refusers: Refuser[] = [];
  while (!(await fillOnce(test, refusers))) {
    const left = fillingBeside(test, refusers);
    if (left.length === 0 || refusers.length === MOST_REFUSERS) throw notReached(test);
    refusers.push(await shutLowest(test, left));
    await test.rig.vent(test.stop);
    await test.sampling.pass(REFILL_VENT_MS);
  }
  return refusers;
}

/** Shuts all nests under test and takes the manifold half-way down: a leaking valve then makes a leak, never hides one. */
export async function shutOff(test: Test): Promise<void> {
  for (const nest of test.underTest) await test.rig.isolate(nest, true, test.stop);
  await test.rig.setPressure((test.profile.leakHold.testKpaAbs + test.ambientKpaAbs) / 2, test.stop);
}

/** A valve that was seen not to be where it was put. */
export const stuckValve = (nest: number, told: 'open' | 'shut', nestKpaAbs: number): StationFault =>
  new StationFault('valve-no-answer', { nest, facts: { valve: 'isolation', told, nestKpaAbs } });

/** The nests that are being filled: under test, and not shut for refusing. */
const fillingBeside = (test: Test, refusers: readonly Refuser[]): number[] =>
  test.underTest.filter((nest) => !refusers.some(({ hold }) => hold.nest === nest));

/**
 * One fill of `fillMs`. Whether every nest that is being filled was at the pressure in its last block, or the manifold
 * when there is none. A nest that is shut must not see the pressure: throws the valve's fault.
 */
async function fillOnce(test: Test, refusers: readonly Refuser[]): Promise<boolean> {
  const { testKpaAbs, fillMs } = test.profile.leakHold;
  const filling = fillingBeside(test, refusers);
  const isNear = (kPaAbs: number): boolean => Math.abs(kPaAbs - testKpaAbs) <= FILLED_KPA;
  const look = (block: SampleBlock): boolean => {
    for (let nest = 0; nest < test.nests.length; nest += 1) {
      const kPaAbs = kPaIn(block, nest);
      const shut = !filling.includes(nest);
      if (shut && kPaAbs > test.ambientKpaAbs + STAYS_SHUT_KPA) throw stuckValve(nest, 'shut', kPaAbs);
    }
    if (filling.length === 0) return isNear(meanOf(block.controllerKpaAbs));
    return filling.every((nest) => isNear(kPaIn(block, nest)));
  };
  await test.rig.setPressure(testKpaAbs, test.stop);
  await test.sampling.pass(fillMs - BLOCK_MS, look);
  return test.sampling.until(BLOCK_MS, look);
}

/** Shuts the nest that is lowest and looks at its fall. */
async function shutLowest(test: Test, filling: readonly number[]): Promise<Refuser> {
  const { rig, stop, sampling } = test;
  let low = { nest: -1, kPaAbs: Infinity };
  await sampling.pass(BLOCK_MS, (block) => {
    for (const nest of filling) {
      const kPaAbs = kPaIn(block, nest);
      if (kPaAbs < low.kPaAbs) low = { nest, kPaAbs };
    }
  });
  await rig.isolate(low.nest, true, stop);
  const fromMs = sampling.nowMs;
  const hold = new NestHold(low.nest);
  hold.measure();
  await sampling.pass(REFUSED_LOOK_MS, (block) => hold.take(block, rig.abilities.sampleHz));
  return { hold, fromMs, tookKpaAbs: low.kPaAbs };
}

const kPaIn = (block: SampleBlock, nest: number): number =>
  meanOf(block.nests[nest]?.referenceKpaAbs ?? new Float64Array());

const notReached = (test: Test): StationFault =>
  new StationFault('pressure-not-reached', { facts: { testKpaAbs: test.profile.leakHold.testKpaAbs } });
