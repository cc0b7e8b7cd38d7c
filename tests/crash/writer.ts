import { openSync } from 'node:fs';
import { systemClock } from '../../station/clock.ts';
import { StoreError } from '../../server/store/errors.ts';
import { openStore } from '../../server/store/store.ts';
import type { Store } from '../../server/store/store.ts';
import { ACTOR, PROGRAM } from '../support/ledger-content.ts';
import { cycles as own } from './cycles.ts';
import type { Cycles } from './cycles.ts';
import { say, shown } from './witness.ts';

/** What the writer is told on its command line, as JSON. */
export interface Errand {
  readonly ledger: string;
  readonly seed: number;
  /** The module whose `cycles` are run; null is for those of cycles.ts. */
  readonly cycles: string | null;
  /** The file that its witness writes; null is the standard output. */
  readonly witness: string | null;
  /** How many cycles to close; null is until it is killed. */
  readonly limit: number | null;
  readonly checkpointEvery: number;
  /** At the end: close the store, or open one more cycle and leave without closing anything. */
  readonly end: 'close' | 'cut off';
}

/** The exit code of a writer that the store refused. */
const REFUSED = 3;

/** Opens a ledger, closes what was cut off, and runs cycles; says each verdict only when its record was kept. */
async function write(errand: Errand): Promise<void> {
  const store = openStore(errand.ledger, { clock: systemClock, program: PROGRAM });
  try {
    await writeCycles(store, errand);
  } catch (cause) {
    if (!(cause instanceof StoreError)) throw cause;
    say(1, { says: 'refused', code: cause.code });
    // What failed once must not be gone on with as if nothing had been.
    store.journal({ action: 'note', subject: 'again', facts: {}, comment: null, actor: ACTOR });
    say(1, { says: 'done' });
  }
}

async function writeCycles(store: Store, errand: Errand): Promise<void> {
  const witness = errand.witness === null ? 1 : openSync(errand.witness, 'a');
  store.closeInterrupted();
  const cycles = errand.cycles === null ? own : ((await import(errand.cycles)) as { cycles: Cycles }).cycles;
  say(witness, { says: 'ready' });
  let closed = 0;
  for await (const { opening, plan, run } of cycles({ store, seed: errand.seed })) {
    const { cycle } = opening;
    store.openCycle(opening, plan);
    say(witness, { says: 'opened', cycle });
    if (closed === errand.limit) break;
    const { record, trace } = await run();
    store.closeCycle(record, trace);
    say(witness, shown(cycle, record.measurement.results));
    closed += 1;
    if (closed % errand.checkpointEvery === 0) store.checkpoint();
    if (closed === errand.limit && errand.end === 'close') break;
  }
  if (errand.end === 'close') store.close();
  say(witness, { says: 'done' });
  process.exit(0);
}

try {
  await write(JSON.parse(process.argv[2] ?? '') as Errand);
} catch (cause) {
  if (!(cause instanceof StoreError)) throw cause;
  say(1, { says: 'refused', code: cause.code });
  process.exit(REFUSED);
}
