import { StationFault } from '../faults.ts';
import type { SampleBlock } from '../rig/port.ts';
import type { CycleEvent } from './event.ts';
import { fill, shutOff, stuckValve } from './fill.ts';
import { fallOfRatedLeak } from './leak.ts';
import { meanOf } from './means.ts';
import { grossLeak, measuredLeak, NestHold } from './nest-hold.ts';
import type { Test } from './test.ts';

/** How long the manifold is taken down before it is shut: from then on nothing moves it but a valve that leaks. */
const LOWERING_MS = 400;
/** From when on a fall may be called a gross leak: earlier, parts differ too much in heat. */
const GROSS_FROM_MS = 500;
/** How long a gross leak must be seen: long enough for a nest whose valve opened to show that it follows the manifold. */
const GROSS_FOR_MS = 200;
/** Standard deviations of sealed holds that a gross leak must stand out by. */
const GROSS_SD = 4;
/**
 * A nest this near to the manifold for so long is not shut. A leak that is not yet gross never brings a nest down that
 * far, and one that could is gone past the manifold's pressure sooner.
 */
const FOLLOWS_KPA = 0.3;
const FOLLOWS_FOR_MS = 100;
/** From when on a rise counts: the valves have closed and a transducer that repeats itself has been named. */
const RISE_FROM_MS = 100;
/** How far above the course of sealed holds a nest may be: standard deviations, and Pa. */
const RISE_SD = 6;
const RISE_PA = 30;
/** How far the falls in the two halves of the measurement may differ: what is left of the heat, and a share of the fall. */
const UNEVEN_PA_PER_S = 60;
const UNEVEN = 0.25;

/**
 * The leak hold: fill, shut off, wait until the gas is at rest, measure the fall. Each nest's own sealed fall is taken
 * off, and the manifold stays below the nests. A gross leak ends its part; the neighbours are tested on.
 */
export async function* leakHold(test: Test): AsyncGenerator<CycleEvent, void> {
  yield* fill(test);
  const fromMs = test.sampling.nowMs;
  const rate = test.rig.abilities.sampleHz;
  const { stabiliseMs, measureMs } = test.profile.leakHold;

  await shutOff(test);
  yield test.enter('stabilise');
  const resting = new Set(test.underTest.map((nest) => new NestHold(nest)));
  const gross = new Set<NestHold>();
  const look = (block: SampleBlock): boolean => {
    const manifoldKpaAbs = meanOf(block.controllerKpaAbs);
    for (const hold of resting) {
      hold.take(block, rate);
      checkShut(hold, manifoldKpaAbs);
      checkRise(test, hold);
      if (isGross(test, hold)) {
        resting.delete(hold);
        gross.add(hold);
      }
    }
    return resting.size === 0;
  };
  const loweringMs = Math.min(LOWERING_MS, stabiliseMs);
  await test.sampling.until(loweringMs, look);
  await test.rig.close(test.stop);
  await test.sampling.until(stabiliseMs - loweringMs, look);
  for (const hold of gross) {
    yield grossLeak(test, hold, fromMs);
    yield await test.end(hold.nest, 'gross-leak');
  }
  if (resting.size === 0) return;

  yield test.enter('measure');
  for (const hold of resting) hold.measure();
  await test.sampling.pass(measureMs, (block) => {
    for (const hold of resting) {
      hold.take(block, rate);
      checkShut(hold, meanOf(block.controllerKpaAbs));
      checkRise(test, hold);
    }
  });
  for (const hold of resting) checkStraight(hold);
  for (const hold of resting) yield measuredLeak(test, hold, fromMs);
}

/** A nest whose pressure stays with the manifold's after it was shut off is not shut off. */
function checkShut(hold: NestHold, manifoldKpaAbs: number): void {
  const followsMs = hold.followsMs.since(hold.elapsedMs, Math.abs(hold.nowKpaAbs - manifoldKpaAbs) < FOLLOWS_KPA);
  if (followsMs >= FOLLOWS_FOR_MS) throw stuckValve(hold.nest, 'shut', hold.nowKpaAbs);
}

/** Gas that leaves through a leak leaves evenly: a fall with a step in it is not the part's. */
function checkStraight(hold: NestHold): void {
  const { early, late } = hold.halvesPaPerS;
  const unevenPaPerS = Math.abs(early - late);
  const allowedPaPerS = UNEVEN_PA_PER_S + UNEVEN * Math.abs(early + late);
  if (unevenPaPerS > allowedPaPerS) {
    throw new StationFault('pressure-unsteady', { nest: hold.nest, facts: { unevenPaPerS, allowedPaPerS } });
  }
}

/** A shut nest can lose gas, not gain any: a rise beyond what sealed holds do is the station's fault, never a pass. */
function checkRise(test: Test, hold: NestHold): void {
  if (hold.elapsedMs < RISE_FROM_MS) return;
  const { expectedPa, sdPa } = sealedCourse(test, hold);
  const abovePa = hold.changePa - expectedPa;
  const allowedPa = RISE_SD * sdPa + RISE_PA;
  if (abovePa > allowedPa) throw new StationFault('pressure-rises', { nest: hold.nest, facts: { abovePa, allowedPa } });
}

/** Whether a nest has fallen so far below its sealed course that the leak is gross whatever follows. */
function isGross(test: Test, hold: NestHold): boolean {
  const seenMs = hold.grossMs.since(hold.elapsedMs, hold.elapsedMs >= GROSS_FROM_MS && fallsGrossly(test, hold));
  return seenMs >= GROSS_FOR_MS;
}

function fallsGrossly(test: Test, hold: NestHold): boolean {
  const { expectedPa, sdPa } = sealedCourse(test, hold);
  const belowPa = expectedPa - hold.changePa - GROSS_SD * sdPa;
  if (hold.nowKpaAbs <= test.ambientKpaAbs + 1) return belowPa > 0;
  const { testKpaAbs, grossStdCm3PerMin } = test.profile.leakHold;
  const fallPaPerS = fallOfRatedLeak(grossStdCm3PerMin, {
    ratedKpaAbs: testKpaAbs,
    testKpaAbs: hold.halfWayKpaAbs,
    ambientKpaAbs: test.ambientKpaAbs,
    gasC: test.roomC.mean,
    volumeM3: test.known(hold.nest).volumeM3.value,
  });
  return belowPa > (fallPaPerS * hold.elapsedMs) / 1000;
}

function sealedCourse(test: Test, hold: NestHold): { expectedPa: number; sdPa: number } {
  const { sealedCurvePa, sealedCurveSdPa } = test.known(hold.nest);
  const index = hold.curvePa.length - 1;
  return { expectedPa: sealedCurvePa[index] ?? 0, sdPa: sealedCurveSdPa[index] ?? 0 };
}
