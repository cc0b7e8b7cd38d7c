import { openStore } from '../../server/store/store.ts';
import type { Store } from '../../server/store/store.ts';
import { verify } from '../../server/store/verify.ts';
import { PROGRAM } from '../support/ledger-content.ts';
import { keepCycle, readyPlan, steppingClock } from '../support/ledger-use.ts';
import type { Saying } from './witness.ts';

/** What was found when a ledger was opened after a cut. */
export interface Aftermath {
  /** Everything that must not be; empty when all is well. */
  readonly wrong: readonly string[];
  readonly closed: number;
  readonly interrupted: number;
  /** Complete records whose verdict nobody saw. */
  readonly unseen: number;
}

/**
 * Opens a ledger as the next start of the server would and compares it with what was witnessed: each record is wholly
 * there or wholly absent, every verdict seen has its record and says the same, none is there twice, every other opened
 * cycle is closed as interrupted, and verify finds nothing. `goOn` also keeps one more cycle.
 */
export function aftermathOf(path: string, sayings: readonly Saying[], options: { goOn: boolean }): Aftermath {
  const wrong: string[] = [];
  // Later than any clock that wrote before, so that the ledger needs no word about a clock set back.
  const store = openStore(path, { clock: steppingClock('2999-01-01T00:00:00.000Z'), program: PROGRAM });
  try {
    store.closeInterrupted();
    if (options.goOn) keepCycle(store, readyPlan(store), store.head().sequence);
    if (store.unfinished().length > 0) wrong.push('a cycle is unfinished after the start');
    const counts = compare(store, sayings, wrong);
    return { wrong, ...counts };
  } finally {
    store.close();
    const { problems } = verify(path);
    wrong.push(...problems.map(({ where, sequence, what }) => `verify: ${where} ${sequence ?? ''} ${what}`));
  }
}

function compare(store: Store, sayings: readonly Saying[], wrong: string[]): Omit<Aftermath, 'wrong'> {
  const kept = new Map<string, { readonly verdicts: string; readonly interrupted: boolean }>();
  for (const entry of store.entriesAfter(0)) {
    if (entry.kind !== 'cycle-closed') continue;
    const { measurement, circumstances } = entry.content;
    if (kept.has(circumstances.cycle)) wrong.push(`${circumstances.cycle} is closed twice`);
    kept.set(circumstances.cycle, {
      verdicts: measurement.results.map(({ verdict }) => verdict).join(),
      interrupted: measurement.faults.some(({ code }) => code === 'interrupted'),
    });
  }
  const seen = new Set<string>();
  for (const saying of sayings) {
    if (saying.says === 'opened' && !kept.has(saying.cycle)) wrong.push(`${saying.cycle} was opened and is gone`);
    if (saying.says !== 'shown') continue;
    seen.add(saying.cycle);
    const shown = saying.verdicts.join();
    const { verdicts = 'nothing' } = kept.get(saying.cycle) ?? {};
    if (verdicts !== shown) wrong.push(`${saying.cycle} was shown as ${shown} and is kept as ${verdicts}`);
  }
  const unwitnessed = [...kept].filter(([cycle]) => !seen.has(cycle));
  const interrupted = unwitnessed.filter(([, record]) => record.interrupted).length;
  return { closed: kept.size, interrupted, unseen: unwitnessed.length - interrupted };
}
