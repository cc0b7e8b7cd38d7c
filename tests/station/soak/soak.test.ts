import { describe, expect, test } from 'vitest';
import { StationFault } from '../../../station/faults.ts';
import { stream } from '../../../station/random.ts';
import { simulatedRig } from '../../../station/host/simulated-station.ts';
import { drawPart, partModelOf } from '../../../station/rig/simulated/part.ts';
import { farthest, isSoaked, secondsToSoak, soakFrom, soakOn } from '../../../station/soak/core-observer.ts';
import type { SoakState } from '../../../station/soak/core-observer.ts';
import { fitLags } from '../../../station/soak/lags-fit.ts';
import type { DummyRun } from '../../../station/soak/lags-fit.ts';
import { soak } from '../../../station/soak/soak.ts';
import type { SoakEvent, Soaking, SoakProof } from '../../../station/soak/soak.ts';
import { checkCase, inputsOf, named } from '../../reference/physics-cases.ts';
import { never, profileNamed } from '../../support/simulated-plant.ts';

const at = (c: number) => ({ low: c, high: c });
const LAGS = { shellS: 90, coreS: 300 };
/** The slowest 1 % of parts with time constants of 90 s and 300 s, log-spreads 0.10 and 0.12: exp(2.326 s) times each. */
const SLOWEST = { shellS: 114, coreS: 397 };

describe('the observer follows the closed form of two lags after a step and a ramp', () => {
  test.each(named('two_time_constant_soak'))('%s', (_name, given) => {
    const i = inputsOf(given, 'T0_C', 'T1_C', 'rampRate_K_per_s', 'tauShell_s', 'tauCore_s');
    const lags = { shellS: i.tauShell_s, coreS: i.tauCore_s };
    const rate = i.rampRate_K_per_s;
    const airAt = (seconds: number): number => {
      if (rate === 0) return i.T1_C;
      const gone = Math.min(rate * seconds, Math.abs(i.T1_C - i.T0_C));
      return i.T0_C + Math.sign(i.T1_C - i.T0_C) * gone;
    };
    const run = (until: (state: SoakState, seconds: number) => boolean): { state: SoakState; seconds: number } => {
      const stepS = 0.5;
      let state = soakFrom(airAt(0), at(i.T0_C));
      let seconds = 0;
      for (; !until(state, seconds); seconds += stepS) state = soakOn(state, airAt(seconds + stepS), stepS, lags);
      return { state, seconds };
    };
    checkCase(given, (name, when) =>
      name === 'coreT_C'
        ? run((_state, seconds) => seconds >= when['t_s']!).state.coreC.low
        : run(({ coreC }) => Math.abs(coreC.low - i.T1_C) <= 1).seconds,
    );
  });
});

test('a core lags a steady ramp by its rate times both time constants: 0.05 K/s x 390 s', () => {
  let state = soakFrom(0, at(0));
  for (let s = 1; s <= 6000; s += 1) state = soakOn(state, 0.05 * s, 1, LAGS);
  expect(state.airC - state.coreC.low).toBeCloseTo(19.5, 3);
});

test('who began between two temperatures and is no slower stays between them, whatever the air does', () => {
  const chance = stream(20_261_125, 'soak-span', 0);
  for (let round = 0; round < 50; round += 1) {
    let air = 25;
    let span = soakFrom(air, { low: -40, high: 125 });
    let one = soakFrom(air, at(-40 + 165 * chance.uniform()));
    for (let step = 0; step < 300; step += 1) {
      air = Math.max(-45, Math.min(130, air + 20 * (chance.uniform() - 0.5)));
      [span, one] = [soakOn(span, air, 10, LAGS), soakOn(one, air, 10, LAGS)];
      expect(one.coreC.low).toBeGreaterThanOrEqual(span.coreC.low - 1e-9);
      expect(one.coreC.low).toBeLessThanOrEqual(span.coreC.high + 1e-9);
    }
  }
});

test('a part that nobody knows anything of takes longer than one from the bench, and is soaked all the same', () => {
  const known = secondsToSoak(soakFrom(25, at(25)), 125, 0.05, SLOWEST);
  const unknown = secondsToSoak(soakFrom(25, { low: -40, high: 125 }), 125, 0.05, SLOWEST);
  expect(known).toBeGreaterThan(2000);
  expect(unknown).toBeGreaterThan(known ?? Infinity);
  // A chamber that cannot get there never soaks.
  expect(secondsToSoak(soakFrom(25, at(25)), 125, 0, SLOWEST)).toBeNull();
});

test('the time to soak grows with both time constants', () => {
  const from = soakFrom(25, at(25));
  const times = [60, 90, 120].flatMap((shellS) =>
    [200, 300, 400].map((coreS) => secondsToSoak(from, -40, 0.05, { shellS, coreS }) ?? Infinity),
  );
  for (let row = 0; row < 3; row += 1)
    for (let column = 1; column < 3; column += 1)
      expect(times[3 * row + column]).toBeGreaterThan(times[3 * row + column - 1]!);
  for (let column = 0; column < 3; column += 1) expect(times[6 + column]).toBeGreaterThan(times[column]!);
});

describe('the lags of an instrumented dummy', () => {
  /** A step from 25 to 125 °C: the closed form with two lags (textbook), every 5 s, with a thermometer's noise. */
  const stepRun = (t1: number, t2: number, noiseK: number): DummyRun => {
    const chance = stream(7, 'dummy', Math.round(t1));
    const many = 600;
    const airC = new Float64Array(many).fill(125);
    const coreC = Float64Array.from({ length: many }, (_, k) => {
      const t = 5 * k;
      const left = (t1 * Math.exp(-t / t1) - t2 * Math.exp(-t / t2)) / (t1 - t2);
      return 125 - 100 * left + noiseK * chance.normal();
    });
    return { dummy: 0, everyS: 5, airC, coreC };
  };

  test.each([
    [90, 300],
    [70, 240],
    [114, 397],
  ])('%d s and %d s are found again', (t1, t2) => {
    const clean = fitLags(stepRun(t1, t2, 0));
    expect(clean?.shellS).toBeCloseTo(t1, 1);
    expect(clean?.coreS).toBeCloseTo(t2, 1);
    const noisy = fitLags(stepRun(t1, t2, 0.1));
    expect(Math.abs((noisy?.coreS ?? 0) / t2 - 1)).toBeLessThan(0.02);
    expect(noisy?.rmsK).toBeGreaterThan(0.08);
    expect(noisy?.rmsK).toBeLessThan(0.12);
  });

  test('nothing is made of a run that says too little', () => {
    const { everyS, airC, coreC } = stepRun(90, 300, 0);
    expect(fitLags({ dummy: 0, everyS, airC: airC.slice(0, 59), coreC: coreC.slice(0, 59) })).toBeNull();
    expect(fitLags({ dummy: 0, everyS, airC, coreC: new Float64Array(600).fill(25) })).toBeNull();
  });
});

/** Runs a soak to its end. */
async function toEnd(events: AsyncGenerator<SoakEvent, SoakProof>): Promise<{ said: SoakEvent[]; proof: SoakProof }> {
  const said: SoakEvent[] = [];
  for (;;) {
    const step = await events.next();
    if (step.done === true) return { said, proof: step.value };
    said.push(step.value);
  }
}

describe('a soak on the simulated chamber', () => {
  const NESTS = 8;
  const { content } = profileNamed('AQ-1105');
  const loaded = () => {
    const rig = simulatedRig({ nests: NESTS, rigSeed: 2, barometerKpaAbs: null, chamber: true });
    rig.loadParts(Array.from({ length: NESTS }, (_, n) => drawPart(5, n, partModelOf(content))));
    return rig;
  };
  const hot: Soaking = {
    condition: 'hot',
    targetC: 125,
    lags: SLOWEST,
    from: soakFrom(23, at(23)),
    rampKPerS: 0.05,
    leastMs: 0,
    limitMs: 3 * 3_600_000,
  };

  test('is over when every part has the temperature, as long as it said at the begin, with its proof', async () => {
    const rig = loaded();
    const { said, proof } = await toEnd(soak(rig, hot, never));
    for (const partC of rig.inside.partC) expect(Math.abs(partC - 125)).toBeLessThan(1.2);
    const first = said.find((event) => event.type === 'state');
    expect(Math.abs(((first?.leftS ?? 0) * 1000) / proof.tookMs - 1)).toBeLessThan(0.03);
    // 42.9 min by the rule of ten minutes in the band, 55.1 by this one, in a study of 4,000 simulated parts from 25 °C.
    expect(proof.tookMs / 60_000).toBeGreaterThan(52);
    expect(proof.tookMs / 60_000).toBeLessThan(60);
    expect(isSoaked(proof.state, 125)).toBe(true);
    expect(said.at(-1)).toMatchObject({ type: 'soaked', proof });
    // Interrupted and begun anew where nobody knows what the parts have: proved again, from the worst case.
    const again = { ...hot, from: soakFrom(proof.state.airC, { low: -40, high: 125 }) };
    const { proof: anew } = await toEnd(soak(rig, again, never));
    expect(farthest(anew.state.coreC, 125)).toBeLessThanOrEqual(1);
    expect(anew.tookMs).toBeGreaterThan(20 * 60_000);
  }, 120_000);

  test('waits at least as long as the profile asks for', async () => {
    const rig = simulatedRig({ nests: 1, rigSeed: 2, barometerKpaAbs: null, chamber: true });
    const near = { ...hot, condition: 'ambient' as const, targetC: 23, from: soakFrom(23, at(23)) };
    const { proof } = await toEnd(soak(rig, { ...near, leastMs: 90_000 }, never));
    // The chamber came from the room, a little away: the observer alone would have been content sooner.
    expect(proof.tookMs).toBe(90_000);
  });

  test('that cannot end is a fault of the station, and a stop ends it at once', async () => {
    const rig = simulatedRig({ nests: 1, rigSeed: 2, barometerKpaAbs: null, chamber: true });
    await expect(toEnd(soak(rig, { ...hot, limitMs: 60_000 }, never))).rejects.toMatchObject({
      code: 'condition-not-met',
      facts: { condition: 'hot', targetC: 125, waitedMs: 60_000 },
    });
    const stop = new AbortController();
    const events = soak(rig, hot, stop.signal);
    await events.next();
    stop.abort(new StationFault('operator-stop'));
    await events.next();
    await expect(events.next()).rejects.toMatchObject({ code: 'operator-stop' });
    const bare = simulatedRig({ nests: 1, rigSeed: 2, barometerKpaAbs: null });
    await expect(toEnd(soak(bare, hot, never))).rejects.toMatchObject({ code: 'not-testable' });
  });

  test('goes on by itself once a door is shut again, but never after a stop that was pressed while it stood open', async () => {
    const rig = simulatedRig({ nests: 1, rigSeed: 2, barometerKpaAbs: null, chamber: true });
    const events = soak(rig, hot, never);
    const heldBy = async (): Promise<string | null> => {
      for (;;) {
        const step = await events.next();
        if (step.done !== true && step.value.type === 'state') return step.value.heldBy;
      }
    };
    await heldBy();
    rig.strike({ where: {}, what: 'guard-open', size: 0 });
    await heldBy();
    expect(await heldBy()).toBe('guard-open');
    rig.mend();
    expect(await heldBy()).toBeNull();
    rig.strike({ where: {}, what: 'guard-open', size: 0 });
    await heldBy();
    expect(await heldBy()).toBe('guard-open');
    rig.strike({ where: {}, what: 'stop-chain-open', size: 0 });
    await expect(toEnd(events)).rejects.toMatchObject({ code: 'stop-chain-open' });
  });
});
