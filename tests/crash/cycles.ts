import type { CycleRecord } from '../../station/cycle/record.ts';
import type { Plan } from '../../station/profile/plan.ts';
import type { Opening, Store } from '../../server/store/store.ts';
import { openingOf, recordOf, traceOf } from '../support/ledger-content.ts';
import { readyPlan } from '../support/ledger-use.ts';

/** One cycle for the writer: what is opened, and what comes out of it when it has run. */
export interface WrittenCycle {
  readonly opening: Opening;
  readonly plan: Plan;
  readonly run: () => Promise<{ readonly record: CycleRecord; readonly trace: Uint8Array | null }>;
}

/** Where the writer's cycles come from; a module's `cycles` of this type can be named on its command line. */
export type Cycles = (given: { readonly store: Store; readonly seed: number }) => AsyncGenerator<WrittenCycle>;

/** Cycles that take no time: the ledger is what is tested. */
export const cycles: Cycles = async function* ({ store, seed }) {
  const plan = readyPlan(store);
  // Ends with the process, or when its caller has had enough.
  for (let number = 0; ; number += 1) {
    const unique = store.head().sequence;
    const opening = openingOf(unique, {
      cycle: `cycle-${unique}-${seed}`,
      load: [`S${unique}`, number % 3 === 0 ? `T${unique}` : null],
    });
    yield {
      opening,
      plan,
      run: async () => {
        const trace = traceOf(unique + seed, 600);
        return { record: recordOf(opening, plan, unique + seed, trace), trace };
      },
    };
  }
};
