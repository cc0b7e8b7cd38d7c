import { StationFault } from '../faults.ts';
import type { Plan } from '../profile/plan.ts';
import type { Rig } from '../rig/port.ts';
import type { NestCharacter } from '../rig/revision.ts';
import { type Measured, paM3PerSFrom, ratingFactor } from '../units.ts';
import { fillAll, shutOff } from './fill.ts';
import { volumeFrom } from './leak.ts';
import { Mean } from './means.ts';
import { NestHold } from './nest-hold.ts';
import { holdHash } from './proof.ts';
import { clampParts, ready } from './ready.ts';
import { BLOCK_MS } from './sampling.ts';
import { Test } from './test.ts';
import { release, vent } from './vent.ts';

/** What a person puts into every nest before a hold: sealed masters, or sealed masters with a calibrated leak beside. */
export type Fitting = 'sealed' | 'calibrated-leak';

/** How a characterisation is done. */
export interface Characterising {
  /** Sealed holds: at least 20, so that the spread of the next one is known to a fifth. */
  readonly sealedHolds: number;
  readonly leakHolds: number;
  /** The calibrated leak as its certificate rates it, std cm³/min from the profile's test pressure to 101.325 kPa. */
  readonly leakStdCm3PerMin: Measured;
  /** Resolves when every nest holds what is asked for and the guard is shut. */
  fit(what: Fitting, hold: number): Promise<void>;
}

/** One nest over one hold. */
interface Seen {
  readonly slopePaPerS: number;
  readonly curvePa: readonly number[];
  readonly heldKpaAbs: number;
}

/**
 * Finds out what every nest does on its own with one part number: its sealed fall and the spread of it, and its volume
 * by a calibrated leak. It is measured through the port like everything else. `plan` is a `study` plan of the part
 * number on the rig revision before this one. Throws the StationFault that stopped it, the rig made safe.
 */
export async function characterise(
  rig: Rig,
  plan: Plan,
  how: Characterising,
  stop: AbortSignal,
): Promise<NestCharacter[]> {
  const sealed: Seen[][] = [];
  const leaking: { seen: Seen[]; ambientKpaAbs: number; roomC: number }[] = [];
  for (let hold = 0; hold < how.sealedHolds; hold += 1) {
    await how.fit('sealed', hold);
    sealed.push((await holdAll(rig, plan, stop)).seen);
  }
  for (let hold = 0; hold < how.leakHolds; hold += 1) {
    await how.fit('calibrated-leak', hold);
    leaking.push(await holdAll(rig, plan, stop));
  }
  return Array.from({ length: rig.abilities.nests }, (_, nest) => {
    const own = sealed.flatMap((seen) => seen[nest] ?? []);
    const sealedPaPerS = over(own.map(({ slopePaPerS }) => slopePaPerS));
    const volumes = leaking.flatMap(({ seen, ambientKpaAbs, roomC }) => {
      const with_ = seen[nest];
      if (with_ === undefined) return [];
      const { testKpaAbs } = plan.profile.content.leakHold;
      // The leak passes less than its rating at the pressure that was held: the rating law backwards.
      const factor = ratingFactor(testKpaAbs, with_.heldKpaAbs, ambientKpaAbs);
      const flow = paM3PerSFrom(how.leakStdCm3PerMin.value, roomC) / factor;
      return [{ flow, slopePaPerS: with_.slopePaPerS }];
    });
    const flow = over(volumes.map((volume) => volume.flow));
    const withLeak = over(volumes.map((volume) => volume.slopePaPerS));
    const relative = how.leakStdCm3PerMin.u / how.leakStdCm3PerMin.value;
    const steps = Math.min(...own.map(({ curvePa }) => curvePa.length));
    const curve = Array.from({ length: steps }, (_unused, step) => over(own.map(({ curvePa }) => curvePa[step] ?? 0)));
    return {
      nest,
      partNumber: plan.profile.content.partNumber,
      hold: holdHash(plan.profile.content),
      volumeM3: volumeFrom(
        { value: flow.mean, u: flow.mean * relative },
        { value: withLeak.mean, u: withLeak.sd / Math.sqrt(withLeak.n) },
        { value: sealedPaPerS.mean, u: sealedPaPerS.sd / Math.sqrt(sealedPaPerS.n) },
      ),
      sealedPaPerS: { mean: sealedPaPerS.mean, sd: sealedPaPerS.sd, holds: sealedPaPerS.n },
      curveStepMs: BLOCK_MS,
      sealedCurvePa: curve.map(({ mean }) => hundredths(mean)),
      sealedCurveSdPa: curve.map(({ sd }) => hundredths(sd)),
    };
  });
}

/** One hold of all nests: the same steps as in a cycle, without parts' electrics and without a judgement. */
async function holdAll(rig: Rig, plan: Plan, stop: AbortSignal) {
  await rig.rearm(stop);
  const load = Array.from({ length: rig.abilities.nests }, (_, nest) => `master in nest ${nest + 1}`);
  const test = new Test(rig, plan, load, AbortSignal.any([stop, rig.trip]));
  try {
    await drain(ready(test));
    await drain(clampParts(test));
    const [refuser] = await fillAll(test);
    if (refuser !== undefined) throw new StationFault('pressure-not-reached', { nest: refuser.hold.nest });
    await shutOff(test);
    const holds = test.underTest.map((nest) => new NestHold(nest));
    const { stabiliseMs, measureMs } = plan.profile.content.leakHold;
    const rate = rig.abilities.sampleHz;
    await test.sampling.pass(stabiliseMs, (block) => {
      for (const hold of holds) hold.take(block, rate);
    });
    for (const hold of holds) hold.measure();
    await test.sampling.pass(measureMs, (block) => holds.forEach((hold) => hold.take(block, rate)));
    const seen = holds.map(
      (hold): Seen => ({
        slopePaPerS: hold.slopePaPerS,
        curvePa: hold.curvePa,
        heldKpaAbs: hold.heldKpaAbs.mean,
      }),
    );
    await drain(vent(test));
    await drain(release(test));
    return { seen, ambientKpaAbs: test.ambientKpaAbs, roomC: test.roomC.mean };
  } catch (cause) {
    await rig.safe();
    throw cause;
  }
}

/** Runs phases whose events nobody keeps: what they say is in what they measured. */
async function drain(events: AsyncGenerator<unknown, void>): Promise<void> {
  let step = await events.next();
  while (step.done !== true) step = await events.next();
}

function over(values: readonly number[]): Mean {
  const mean = new Mean();
  for (const value of values) mean.add(value);
  return mean;
}

const hundredths = (value: number): number => Math.round(value * 100) / 100;
