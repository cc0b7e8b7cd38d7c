import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { PastLab } from '../../server/cli/demo/lab-past.ts';
import { testLot } from '../../server/cli/demo/line-past.ts';
import { LedgerKeeper } from '../../server/cli/demo/past-keeper.ts';
import { PastStation } from '../../server/cli/demo/plant.ts';
import type { History, Parts } from '../../server/cli/demo/plant.ts';
import { PlantClock } from '../../server/cli/demo/plant-clock.ts';
import type { ScenarioLot } from '../../server/cli/demo/script.ts';
import { openStore } from '../../server/store/store.ts';
import type { Store } from '../../server/store/store.ts';
import { systemClock } from '../../station/clock.ts';
import { PROGRAM } from './ledger-content.ts';
import { PROFILES } from './line.ts';
import { never } from './simulated-plant.ts';

/** A ledger on disk, open for writing, with a lot of simulated parts and audits of it that were decided. */
export interface AuditedLedger {
  readonly path: string;
  readonly store: Store;
  readonly partNumber: string;
  readonly lots: readonly string[];
  remove(): void;
}

/** Makes one, with so many parts in each lot and each audit, in simulated time. */
export async function auditedLedger(
  lots: readonly string[],
  { parts, audited }: { readonly parts: number; readonly audited: number },
): Promise<AuditedLedger> {
  const folder = mkdtempSync(join(tmpdir(), 'barolot-audited-'));
  const path = join(folder, 'ledger.db');
  const store = openStore(path, { clock: systemClock, program: PROGRAM });
  const clock = new PlantClock(new Date('2026-11-01T06:00:00.000Z'));
  const history: History = { keeper: new LedgerKeeper(store), clock, profiles: PROFILES, stop: never };
  const line = new PastStation('EOL-9', { nests: 2, rigSeed: 11, barometerKpaAbs: null }, history);
  const lab = new PastStation('LAB-9', { nests: 8, rigSeed: 12, barometerKpaAbs: null, chamber: true }, history);
  const profile = PROFILES.find(({ content }) => content.partNumber === 'AQ-1105')!;
  const tested: Parts = new Map();
  await line.learn(profile);
  await lab.learn(profile);
  const pastLab = new PastLab(history, lab);
  for (const [at, lot] of lots.entries()) {
    const of: ScenarioLot = {
      ...{ partNumber: 'AQ-1105', lot, daysAgo: 0, hour: 6 },
      ...{ parts, trouble: null, audit: { parts: audited } },
    };
    await testLot(history, line, { ...of, profile }, tested, at + 1);
    await pastLab.audit({ ...of, profile }, tested);
  }
  store.checkpoint();
  return {
    path,
    store,
    partNumber: 'AQ-1105',
    lots,
    remove: () => {
      store.close();
      rmSync(folder, { recursive: true, force: true });
    },
  };
}
