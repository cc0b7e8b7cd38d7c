import { StationFault } from '../faults.ts';
import type { FaultCode } from '../faults.ts';
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
  /** The least time from being sent on that the profile asks for beside the observer, ms. */
  readonly leastMs: number;
  /** The longest that is waited, ms. */
  readonly limitMs: number;
}

/** What happens in a soak, in the rig's own time from its begin. */
export type SoakEvent =
  | { readonly type: 'sent'; readonly atMs: number; readonly targetC: number }
  /** Every second: where air and parts are, and how long it takes yet if all goes well. */
  | {
      readonly type: 'state';
      readonly atMs: number;
      readonly state: SoakState;
      readonly leftS: number | null;
      /** What the soak waits for now: a door that stands open (the heat is off), missing air or vacuum. Null for nothing. */
      readonly heldBy: FaultCode | null;
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

const STEP_MS = 1000;
/** The observer is run forward only so often; between, time simply passes. */
const LOOK_AHEAD_EVERY = 10;
/** What takes the heat off and lets it be sent on by itself once it is gone. */
const GOES_ON_AFTER: readonly FaultCode[] = ['guard-open', 'air-lost', 'vacuum-lost'];

/**
 * Sends the chamber to a temperature and waits until no part can be away from it any more. What the parts are believed
 * to have follows from the measured air alone. A door that is opened takes the heat off and restarts nothing: the chamber
 * is sent on once it is shut, and the observer carries what the air did. Nothing of the parts is powered or pressed. Ends
 * with the proof. Throws `condition-not-met` after the limit, `instrument-silent` when the air is not measured, and what
 * stops it; the chamber is then left to whoever makes the rig safe.
 */
export async function* soak(rig: Rig, given: Soaking, stop: AbortSignal): AsyncGenerator<SoakEvent, SoakProof> {
  const { condition, targetC, lags, from, rampKPerS, leastMs, limitMs } = given;
  await rig.setChamber(targetC, stop);
  yield { type: 'sent', atMs: 0, targetC };
  let state = from;
  let inBandMs = 0;
  let heldBy: FaultCode | null = null;
  let leftS: number | null = null;
  for (let atMs = 0, step = 0; atMs < limitMs; step += 1) {
    const now: FaultCode | null = await holding(rig, targetC, stop);
    if (step % LOOK_AHEAD_EVERY === 0 || now !== heldBy)
      leftS = yet(secondsToSoak(state, targetC, rampKPerS, lags), leastMs - atMs);
    else if (leftS !== null) leftS = Math.max(0, leftS - STEP_MS / 1000);
    heldBy = now;
    yield { type: 'state', atMs, state, leftS: heldBy === null ? leftS : null, heldBy };
    const { chamberC } = await rig.idle(STEP_MS, stop);
    if (Number.isNaN(chamberC))
      throw new StationFault('instrument-silent', { facts: { instrument: 'chamber thermometer' } });
    atMs += STEP_MS;
    state = soakOn(state, chamberC, STEP_MS / 1000, lags);
    inBandMs = isInBand(state, targetC) ? inBandMs + STEP_MS : 0;
    if (heldBy === null && isSoaked(state, targetC) && atMs >= leastMs) {
      const proof = { condition, targetC, lags, from, state, tookMs: atMs, inBandMs };
      yield { type: 'soaked', atMs, proof };
      return proof;
    }
  }
  throw new StationFault('condition-not-met', { facts: { condition, targetC, airC: state.airC, waitedMs: limitMs } });
}

const yet = (seconds: number | null, leastMs: number): number | null =>
  seconds === null ? null : Math.max(seconds, leastMs / 1000);

/** What the soak waits for, null for nothing; sends it on again once what had tripped the rig is gone. */
async function holding(rig: Rig, targetC: number, stop: AbortSignal): Promise<FaultCode | null> {
  if (!rig.trip.aborted) return null;
  passing(rig.trip.reason);
  // A stop may be pressed while the door stands open: the first cause is then not the last.
  if (!(await rig.interlocks(stop)).stopChainClosed) throw new StationFault('stop-chain-open');
  try {
    await rig.rearm(stop);
    await rig.setChamber(targetC, stop);
    return null;
  } catch (cause) {
    return passing(cause);
  }
}

/** The fault, when the heat may go on by itself after it. Throws any other: who presses a stop has not asked for heat by pulling it out. */
function passing(cause: unknown): FaultCode {
  if (cause instanceof StationFault && GOES_ON_AFTER.includes(cause.code)) return cause.code;
  throw cause;
}

const isInBand = ({ airC }: SoakState, targetC: number): boolean => Math.abs(airC - targetC) <= AIR_WITHIN_K;
