import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { stateOfAudit } from '../../server/audit/audits.ts';
import { decide } from '../../server/audit/deciding.ts';
import { drawSample } from '../../server/audit/drawing.ts';
import { PastLab } from '../../server/cli/demo/lab-past.ts';
import { testLot } from '../../server/cli/demo/line-past.ts';
import { ENGINEER, LedgerKeeper } from '../../server/cli/demo/past-keeper.ts';
import type { PastDraw, PastKeeper } from '../../server/cli/demo/past-keeper.ts';
import { PlantClock } from '../../server/cli/demo/plant-clock.ts';
import { PastStation } from '../../server/cli/demo/plant.ts';
import type { Parts } from '../../server/cli/demo/plant.ts';
import { openStore } from '../../server/store/store.ts';
import type { Store } from '../../server/store/store.ts';
import { systemClock } from '../../station/clock.ts';
import { PROGRAM } from './ledger-content.ts';
import { PROFILES } from './line.ts';
import { never } from './simulated-plant.ts';

/** The whole of each lot: which parts a draw takes is chance, what is measured on all of them is not. */
const SAMPLE = 5;
/** Of the parts: lots whose means at ambient are alike within what five parts show. */
const SEED = 41;
const DRIFT = { is: 'span-drift', percentPer100K: -4 } as const;

/** What becomes of each lot; in the order in which they are made. */
const LOTS = [
  { lot: 'K23-2', partNumber: 'AQ-1105', decision: 'accept', tested: SAMPLE, isBack: true, trouble: null },
  { lot: 'K24-3', partNumber: 'AQ-1105', decision: 'hold', tested: SAMPLE, isBack: false, trouble: DRIFT },
  { lot: 'K24-4', partNumber: 'AQ-1105', decision: null, tested: 2, isBack: false, trouble: null },
  { lot: 'K24-5', partNumber: 'AQ-1105', decision: null, tested: 0, isBack: false, trouble: null },
  { lot: 'M24-1', partNumber: 'AQ-2105', decision: null, tested: 0, isBack: false, trouble: null },
] as const;

/** A ledger of audits by real cycles on simulated rigs, and their ids by what they are. */
export interface ComparedAudits {
  readonly store: Store;
  readonly ledger: string;
  /** AQ-1105, K23-2: good parts, accepted; ambient once more at the end. */
  readonly good: string;
  /** AQ-1105, K24-3: parts whose span falls with temperature; held after the good one. */
  readonly drifting: string;
  /** AQ-1105, K24-4: two of five parts tested, nobody has decided. */
  readonly unfinished: string;
  /** AQ-1105, K24-5: drawn last, nothing tested. */
  readonly untouched: string;
  /** AQ-2105, M24-1: drawn. */
  readonly foreign: string;
  end(): void;
}

/** Draws and decides as `LOTS` says. */
class ScriptedKeeper extends LedgerKeeper {
  readonly #store: Store;
  readonly audits = new Map<string, string>();

  constructor(store: Store) {
    super(store);
    this.#store = store;
  }

  override draw({ parts: n, ...wish }: Parameters<PastKeeper['draw']>[0]): Promise<PastDraw> {
    const { partNumber } = wish.profile.content;
    const { tested, isBack } = lotOf(wish.lot);
    this.#store.samplingPlan({ partNumber, plan: { kind: 'fixed', n }, reason: 'process audit', actor: ENGINEER });
    const audit = drawSample(this.#store, { ...wish, returnToAmbient: isBack, actor: ENGINEER });
    this.audits.set(wish.lot, audit);
    const { serials, conditions } = stateOfAudit(this.#store, audit).drawn.content;
    return Promise.resolve({ audit, serials: serials.slice(0, tested), conditions });
  }

  override decide(audit: string, decidedAt: string): Promise<void> {
    const { decision } = lotOf(stateOfAudit(this.#store, audit).drawn.content.lot);
    if (decision !== null)
      decide(this.#store, audit, { decision, reason: 'as scripted', concession: null }, ENGINEER, decidedAt);
    return Promise.resolve();
  }
}

const lotOf = (lot: string): (typeof LOTS)[number] => LOTS.find((each) => each.lot === lot)!;

/** Makes the lots at the line, audits them in the lab, and decides. */
export async function comparedAudits(): Promise<ComparedAudits> {
  const folder = mkdtempSync(join(tmpdir(), 'barolot-compared-'));
  const ledger = join(folder, 'ledger.db');
  const store = openStore(ledger, { clock: systemClock, program: PROGRAM });
  const keeper = new ScriptedKeeper(store);
  const clock = new PlantClock(new Date('2026-11-01T06:00:00.000Z'));
  const history = { keeper, clock, profiles: PROFILES, stop: never };
  const line = new PastStation('EOL-2', { nests: 2, rigSeed: 11, barometerKpaAbs: null }, history);
  const bench = new PastStation('LAB-2', { nests: SAMPLE, rigSeed: 12, barometerKpaAbs: null, chamber: true }, history);
  const lab = new PastLab(history, bench);
  const parts: Parts = new Map();
  for (const [index, { lot, partNumber, trouble }] of LOTS.entries()) {
    const profile = PROFILES.find(({ content }) => content.partNumber === partNumber)!;
    const made = {
      ...{ lot, partNumber, trouble, profile },
      daysAgo: 0,
      hour: 0,
      parts: SAMPLE,
      audit: { parts: SAMPLE },
    };
    await line.learn(profile);
    await testLot(history, line, made, parts, SEED + index);
    await bench.learn(profile);
    await lab.audit(made, parts);
  }
  store.checkpoint();
  const audit = (lot: string): string => keeper.audits.get(lot) ?? '';
  return {
    ...{ store, ledger, good: audit('K23-2'), drifting: audit('K24-3'), unfinished: audit('K24-4') },
    ...{ untouched: audit('K24-5'), foreign: audit('M24-1') },
    end: () => {
      store.close();
      rmSync(folder, { recursive: true, force: true });
    },
  };
}
