import { closeSync, fdatasyncSync, openSync, writeSync } from 'node:fs';
import { join } from 'node:path';
import { systemClock } from '../../station/clock.ts';
import { canonicalJson } from '../../station/hash.ts';
import type { CycleRecord } from '../../station/cycle/record.ts';
import { runAndKeep } from '../../server/records/keep.ts';
import { RecordText } from '../../server/store/record-text.ts';
import { openStore } from '../../server/store/store.ts';
import type { Store } from '../../server/store/store.ts';
import { simulatedProofs } from '../../station/host/simulated-station.ts';
import { ACTOR, PROGRAM, traceOf } from '../support/ledger-content.ts';
import { temporaryFolder } from '../support/ledger-use.ts';
import { goodPart, never, stationFor } from '../support/simulated-plant.ts';
import { median } from './timing.ts';

/** The first cycles compile the code and lengthen the write-ahead log. */
const WARMING = 60;
const ROUNDS = 480;
const CHECKPOINT_EVERY = 30;
const BLOCK_BYTES = 4096;

/** What is measured at the end of a cycle, one a cycle in turn, so that all meet the same storage and the same caches. */
const TURNS = ['sync', 'same', 'close', 'text'] as const;
type Part = (typeof TURNS)[number] | 'open';

/**
 * What durability costs against the least that it can cost on the same storage in the same run: appending 4 kB to a
 * file and syncing its data. The product's own road on the simulated rig, unpaced: every time is that of one call, in
 * the place where the product calls it, a whole simulated cycle after the last. A checkpoint, with the readings' own
 * table, falls between cycles as it does at a station, and is not timed.
 */
export async function commitBench(): Promise<void> {
  const { profile, revision, plan, rig } = await stationFor('AQ-1105');
  const folder = temporaryFolder();
  const store = openStore(join(folder.path, 'ledger.db'), { clock: systemClock, program: PROGRAM });
  const file = openSync(join(folder.path, 'appended'), 'w');
  const costs: Record<Part, number[]> = { sync: [], same: [], open: [], close: [], text: [] };
  let round = 0;
  const cost = <T>(part: Part, work: () => T): T => {
    const from = systemClock.nowMs();
    const made = work();
    if (round >= WARMING) costs[part].push(systemClock.nowMs() - from);
    return made;
  };
  const append = (part: Part, ...pieces: readonly (Uint8Array | string)[]): void => {
    cost(part, () => {
      for (const piece of pieces) writeSync(file, piece as Uint8Array);
      fdatasyncSync(file);
    });
  };
  const block = traceOf(1, BLOCK_BYTES);
  const watched = watch(store, {
    openCycle: (open) => cost('open', open),
    closeCycle: (close, record, trace) => {
      const turn = TURNS[round % TURNS.length];
      if (turn === 'close') return cost('close', close);
      if (turn === 'sync') append('sync', block);
      else if (turn === 'same') append('same', canonicalJson(record), trace ?? '');
      else cost('text', () => watched.text.of(record));
      return close();
    },
  });
  try {
    store.issueProfile(profile, ACTOR);
    store.issueRigRevision(revision, ACTOR);
    for (round = 0; round < WARMING + ROUNDS; round += 1) {
      rig.loadParts([goodPart(profile, 2 * round), goodPart(profile, 2 * round + 1)], round);
      const load = [0, 1].map((nest) => `AQ1105-${String(2 * round + nest).padStart(5, '0')}`);
      const { problem } = await runAndKeep(
        rig,
        { plan, load, proofs: simulatedProofs([]) },
        { lot: 'K24-3', program: PROGRAM, actor: ACTOR, seed: round },
        { clock: systemClock, store, stop: never },
      );
      if (problem !== null) throw new Error('a cycle of the bench is kept', { cause: problem });
      if (round % CHECKPOINT_EVERY === CHECKPOINT_EVERY - 1) store.checkpoint();
    }
  } finally {
    closeSync(file);
    store.close();
    folder.remove();
  }
  const over = (part: Part, reference: Part): string => (median(costs[part]) / median(costs[reference])).toFixed(2);
  const line = (name: string, part: Part): string =>
    `  ${name.padEnd(52)} ${median(costs[part]).toFixed(2)} ms  ${over(part, 'sync')} x 4 kB  ${over(part, 'same')} x its bytes`;
  console.log(
    [
      'commit: medians, over appending 4 kB and over appending the record itself, each with fdatasync (wanted 1.5 or less)',
      line('append 4 kB + fdatasync', 'sync'),
      line('append the bytes of record and trace + fdatasync', 'same'),
      line('opening a cycle, all of it', 'open'),
      line('closing a cycle, all of it', 'close'),
      line('of which checks and text of the record (CPU)', 'text'),
    ].join('\n'),
  );
}

/** Puts itself around the two calls that a cycle waits for. */
function watch(
  store: Store,
  around: {
    openCycle: (open: () => ReturnType<Store['openCycle']>) => ReturnType<Store['openCycle']>;
    closeCycle: (
      close: () => ReturnType<Store['closeCycle']>,
      record: CycleRecord,
      trace: Uint8Array | null,
    ) => ReturnType<Store['closeCycle']>;
  },
): { readonly text: RecordText } {
  const text = new RecordText();
  const [open, close, makeReady] = [
    store.openCycle.bind(store),
    store.closeCycle.bind(store),
    store.makeReady.bind(store),
  ];
  store.openCycle = (...given) => around.openCycle(() => open(...given));
  store.closeCycle = (...given) => around.closeCycle(() => close(...given), ...given);
  store.makeReady = (part) => {
    makeReady(part);
    text.makeReady(part);
  };
  return { text };
}
