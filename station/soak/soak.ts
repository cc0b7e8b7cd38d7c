import { StationFault } from '../faults.ts';
import type { ConditionId } from '../profile/schema.ts';
import type { Rig } from '../rig/port.ts';
import { AIR_WITHIN_K, isSoaked, secondsToSoak, soakOn } from './core-observer.ts';
import type { SoakLags, SoakState } from './core-observer.ts';

/** What a soak is given. */
export interface Soaking {
  readonly condition: ConditionId;
  readonly targetC: number;
  /** How slowly the slowest 1 % of parts follow the air, from a study of instrumented dummies under full load. */
  readonly lags: SoakLags;
  /** Where the parts are, as far as it is known. */
  readonly from: SoakState;
  /** How fast the chamber is expected to move, K/s: for the estimated end only. */
  readonly rampKPerS: number;
  /** Time within the air's band that the profile asks for beside the observer, ms. */
  readonly leastMs: number;
  /** The longest that is waited, ms. */
  readonly limitMs: number;
}

/** What happens in a soak, in the rig's own time from its begin. */
export type SoakEvent =
  | { readonly type: 'sent'; readonly atMs: number; readonly targetC: number }
  /** Every ten seconds: where air and parts are, and how long it takes yet if all goes well. */
  | {
      readonly type: 'state';
      readonly atMs: number;
      readonly state: SoakState;
      readonly leftS: number | null;
    }
  | { readonly type: 'soaked'; readonly atMs: number; readonly proof: SoakProof };

/** Why a condition was believed to be reached: kept with the cycle that rests on it. */
export interface SoakProof {
  readonly condition: ConditionId;
  readonly targetC: number;
  readonly lags: SoakLags;
  readonly from: SoakState;
  readonly state: SoakState;
  readonly tookMs: number;
  readonly inBandMs: number;
}

const BLOCK_MS = 20;
const STEP_MS = 1000;
const TELL_EVERY = 10;

/**
 * Sends the chamber to a temperature and waits until no part can be away from it any more. What the parts are believed
 * to have follows from the measured air alone, so that a door that was opened is carried along. Nothing of the parts is
 * powered or pressed. Ends with the proof. Throws `condition-not-met` after the limit, `instrument-silent` when the air
 * is not measured, and what stops it; the chamber is then left to whoever makes the rig safe.
 */
export async function* soak(rig: Rig, given: Soaking, stop: AbortSignal): AsyncGenerator<SoakEvent, SoakProof> {
  const { condition, targetC, lags, from, rampKPerS, leastMs, limitMs } = given;
  await rig.setChamber(targetC, stop);
  yield { type: 'sent', atMs: 0, targetC };
  let state = from;
  let inBandMs = 0;
  for (let atMs = 0, step = 0; atMs < limitMs; step += 1) {
    if (step % TELL_EVERY === 0)
      yield { type: 'state', atMs, state, leftS: secondsToSoak(state, targetC, rampKPerS, lags) };
    const airC = await airOver(rig, STEP_MS, stop);
    atMs += STEP_MS;
    state = soakOn(state, airC, STEP_MS / 1000, lags);
    inBandMs = isInBand(state, targetC) ? inBandMs + STEP_MS : 0;
    if (isSoaked(state, targetC) && inBandMs >= leastMs) {
      const proof = { condition, targetC, lags, from, state, tookMs: atMs, inBandMs };
      yield { type: 'soaked', atMs, proof };
      return proof;
    }
  }
  throw new StationFault('condition-not-met', { facts: { condition, targetC, airC: state.airC, waitedMs: limitMs } });
}

/** The measured air, °C, over the last of some time: the mean of the blocks' values. */
async function airOver(rig: Rig, ms: number, stop: AbortSignal): Promise<number> {
  let sum = 0;
  for (let passed = 0; passed < ms; passed += BLOCK_MS) {
    rig.renewDeadMan();
    const { chamberC } = await rig.acquire(BLOCK_MS, stop);
    if (Number.isNaN(chamberC))
      throw new StationFault('instrument-silent', { facts: { instrument: 'chamber thermometer' } });
    sum += chamberC;
  }
  return sum / (ms / BLOCK_MS);
}

const isInBand = ({ airC }: SoakState, targetC: number): boolean => Math.abs(airC - targetC) <= AIR_WITHIN_K;
