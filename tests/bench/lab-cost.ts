import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { auditView, latestAudits } from '../../server/audit/audits.ts';
import { lotView } from '../../server/audit/lots.ts';
import { PastLab } from '../../server/cli/demo/lab-past.ts';
import { testLot } from '../../server/cli/demo/line-past.ts';
import { LedgerKeeper } from '../../server/cli/demo/past-keeper.ts';
import { PastStation } from '../../server/cli/demo/plant.ts';
import type { History, Parts } from '../../server/cli/demo/plant.ts';
import { PlantClock } from '../../server/cli/demo/plant-clock.ts';
import type { ScenarioLot } from '../../server/cli/demo/script.ts';
import { openReader } from '../../server/store/reader.ts';
import { openStore } from '../../server/store/store.ts';
import { systemClock } from '../../station/clock.ts';
import { Machine } from '../../station/rig/simulated/machine.ts';
import { MOST_MS } from '../../station/rig/simulated/plant.ts';
import { drawRig } from '../../station/rig/simulated/truth.ts';
import { PROFILES } from '../support/line.ts';
import { goodPart, never } from '../support/simulated-plant.ts';
import { cpuMs, median } from './timing.ts';

const PARTS = Number(process.env['PARTS'] ?? 5000);
const ROUNDS = 5;

/**
 * What the lab costs: an audit of 13 parts at three temperatures, in simulated time, over the same rig let run bare; then
 * the pages of a lot of so many line parts and of its audit over their bare SQL statements.
 */
export async function labCostBench(): Promise<void> {
  const folder = mkdtempSync(join(tmpdir(), 'barolot-bench-'));
  try {
    const path = join(folder, 'ledger.db');
    await auditCost(path);
    pagesCost(path);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

async function auditCost(path: string): Promise<void> {
  const store = openStore(path, { clock: systemClock, program: 'bench' });
  const clock = new PlantClock(new Date('2026-11-01T06:00:00.000Z'));
  const history: History = { keeper: new LedgerKeeper(store), clock, profiles: PROFILES, stop: never };
  const line = new PastStation('EOL-9', { nests: 2, rigSeed: 11, barometerKpaAbs: null }, history);
  const lab = new PastStation('LAB-9', { nests: 8, rigSeed: 12, barometerKpaAbs: null, chamber: true }, history);
  const profile = PROFILES.find(({ content }) => content.partNumber === 'AQ-1105')!;
  const lot: ScenarioLot = {
    ...{ partNumber: 'AQ-1105', lot: 'K90-1', daysAgo: 0, hour: 6 },
    ...{ parts: PARTS, trouble: null, audit: { parts: 13 } },
  };
  const parts: Parts = new Map();
  await line.learn(profile);
  await lab.learn(profile);
  await testLot(history, line, { ...lot, profile }, parts, 1);
  const fromMs = lab.rig.nowMs;
  const from = process.cpuUsage();
  await new PastLab(history, lab).audit({ ...lot, profile }, parts);
  const { user, system } = process.cpuUsage(from);
  const product = (user + system) / 1000;
  const rigS = (lab.rig.nowMs - fromMs) / 1000;
  const cycleS = cycleSecondsOf(path);
  store.close();
  const bare = median(Array.from({ length: ROUNDS }, () => cpuMs(() => runBare(rigS - cycleS, cycleS))));
  console.log(
    `audit of 13 parts at 3 temperatures (with its soak study, draw and decision): ${(rigS / 3600).toFixed(1)} h of rig time, CPU ${product.toFixed(0)} ms; the bare rig ${bare.toFixed(0)} ms for the same time: ${(product / bare).toFixed(2)} times`,
  );
}

/** Seconds of the audit's cycles; the rest is soaks. */
function cycleSecondsOf(path: string): number {
  const reader = openReader(path);
  const [audit] = latestAudits(reader, { partNumber: null, lot: null }, 1);
  const records = reader
    .auditEntries(audit?.audit ?? '')
    .flatMap((entry) => (entry.kind === 'cycle-closed' ? [entry.content.circumstances] : []));
  reader.close();
  return records.reduce(
    (sum, { openedMonotonicMs, closedMonotonicMs }) => sum + (closedMonotonicMs - openedMonotonicMs) / 1000,
    0,
  );
}

/** The same hardware without ports, promises, observer, cycle or ledger. */
function runBare(soakS: number, cycleS: number): void {
  const truth = drawRig(12, { nests: 8, chamber: true });
  const machine = new Machine(truth, truth.loads[0]!);
  const profile = PROFILES.find(({ content }) => content.partNumber === 'AQ-1105')!;
  machine.putIn(
    Array.from({ length: 8 }, (_, nest) => goodPart(profile, nest)),
    1,
  );
  machine.chamber.head(398.15);
  for (let s = 0; s < soakS; s += 1) machine.idle(1000);
  machine.clamp();
  machine.plant.controller.hold(60_000);
  for (let ms = 0; ms < 1000 * cycleS; ms += MOST_MS) machine.pass(MOST_MS, true);
}

function pagesCost(path: string): void {
  const reader = openReader(path);
  const [line] = latestAudits(reader, { partNumber: null, lot: null }, 1);
  const { audit, partNumber, lot } = line!;
  const pages = (): void => {
    lotView(reader, partNumber, lot);
    auditView(reader, audit, 'bench');
  };
  const steps = PROFILES.find(({ content }) => content.partNumber === partNumber)!.content.points.map(({ id }) => id);
  const asked = [
    ...['contact supply-current', 'leak-hold leak', 'lag lag', 'noise noise'].map((each) => each.split(' ')),
    ...steps.map((step) => [step, 'output']),
  ] as [string, string][];
  const when = { condition: 'ambient', from: '2000-01-01T00:00:00.000Z', to: '2100-01-01T00:00:00.000Z' };
  const statements = (): void => {
    reader.lots.results(partNumber, lot);
    for (const [step, quantity] of asked) reader.lots.readings({ partNumber, lot, step, quantity }, when);
    reader.audits.drawn({ partNumber, lot: null }, 100);
    reader.auditEntries(audit);
    reader.dispositions(partNumber, lot);
    reader.lots.results(partNumber, lot);
  };
  const both = Array.from({ length: ROUNDS + 2 }, () => ({ page: cpuMs(pages), sql: cpuMs(statements) })).slice(2);
  const [page, sql] = [median(both.map((each) => each.page)), median(both.map((each) => each.sql))];
  reader.close();
  console.log(
    `pages of a lot of ${PARTS} line parts and of its audit: CPU ${page.toFixed(0)} ms, their bare statements ${sql.toFixed(0)} ms: ${(page / sql).toFixed(2)} times (wanted 3 or less)`,
  );
}
