import { at } from '../assert.ts';
import { StationFault } from '../faults.ts';
import type { TakenPoint } from '../profile/audit-points.ts';
import { slopeVPerKpa } from '../profile/transfer.ts';
import type { NestSamples, SampleBlock } from '../rig/port.ts';
import { PointAperture, type Scatter } from './aperture.ts';
import { compareOpen, Gathering } from './crosscheck.ts';
import type { CycleEvent } from './event.ts';
import { meanOf } from './means.ts';
import { NestLag } from './nest-lag.ts';
import type { Test } from './test.ts';

/** How near to its target a pressure counts as reached, kPa: the reading is taken against the reference anyway. */
const REACHED_KPA = 1;
const REACH_LIMIT_MS = 4000;
/** A late arrival is given this long to settle. */
const LATE_DWELL_MS = 200;
/** Steepest pressure under which a static reading may be taken, kPa/s. */
const STEADY_KPA_PER_S = 5;
/** Least travel of the output, kPa, out of which a lag can be told; less means that it does not follow at all. */
const LEAST_TRAVEL_KPA = 1;

/** What one point leaves for the next: the output read as a pressure, and the pooled scatter, nest by nest. */
export class PointMemory {
  readonly outputKpa: number[] = [];
  readonly scatter: Scatter[];

  constructor(nests: number) {
    this.scatter = Array.from({ length: nests }, () => ({ squares: 0, freedom: 0 }));
  }
}

/**
 * One pressure point: go there, wait, then read output, supply and reference together. The reading is worth what the
 * pressure was, not what was asked for; so it need only be near and steady.
 */
export async function* pressurePoint(
  test: Test,
  point: TakenPoint,
  memory: PointMemory,
): AsyncGenerator<CycleEvent, void> {
  yield test.enter(`point:${point.id}`);
  const { rig, stop, sampling } = test;
  const targetKpaAbs = point.at.kind === 'absolute' ? point.at.kPaAbs : test.ambientKpaAbs;
  for (const nest of test.underTest) await rig.isolate(nest, false, stop);
  await (point.at.kind === 'absolute' ? rig.setPressure(targetKpaAbs, stop) : rig.vent(stop));

  const fromMs = sampling.nowMs;
  const lags = point.id === test.profile.lag.onPoint ? startLags(test, memory) : null;
  const near = test.nests.map(() => Infinity);
  const follow = (block: SampleBlock): void => {
    eachUnderTest(test, block.nests, (nest, samples) => {
      near[nest] = Math.abs(meanOf(samples.referenceKpaAbs) - targetKpaAbs);
      lags?.get(nest)?.take(samples);
    });
  };
  await sampling.pass(point.dwellMs, follow);
  const reached = (): boolean => test.underTest.every((nest) => (near[nest] ?? Infinity) <= REACHED_KPA);
  if (!reached()) {
    await sampling.until(REACH_LIMIT_MS, (block) => {
      follow(block);
      return reached();
    });
    await sampling.pass(LATE_DWELL_MS, follow);
  }
  checkReached(test, near, targetKpaAbs);
  yield* outputReading(test, point.id, point.apertureMs, memory, lags);
  if (lags !== null) {
    for (const [nest, lag] of lags) {
      const end = lag.finish();
      if (Math.abs(end.travelKpa) < LEAST_TRAVEL_KPA) continue;
      yield test.read(nest, 'lag', fromMs, {
        kind: 'lag',
        lagMs: { value: end.lagMs, u: Math.hypot(test.instruments.skewMs, end.noiseMs) },
        travelKpa: { value: end.travelKpa, u: test.instruments.referenceKpa },
      });
    }
  }
}

/** The scatter of all points together, one reading a nest. */
export function* noiseReadings(test: Test, memory: PointMemory): Generator<CycleEvent, void> {
  for (const nest of test.underTest) {
    const { squares, freedom } = at(memory.scatter, nest);
    if (freedom === 0) continue;
    const { transfer, supply } = test.profile;
    const scatterV = Math.sqrt(squares / freedom) * slopeVPerKpa(transfer, supply.nominalV);
    yield test.read(nest, 'noise', 0, {
      kind: 'noise',
      scatterV: { value: scatterV, u: scatterV / Math.sqrt(2 * freedom) },
    });
  }
}

/** Reads output, supply and reference of every nest under test together over the aperture. */
export async function* outputReading(
  test: Test,
  step: string,
  apertureMs: number,
  memory?: PointMemory,
  lags?: Map<number, NestLag> | null,
): AsyncGenerator<CycleEvent, void> {
  const { rig, profile, sampling, instruments } = test;
  const fromMs = sampling.nowMs;
  const apertures = new Map(
    test.underTest.map((nest) => [nest, new PointAperture(profile.transfer, rig.abilities.sampleHz, apertureMs)]),
  );
  const gathering = new Gathering(test.nests.length);
  await sampling.pass(apertureMs, (block) => {
    gathering.take(block);
    eachUnderTest(test, block.nests, (nest, samples) => {
      apertures.get(nest)?.take(samples);
      lags?.get(nest)?.take(samples);
    });
  });
  checkSteady(apertures);
  compareOpen(test, gathering, test.underTest);
  for (const [nest, aperture] of apertures) {
    const output = aperture.outputV;
    yield test.read(nest, step, fromMs, {
      kind: 'output',
      outputV: output.measured(Math.hypot(instruments.outputV, instruments.outputRelative * output.mean)),
      supplyV: aperture.supplyV.measured(
        Math.hypot(instruments.supplyV, instruments.supplyRelative * aperture.supplyV.mean),
      ),
      referenceKpaAbs: aperture.referenceKpaAbs.measured(instruments.referenceKpa),
      barometerKpaAbs: test.barometerKpaAbs.measured(instruments.barometerKpa),
      partC: aperture.partC.measured(instruments.partC),
    });
    lags?.get(nest)?.settle(aperture);
    if (memory !== undefined) {
      memory.outputKpa[nest] = aperture.outputKpa;
      aperture.addScatter(at(memory.scatter, nest));
    }
  }
}

function eachUnderTest(
  test: Test,
  samples: readonly NestSamples[],
  take: (nest: number, samples: NestSamples) => void,
): void {
  for (let nest = 0; nest < samples.length; nest += 1) {
    const own = samples[nest];
    if (own !== undefined && test.nests[nest]?.is === 'under-test') take(nest, own);
  }
}

function checkReached(test: Test, near: readonly number[], targetKpaAbs: number): void {
  for (const nest of test.underTest) {
    const awayKpa = near[nest] ?? Infinity;
    if (awayKpa > REACHED_KPA)
      throw new StationFault('pressure-not-reached', { nest, facts: { targetKpaAbs, awayKpa } });
  }
}

function checkSteady(apertures: ReadonlyMap<number, PointAperture>): void {
  for (const [nest, aperture] of apertures) {
    const kPaPerS = aperture.pressure.slope;
    if (Math.abs(kPaPerS) > STEADY_KPA_PER_S)
      throw new StationFault('pressure-unsteady', { nest, facts: { slopeKpaPerS: kPaPerS } });
  }
}

/** The lags of all nests under test, from where the output was at the point before. */
function startLags(test: Test, memory: PointMemory): Map<number, NestLag> {
  const { rig, profile } = test;
  return new Map(
    test.underTest.map((nest) => [
      nest,
      new NestLag(profile.transfer, rig.abilities.sampleHz, memory.outputKpa[nest] ?? test.ambientKpaAbs),
    ]),
  );
}
