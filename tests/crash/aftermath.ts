import type { Load } from '../../station/cycle/event.ts';
import type { CycleRecord } from '../../station/cycle/record.ts';
import { hashOf } from '../../station/hash.ts';
import type { Hash } from '../../station/hash.ts';
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
 * there or wholly absent, all that was seen has its record with the same results, none is there twice, every other
 * opened cycle is closed as interrupted with every loaded nest not judged, and verify finds nothing. `goOn` also keeps one more cycle.
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
  const loads = new Map<string, Load>();
  const kept = new Map<string, { readonly results: Hash; readonly interrupted: boolean }>();
  for (const { kind, content } of store.entriesAfter(0)) {
    if (kind === 'cycle-opened') loads.set(content.cycle, content.load);
    if (kind !== 'cycle-closed') continue;
    const { measurement, circumstances } = content;
    const { cycle } = circumstances;
    if (kept.has(cycle)) wrong.push(`${cycle} is closed twice`);
    const interrupted = measurement.faults.some(({ code }) => code === 'interrupted');
    if (interrupted && !isUnjudged(measurement, loads.get(cycle) ?? [])) wrong.push(`${cycle} was cut off and judged`);
    kept.set(cycle, { results: hashOf(measurement.results), interrupted });
  }
  const seen = new Set<string>();
  for (const saying of sayings) {
    if (saying.says === 'opened' && !kept.has(saying.cycle)) wrong.push(`${saying.cycle} was opened and is gone`);
    if (saying.says !== 'shown') continue;
    seen.add(saying.cycle);
    if (kept.get(saying.cycle)?.results !== saying.results) wrong.push(`${saying.cycle} is not kept as it was shown`);
  }
  const unwitnessed = [...kept].filter(([cycle]) => !seen.has(cycle));
  const interrupted = unwitnessed.filter(([, record]) => record.interrupted).length;
  return { closed: kept.size, interrupted, unseen: unwitnessed.length - interrupted };
}

/** Whether every loaded nest, and no other, is there as not judged. */
function isUnjudged({ results }: CycleRecord['measurement'], load: Load): boolean {
  const loaded = load.flatMap((serial, nest) => (serial === null ? [] : [`${nest} ${serial} none`]));
  return results.map(({ nest, serial, verdict }) => `${nest} ${serial} ${verdict}`).join() === loaded.join();
}
