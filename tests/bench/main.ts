import { auditsBench } from './audits.ts';
import { capabilityBench, coverageStudy } from './capability.ts';
import { commitBench } from './commit.ts';
import { cycleBench } from './cycle.ts';
import { distributionsBench } from './distributions.ts';
import { labCostBench } from './lab-cost.ts';
import { killsBench } from './kills.ts';
import { reportsBench } from './reports.ts';
import { risk } from './risk.ts';
import { liveBench, routesBench, screenBench } from './server-cost.ts';
import { soakBench } from './soak.ts';
import { summaryBench } from './summary.ts';
import { topicsBench } from './topics.ts';
import { tripBench } from './trip.ts';

/** `npm run bench [-- distributions|coverage|…]`: figures as ratios in one run; nothing here is a pass or a fail. */
const BENCHES: Readonly<Record<string, () => Promise<void> | void>> = {
  distributions: distributionsBench,
  summary: summaryBench,
  capability: capabilityBench,
  coverage: coverageStudy,
  topics: topicsBench,
  cycle: cycleBench,
  commit: commitBench,
  trip: () => tripBench({ trips: Number(process.env['TRIPS'] ?? 1000), seed: Number(process.env['SEED'] ?? 1) }),
  'lab-cost': labCostBench,
  reports: reportsBench,
  routes: routesBench,
  live: liveBench,
  screen: screenBench,
  kills: () => killsBench({ kills: Number(process.env['KILLS'] ?? 300), seed: Number(process.env['SEED'] ?? 1) }),
  soak: () => soakBench({ soaks: Number(process.env['SOAKS'] ?? 4000), seed: Number(process.env['SEED'] ?? 1) }),
  audits: () =>
    auditsBench({
      audits: Number(process.env['AUDITS'] ?? 1000),
      samples: Number(process.env['SAMPLES'] ?? 4000),
      seed: Number(process.env['SEED'] ?? 1),
    }),
  risk: () =>
    risk({
      parts: Number(process.env['PARTS'] ?? 20_000),
      rigs: Number(process.env['RIGS'] ?? 200),
      seed: Number(process.env['SEED'] ?? 1),
    }),
};

const wanted = process.argv.slice(2);
const unknown = wanted.filter((name) => !(name in BENCHES));
if (unknown.length > 0) {
  console.error(`no bench ${unknown.join(', ')}; there are ${Object.keys(BENCHES).join(', ')}`);
  process.exitCode = 3;
} else {
  for (const [name, run] of Object.entries(BENCHES)) {
    if (wanted.length === 0 || wanted.includes(name)) await run();
  }
}
