import type { Verdict } from '../../station/cycle/result.ts';
import { REASONS } from '../../station/reasons.ts';
import type { ReasonCode } from '../../station/reasons.ts';

/** Why a nest takes no part until a person has looked at it. */
export interface Lock {
  readonly reason: ReasonCode;
  readonly times: number;
}

/** What the part in a nest gave itself: a pass without, anything else with its reason. */
export interface NestReason {
  readonly verdict: Verdict;
  readonly reason: string | null;
}

const isReason = (code: string): code is ReasonCode => Object.hasOwn(REASONS, code);

/**
 * The same reason so many times running stops a nest: parts seldom fail alike, a fixture does. `latest` are the nest's
 * last results, the newest first; what the station was at fault for is not among them.
 */
export function lockOf(latest: readonly NestReason[], times: number): Lock | null {
  const run = latest.slice(0, times);
  const reason = run[0]?.reason ?? null;
  if (run.length < times || reason === null || !isReason(reason)) return null;
  return run.every((each) => each.reason === reason) ? { reason, times } : null;
}
