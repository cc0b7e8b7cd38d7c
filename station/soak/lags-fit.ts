import type { SoakLags } from './core-observer.ts';
import { soakFrom, soakOn } from './core-observer.ts';

/** What an instrumented dummy showed in one change of temperature: air and core at the same instants. */
export interface DummyRun {
  /** Which dummy it is: the same one may be driven several times. */
  readonly dummy: number;
  /** Seconds between two values. */
  readonly everyS: number;
  readonly airC: Float64Array;
  readonly coreC: Float64Array;
}

/** The lags of one dummy, how far its core was from them, K (root mean square), and whether the search had come to an end. */
export interface FittedLags extends SoakLags {
  readonly rmsK: number;
  readonly isConverged: boolean;
}

const START: SoakLags = { shellS: 60, coreS: 240 };
const ROUNDS = 60;
const DAMPING = { first: 1e-2, less: 0.3, more: 4, most: 1e9 };
const NUDGE = 1e-5;

/**
 * The lags with which a dummy's core follows from its air, by least squares over the logarithms of both (Levenberg and
 * Marquardt's damped steps; values from memory, checked against the closed form of the step). The core cannot tell the two
 * lags apart: the longer one is called the core's. Null when the air does not move enough for two lags to be told, or the
 * run is too short: 60 values at least.
 */
export function fitLags(run: DummyRun): FittedLags | null {
  const { airC, coreC } = run;
  if (airC.length !== coreC.length || airC.length < 60) return null;
  if (Math.max(...coreC) - Math.min(...coreC) < 10) return null;
  let at = [Math.log(START.shellS), Math.log(START.coreS)] as [number, number];
  let rest = restOf(run, at);
  let sum = squares(rest);
  let damping = DAMPING.first;
  let isDone = false;
  for (let round = 0; round < ROUNDS && damping < DAMPING.most && !isDone; round += 1) {
    const slopes = at.map((_, k) => {
      const nudged = at.map((value, j) => (j === k ? value + NUDGE : value)) as [number, number];
      const moved = restOf(run, nudged);
      return moved.map((value, i) => (value - (rest[i] ?? 0)) / NUDGE);
    }) as [Float64Array, Float64Array];
    const step = damped(slopes, rest, damping);
    if (step === null) return null;
    const tried: [number, number] = [at[0] + step.shell, at[1] + step.core];
    const triedRest = restOf(run, tried);
    const triedSum = squares(triedRest);
    if (triedSum < sum) {
      isDone = sum - triedSum < 1e-12 * sum;
      [at, rest, sum, damping] = [tried, triedRest, triedSum, damping * DAMPING.less];
    } else damping *= DAMPING.more;
  }
  const [first, second] = at.map(Math.exp) as [number, number];
  return {
    shellS: Math.min(first, second),
    coreS: Math.max(first, second),
    rmsK: Math.sqrt(sum / coreC.length),
    // No step, however small, makes it better.
    isConverged: isDone || damping >= DAMPING.most,
  };
}

/** Core as it was, less what the lags make of the air, K. */
function restOf({ everyS, airC, coreC }: DummyRun, [shell, core]: readonly [number, number]): Float64Array {
  const lags = { shellS: Math.exp(shell), coreS: Math.exp(core) };
  const first = coreC[0] ?? 0;
  let state = soakFrom(airC[0] ?? 0, { low: first, high: first });
  return coreC.map((value, i) => {
    if (i > 0) state = soakOn(state, airC[i] ?? 0, everyS, lags);
    return value - state.coreC.low;
  });
}

/** The damped normal equations of two parameters; null when the data say nothing of one. */
function damped([a, b]: readonly [Float64Array, Float64Array], rest: Float64Array, damping: number) {
  const [aa, ab, bb] = [dot(a, a), dot(a, b), dot(b, b)];
  const [ar, br] = [-dot(a, rest), -dot(b, rest)];
  const [da, db] = [aa * (1 + damping), bb * (1 + damping)];
  const determinant = da * db - ab * ab;
  if (!(determinant > 0)) return null;
  return { shell: (db * ar - ab * br) / determinant, core: (da * br - ab * ar) / determinant };
}

const dot = (a: Float64Array, b: Float64Array): number => a.reduce((sum, value, i) => sum + value * (b[i] ?? 0), 0);
const squares = (values: Float64Array): number => dot(values, values);
