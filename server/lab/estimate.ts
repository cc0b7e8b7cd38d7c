import type { CycleRecord } from '../../station/cycle/record.ts';
import type { Plan } from '../../station/profile/plan.ts';
import type { SoakLags, SoakState } from '../../station/soak/core-observer.ts';
import { isSoaked, lookAhead } from '../../station/soak/core-observer.ts';
import { partsToLoad, stagesOf } from '../audit/state.ts';
import type { AuditState } from '../audit/state.ts';
import { expectedPhases } from '../line/work.ts';
import type { LabView } from './contract.ts';
import { isTouchable } from './door.ts';
import { fromBench } from './soak-books.ts';

/** What an audit has before it, as far as it is known. Temperatures °C. */
export interface Road {
  /** The stage that it is at, from 1. */
  readonly stage: number;
  /** The conditions of a load in order, and the least time that the profile asks for at each, s. */
  readonly stages: readonly { readonly targetC: number; readonly leastS: number }[];
  readonly lags: SoakLags;
  /** How fast the chamber is expected to move, K/s. */
  readonly rampKPerS: number;
  /** How long a test takes, s. */
  readonly testS: number;
  readonly roomC: number;
  readonly touch: LabView['touch'];
  /** Loads that are still to be put in after the one that is inside. */
  readonly loadsToCome: number;
  /** To take a load out and lay the next one in by hand, s. */
  readonly handlingS: number;
}

/** Where the load that is inside stands. `stage` counts from 1. */
export type Standing =
  | { readonly at: 'soaking'; readonly stage: number; readonly state: SoakState; readonly soakedS: number }
  | { readonly at: 'testing'; readonly stage: number; readonly state: SoakState; readonly leftS: number }
  | { readonly at: 'coming-down'; readonly state: SoakState };

/** Time by what passes in it: a simulated rig lets chamber and tests go faster than the wall, but nobody's hands. */
export interface Ahead {
  readonly chamberS: number;
  readonly testS: number;
  readonly handS: number;
}

/**
 * How long the load that is inside takes until its door may be opened, and the whole audit until that of its last load.
 * The observer runs ahead: the air moves at the expected ramp, parts follow by the studied lags of the slowest 1 %, each
 * condition lasts as long as the profile asks at least, tests take what they took or are stated to; then the way down to
 * where parts can be touched. The loads to come go in `handlingS` after the one before came out. Nothing is stopped,
 * opened or repeated. Null where a condition would take longer than a day. Pure.
 */
export function aheadOf(road: Road, standing: Standing): { readonly load: Ahead; readonly audit: Ahead } | null {
  const load = loadAhead(road, standing);
  if (load === null) return null;
  if (road.loadsToCome === 0) return { load, audit: load };
  const next = wholeLoad(road);
  if (next === null) return null;
  const { loadsToCome: n, handlingS } = road;
  const audit = {
    chamberS: load.chamberS + n * next.chamberS,
    testS: load.testS + n * next.testS,
    handS: load.handS + n * handlingS,
  };
  return { load, audit };
}

const wholeLoads = new WeakMap<Road, Ahead | null>();

/** A load from the bench: the same on one road however often it is asked for, and the longest to run ahead. */
function wholeLoad(road: Road): Ahead | null {
  const known = wholeLoads.get(road);
  if (known !== undefined) return known;
  // The door is opened at the room's temperature: a chamber at rest has it by the time that the next load is laid in.
  const fresh = { at: 'soaking', stage: 1, state: fromBench(road.roomC, road.roomC), soakedS: 0 } as const;
  const ahead = loadAhead(road, fresh);
  wholeLoads.set(road, ahead);
  return ahead;
}

function loadAhead(road: Road, standing: Standing): Ahead | null {
  let { state } = standing;
  let chamberS = 0;
  let testS = standing.at === 'testing' ? standing.leftS : 0;
  const first = standing.at === 'coming-down' ? road.stages.length : standing.stage - 1;
  const { lags, rampKPerS, roomC, touch } = road;
  for (const [index, { targetC, leastS }] of road.stages.entries()) {
    if (index < first || (index === first && standing.at === 'testing')) continue;
    const soakedS = index === first && standing.at === 'soaking' ? standing.soakedS : 0;
    const isSo = (at: SoakState): boolean => isSoaked(at, targetC);
    const soaked = lookAhead(state, { targetC, rampKPerS, lags, leastS: leastS - soakedS, isSo });
    if (soaked === null) return null;
    ({ state } = soaked);
    chamberS += soaked.seconds;
    testS += road.testS;
  }
  const isSo = (at: SoakState): boolean => isTouchable(touch, at);
  const down = lookAhead(state, { targetC: roomC, rampKPerS, lags, leastS: 0, isSo });
  return down === null ? null : { chamberS: chamberS + down.seconds, testS, handS: 0 };
}

/**
 * A road with where the load stands on it. `testedMs`: how far the test is, null when none runs. Null before the first look
 * of a soak, for nobody knows then where the air is, and while something keeps the heat off.
 */
export function wayOf(
  road: Road | null,
  now: {
    readonly isDown: boolean;
    readonly testedMs: number | null;
    readonly soak: LabView['soak'];
  },
  state: SoakState | null,
): { readonly road: Road; readonly standing: Standing } | null {
  const { isDown, testedMs, soak } = now;
  if (road === null || state === null || (soak !== null && soak.heldBy !== null)) return null;
  const { stage } = road;
  if (isDown) return { road, standing: { at: 'coming-down', state } };
  if (testedMs !== null)
    return { road, standing: { at: 'testing', stage, state, leftS: Math.max(0, road.testS - testedMs / 1000) } };
  return soak === null ? null : { road, standing: { at: 'soaking', stage, state, soakedS: soak.atMs / 1000 } };
}

/** How fast a station's time passes: 1 as on a real rig. */
export interface Pace {
  readonly pace: number;
  readonly soakPace: number;
}

/** Seconds on the wall. */
export const wallS = ({ chamberS, testS, handS }: Ahead, { pace, soakPace }: Pace): number =>
  chamberS / soakPace + testS / pace + handS;

/** To take a load out and lay in the next: engineering assumptions. Nothing has to be carried to a simulated rig. */
const HANDLING_S = { real: 300, simulated: 30 } as const;

/**
 * The road of an audit as the ledger has it now. `plan` is that of the next test; what the last one took (`last`) says how
 * long it takes. Parts that are found missing later make it shorter: it is made anew for each stage.
 */
export function roadOf(
  state: AuditState,
  given: Pick<Road, 'stage' | 'lags' | 'rampKPerS' | 'roomC' | 'touch'> & {
    readonly plan: Plan;
    readonly last: CycleRecord['measurement']['phases'];
    readonly nests: number;
  },
): Road {
  const { plan, last, nests, ...chamber } = given;
  const { conditions } = plan.profile.content;
  return {
    ...chamber,
    stages: stagesOf(state).flatMap((id) =>
      conditions.flatMap((each) => (each.id === id ? [{ targetC: each.targetC, leastS: each.soakMs / 1000 }] : [])),
    ),
    testS: expectedPhases(plan, last).reduce((sum, { ms }) => sum + ms / 1000, 0),
    loadsToCome: Math.ceil(partsToLoad(state).length / nests),
    handlingS: HANDLING_S[plan.rig.revision.origin],
  };
}

/** The ends as a screen shows them; `now` is the wall's time. Null where nobody can say. */
export function endsOf(road: Road, standing: Standing, pace: Pace, now: Date): LabView['ends'] {
  const ahead = aheadOf(road, standing);
  if (ahead === null) return null;
  const ending = (of: Ahead) => {
    const leftS = wallS(of, pace);
    return { at: new Date(now.getTime() + leftS * 1000).toISOString(), leftS };
  };
  const { loadsToCome, handlingS } = road;
  return { load: ending(ahead.load), audit: ending(ahead.audit), loadsToCome, handlingS };
}
