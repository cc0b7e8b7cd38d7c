import { join } from 'node:path';
import { test as base } from 'vitest';
import type { Plan } from '../../station/profile/plan.ts';
import { openStore } from '../../server/store/store.ts';
import type { Store } from '../../server/store/store.ts';
import { PROGRAM } from './ledger-content.ts';
import { readyPlan, steppingClock, temporaryFolder } from './ledger-use.ts';
import type { SteppingClock } from './ledger-use.ts';

interface LedgerFixture {
  readonly folder: string;
  readonly path: string;
  readonly clock: SteppingClock;
  readonly store: Store;
  readonly plan: Plan;
}

/** A ledger in a temporary file, with its clock, and a plan that may be run. */
export const test = base.extend<LedgerFixture>({
  // Vitest finds out what a fixture needs from its first parameter's pattern.
  folder: async ({}, use) => {
    const folder = temporaryFolder();
    await use(folder.path);
    folder.remove();
  },
  path: async ({ folder }, use) => {
    await use(join(folder, 'kept', 'ledger.db'));
  },
  clock: async ({}, use) => {
    await use(steppingClock());
  },
  store: async ({ path, clock }, use) => {
    const store = openStore(path, { clock, program: PROGRAM });
    await use(store);
    store.close();
  },
  plan: async ({ store }, use) => {
    await use(readyPlan(store));
  },
});
