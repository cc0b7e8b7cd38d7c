/** How slowly a part follows the chamber's air: two first-order lags, air to shell to core, s. */
export interface SoakLags {
  readonly shellS: number;
  readonly coreS: number;
}

/** Between which two temperatures a part's shell and core lie, °C. */
export interface SoakState {
  readonly airC: number;
  readonly shellC: Span;
  readonly coreC: Span;
}

export interface Span {
  readonly low: number;
  readonly high: number;
}

/** Air nearer the target than this, K, and a core nearer than this, K, are soaked. */
export const AIR_WITHIN_K = 1.5;
export const CORE_WITHIN_K = 1;

/**
 * A part of which it is only known that all of it lies between two temperatures, in air of `airC`. A part from the bench
 * has both at room temperature; one of which nobody knows where it was has those that the chamber can reach.
 */
export const soakFrom = (airC: number, part: Span): SoakState => ({ airC, shellC: part, coreC: part });

/**
 * The state after `seconds`, in which the measured air went in a straight line to `airC`. The lags are linear and keep
 * order: a part that began within the span and is no slower than the lags ends within it, or nearer the air. Exact for
 * that path (textbook solution of tau y' = u - y for a ramp u).
 */
export function soakOn(before: SoakState, airC: number, seconds: number, lags: SoakLags): SoakState {
  const shellC = each(before.shellC, (shell) => follow(shell, before.airC, airC, seconds, lags.shellS));
  // The shell's own path bends less in a step of some seconds than the core can tell.
  const coreC = {
    low: follow(before.coreC.low, before.shellC.low, shellC.low, seconds, lags.coreS),
    high: follow(before.coreC.high, before.shellC.high, shellC.high, seconds, lags.coreS),
  };
  return { airC, shellC, coreC };
}

/** Whether air and every core that is possible are at the target, °C. */
export const isSoaked = ({ airC, coreC }: SoakState, targetC: number): boolean =>
  Math.abs(airC - targetC) <= AIR_WITHIN_K && farthest(coreC, targetC) <= CORE_WITHIN_K;

/** The farthest that a core can be from the target, K. */
export const farthest = ({ low, high }: Span, targetC: number): number =>
  Math.max(Math.abs(low - targetC), Math.abs(high - targetC));

const STEP_S = 5;
const LONGEST_S = 24 * 3600;

/**
 * When something will be so, and the state then, if the air goes on to the target at `rampKPerS` and stays there: the
 * observer run forward in steps of 5 s, for `leastS` at least. Null when a day is not enough.
 */
export function lookAhead(
  from: SoakState,
  given: {
    readonly targetC: number;
    readonly rampKPerS: number;
    readonly lags: SoakLags;
    readonly leastS: number;
    readonly isSo: (state: SoakState) => boolean;
  },
): { readonly seconds: number; readonly state: SoakState } | null {
  const { targetC, rampKPerS, lags, leastS, isSo } = given;
  let state = from;
  for (let seconds = 0; seconds <= LONGEST_S; seconds += STEP_S) {
    if (seconds >= leastS && isSo(state)) return { seconds, state };
    const ahead = targetC - state.airC;
    const most = rampKPerS * STEP_S;
    state = soakOn(state, state.airC + Math.max(-most, Math.min(most, ahead)), STEP_S, lags);
  }
  return null;
}

/** Seconds until soaked, as `lookAhead` says it. */
export const secondsToSoak = (from: SoakState, targetC: number, rampKPerS: number, lags: SoakLags): number | null =>
  lookAhead(from, { targetC, rampKPerS, lags, leastS: 0, isSo: (state) => isSoaked(state, targetC) })?.seconds ?? null;

const each = ({ low, high }: Span, of: (value: number) => number): Span => ({ low: of(low), high: of(high) });

function follow(y: number, u0: number, u1: number, seconds: number, tauS: number): number {
  const behind = (tauS * (u1 - u0)) / seconds;
  return u1 - behind + (y - u0 + behind) * Math.exp(-seconds / tauS);
}
