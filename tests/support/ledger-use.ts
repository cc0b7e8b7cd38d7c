import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Clock } from '../../station/clock.ts';
import type { CycleRecord } from '../../station/cycle/record.ts';
import { issueOf } from '../../station/profile/revision.ts';
import type { Plan } from '../../station/profile/plan.ts';
import type { Opening, Store } from '../../server/store/store.ts';
import { ACTOR, PROFILE, RIG, openingOf, planOf, recordOf, traceOf } from './ledger-content.ts';

/** A clock that moves by 7 ms each time it is asked, from a given wall time, and can be set. */
export interface SteppingClock extends Clock {
  set(wall: string): void;
}

export function steppingClock(from = '2025-03-04T06:00:00.000Z'): SteppingClock {
  let wall = Date.parse(from);
  let elapsedMs = 0;
  return {
    nowMs: () => elapsedMs,
    wallTime: () => {
      wall += 7;
      elapsedMs += 7;
      return new Date(wall);
    },
    sleep: () => Promise.resolve(),
    set: (to) => {
      wall = Date.parse(to);
    },
  };
}

/** A folder that is gone when the test is done. */
export function temporaryFolder(): { readonly path: string; remove(): void } {
  const path = mkdtempSync(join(tmpdir(), 'barolot-ledger-'));
  return {
    path,
    remove: () => {
      rmSync(path, { recursive: true, force: true });
    },
  };
}

/** Issues profile and rig revision and returns the plan that rests on them. */
export function readyPlan(store: Store): Plan {
  const profile = issueOf(1, PROFILE);
  store.issueProfile(profile, ACTOR);
  store.issueRigRevision(RIG, ACTOR);
  return planOf(profile);
}

/** Opens and closes the cycle of this number; returns its record. */
export function keepCycle(store: Store, plan: Plan, number: number, overrides: Partial<Opening> = {}): CycleRecord {
  const opening = openingOf(number, overrides);
  const trace = traceOf(number, 600);
  store.openCycle(opening, plan);
  const record = recordOf(opening, plan, number, trace);
  store.closeCycle(record, trace);
  return record;
}
