import { stream } from '../../station/random.ts';
import type { Stream } from '../../station/random.ts';
import type { SoakLags } from '../../station/soak/core-observer.ts';
import type { DummyRun } from '../../station/soak/lags-fit.ts';

/**
 * Parts in a chamber, made apart from the program that observes them: lags of a part, air that overshoots, a place that is
 * warmer or colder than the thermometer's, and a core that is integrated in short steps of its own. Values are those of the
 * shared rig physics (engineering assumptions): 90 s and 300 s with log-spreads 0.10 and 0.12, 3 K/min, overshoot 0.8 K,
 * local air within 0.5 K; that the overshoot dies away with 120 s is assumed here.
 */
export interface SoakedPart {
  readonly lags: SoakLags;
  readonly localK: number;
}

const RAMP_K_PER_S = 0.05;
const OVERSHOOT_K = 0.8;
const OVERSHOOT_S = 120;
const TRUTH_STEP_S = 0.25;

export function drawSoakedPart(chance: Stream): SoakedPart {
  return {
    lags: { shellS: 90 * Math.exp(0.1 * chance.normal()), coreS: 300 * Math.exp(0.12 * chance.normal()) },
    localK: chance.uniform() - 0.5,
  };
}

/** The chamber's air so many seconds after it was sent from one temperature to another, °C. */
export function airAt(seconds: number, fromC: number, toC: number): number {
  const way = Math.sign(toC - fromC);
  const rampS = Math.abs(toC - fromC) / RAMP_K_PER_S;
  if (seconds <= rampS) return fromC + way * RAMP_K_PER_S * seconds;
  const since = seconds - rampS;
  // Up to the overshoot at the ramp's own rate, then back.
  const riseS = OVERSHOOT_K / RAMP_K_PER_S;
  return since <= riseS
    ? toC + way * RAMP_K_PER_S * since
    : toC + way * OVERSHOOT_K * Math.exp(-(since - riseS) / OVERSHOOT_S);
}

/** The true core of a part, second by second, from rest at `fromC` (its own place's), °C; Heun's rule in short steps. */
export function* coreOf({ lags, localK }: SoakedPart, fromC: number, toC: number): Generator<number, never> {
  const local = (t: number): number => airAt(t, fromC, toC) + localK;
  let shell = fromC + localK;
  let core = fromC + localK;
  for (let t = 0; ; t += 1) {
    yield core;
    for (let s = 0; s < 1; s += TRUTH_STEP_S) {
      const [u0, u1] = [local(t + s), local(t + s + TRUTH_STEP_S)];
      const [ds0, dc0] = [(u0 - shell) / lags.shellS, (shell - core) / lags.coreS];
      const [s1, c1] = [shell + TRUTH_STEP_S * ds0, core + TRUTH_STEP_S * dc0];
      const [ds1, dc1] = [(u1 - s1) / lags.shellS, (s1 - c1) / lags.coreS];
      shell += (TRUTH_STEP_S * (ds0 + ds1)) / 2;
      core += (TRUTH_STEP_S * (dc0 + dc1)) / 2;
    }
  }
}

/** What the instrumented dummy of this seed and the chamber's thermometer show, every five seconds over an hour and a half. */
export function dummyRun(part: SoakedPart, seed: number, fromC: number, toC: number): DummyRun {
  const chance = stream(seed, 'dummy', 0);
  const everyS = 5;
  const many = 1080;
  const core = coreOf(part, fromC, toC);
  const coreC = new Float64Array(many);
  for (let k = 0; k < many; k += 1) {
    coreC[k] = core.next().value + 0.05 * chance.normal();
    for (let s = 1; s < everyS; s += 1) core.next();
  }
  return {
    dummy: seed,
    everyS,
    airC: Float64Array.from({ length: many }, (_, k) => airAt(everyS * k, fromC, toC)),
    coreC,
  };
}
