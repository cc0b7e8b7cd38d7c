import { closeSync, fdatasyncSync, openSync, writeSync } from 'node:fs';
import { join } from 'node:path';
import { systemClock } from '../../station/clock.ts';
import { openStore } from '../../server/store/store.ts';
import type { Opening } from '../../server/store/store.ts';
import { traceHash } from '../../server/store/traces.ts';
import { Trace } from '../../station/cycle/trace.ts';
import { ACTOR, PROGRAM, traceOf } from '../support/ledger-content.ts';
import { temporaryFolder } from '../support/ledger-use.ts';
import { goodPart, runOn, stationFor } from '../support/simulated-plant.ts';

/** The first cycles compile the code and lengthen the write-ahead log. */
const WARMING = 60;
const ROUNDS = 300;
const CHECKPOINT_EVERY = 30;
const BLOCK_BYTES = 4096;

type Part = 'sync' | 'same' | 'open' | 'ready' | 'commit';

/**
 * What durability costs against the least that it can cost on the same storage in the same run: appending 4 kB to a
 * file and syncing its data. Opening, sync, making ready and commit come in turn, so that all meet the same storage. A
 * checkpoint, with the readings' own table, falls outside the times, as it falls between the cycles of a station.
 */
export async function commitBench(): Promise<void> {
  const { profile, revision, plan, rig } = await stationFor('AQ-1105');
  const trace = new Trace(2);
  const look = {
    onlooker: (block: Parameters<Trace['add']>[0], atMs: number) => {
      trace.add(block, atMs);
    },
  };
  const { measurement } = await runOn(
    { profile, revision, plan, rig, plant: [] },
    [goodPart(profile, 1), goodPart(profile, 2)],
    look,
  );
  const folder = temporaryFolder();
  const store = openStore(join(folder.path, 'ledger.db'), { clock: systemClock, program: PROGRAM });
  const file = openSync(join(folder.path, 'appended'), 'w');
  const costs: Record<Part, number[]> = { sync: [], same: [], open: [], ready: [], commit: [] };
  const cost = <T>(part: Part, work: () => T): T => {
    const from = systemClock.nowMs();
    const made = work();
    costs[part].push(systemClock.nowMs() - from);
    return made;
  };
  try {
    store.issueProfile(profile, ACTOR);
    store.issueRigRevision(revision, ACTOR);
    const block = traceOf(1, BLOCK_BYTES);
    for (let round = 0; round < WARMING + ROUNDS; round += 1) {
      const opening: Opening = {
        cycle: `bench-${round}`,
        station: revision.station,
        lot: 'K24-3',
        load: [...measurement.load],
        openedAt: systemClock.wallTime().toISOString(),
        openedMonotonicMs: round,
        program: PROGRAM,
        actor: ACTOR,
        seed: 1,
      };
      // A trace of its own each round, or it would be stored once.
      const own = trace.bytes();
      own[own.length - 1] = round % 128;
      own[own.length - 2] = 128 + (round >> 7);
      const circumstances = {
        ...opening,
        origin: revision.origin,
        closedAt: opening.openedAt,
        closedMonotonicMs: round,
        trace: traceHash(own),
        barometerKpaAbs: 101.3,
        roomC: 23,
      };
      const { load: _load, ...where } = circumstances;
      const record = { measurement, circumstances: where };
      cost('open', () => store.openCycle(opening, plan));
      cost('sync', () => {
        writeSync(file, block);
        fdatasyncSync(file);
      });
      const ready = cost('ready', () => store.readyToClose(record, own));
      cost('same', () => {
        writeSync(file, ready.entry.stored);
        writeSync(file, ready.trace?.content ?? own);
        fdatasyncSync(file);
      });
      cost('commit', () => store.commit(ready));
      if (round % CHECKPOINT_EVERY === CHECKPOINT_EVERY - 1) store.checkpoint();
    }
  } finally {
    closeSync(file);
    store.close();
    folder.remove();
  }
  const kept = (part: Part): number[] => costs[part].slice(WARMING);
  const over = (part: Part, reference: Part): string => (median(kept(part)) / median(kept(reference))).toFixed(2);
  const line = (name: string, part: Part): string =>
    `  ${name.padEnd(52)} ${median(kept(part)).toFixed(2)} ms  ${over(part, 'sync')} x 4 kB  ${over(part, 'same')} x its bytes`;
  console.log(
    [
      'commit: medians, over appending 4 kB and over appending the record itself, each with fdatasync (wanted 1.5 or less)',
      line('append 4 kB + fdatasync', 'sync'),
      line('append the bytes of record and trace + fdatasync', 'same'),
      line('opening a cycle, all of it', 'open'),
      line('closing: durable commit of record and trace', 'commit'),
      line('closing: checks, text, hashes before it (CPU)', 'ready'),
    ].join('\n'),
  );
}

function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[sorted.length >> 1] ?? Number.NaN;
}
