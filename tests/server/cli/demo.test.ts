import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { auditView, latestAudits } from '../../../server/audit/audits.ts';
import { suspectLots } from '../../../server/audit/deciding.ts';
import { latestLots, lotView } from '../../../server/audit/lots.ts';
import { samplingPlanView } from '../../../server/audit/sampling.ts';
import { makeHistory } from '../../../server/cli/demo/demo.ts';
import { LedgerKeeper } from '../../../server/cli/demo/past-keeper.ts';
import { SCENARIO } from '../../../server/cli/demo/script.ts';
import { openStore } from '../../../server/store/store.ts';
import type { Store } from '../../../server/store/store.ts';
import { verify } from '../../../server/store/verify.ts';
import { systemClock } from '../../../station/clock.ts';
import { AuditedLots } from '../../support/audited-lots.ts';
import { PROGRAM } from '../../support/ledger-content.ts';
import { PROFILES } from '../../support/line.ts';
import { never } from '../../support/simulated-plant.ts';

/** The whole scenario, made once: real cycles on simulated rigs. */
const END = new Date('2026-11-26T12:00:00.000Z');
let folder: string;
let store: Store;
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'barolot-demo-'));
  store = openStore(join(folder, 'ledger.db'), { clock: systemClock, program: PROGRAM });
  await makeHistory({ keeper: new LedgerKeeper(store), profiles: PROFILES, stop: never, end: END }, () => undefined);
  store.checkpoint();
}, 180_000);
afterAll(() => {
  store.close();
  rmSync(folder, { recursive: true, force: true });
});

const lotOf = (lot: string) => {
  const found = SCENARIO.find((each) => each.lot === lot)!;
  return lotView(store, found.partNumber, lot);
};

test('the ledger is sound, and says when things were measured apart from when they were stored', () => {
  expect(verify(join(folder, 'ledger.db'))).toMatchObject({ ok: true, problems: [] });
  expect(
    latestLots(store, 50)
      .map(({ lot }) => lot)
      .sort(),
  ).toEqual(SCENARIO.map(({ lot }) => lot).sort());
  const [last] = store.latest(1);
  expect(last!.at > last!.record.circumstances.closedAt).toBe(true);
  expect(Date.parse(last!.record.circumstances.closedAt)).toBeLessThan(END.getTime());
  expect(last!.record.circumstances.origin).toBe('simulated');
  expect(store.unfinished()).toEqual([]);
});

test('what people work by is left as it was: no plan of theirs is replaced, no lot of theirs is held', async () => {
  for (const partNumber of new Set(SCENARIO.map((each) => each.partNumber)))
    expect(samplingPlanView(store, partNumber)).toMatchObject({ isDefault: true, plan: { kind: 'zero-acceptance' } });
  const [line] = latestAudits(store, { partNumber: 'AQ-1105', lot: 'K24-3' }, 1);
  expect(auditView(store, line!.audit, 'Alder Quay').input.plan).toEqual({ kind: 'fixed', n: 13 });
  // A lot of their own, tested before the scenario decides on its drifting one.
  const copy = openStore(join(folder, 'beside', 'ledger.db'), { clock: systemClock, program: PROGRAM });
  try {
    const keeper = new LedgerKeeper(copy);
    const lots = new AuditedLots(copy);
    const { partNumber } = lots.profile.content;
    const scenario = SCENARIO.find((each) => each.lot === 'K24-3')!.lot;
    for (const lot of ['W-1', scenario, 'W-2']) lots.line(lot, 4);
    const { audit, serials } = await keeper.draw({
      ...{ station: 'line-1', profile: lots.profile, lot: scenario, parts: 2, happenedAt: END.toISOString() },
    });
    expect(serials).toHaveLength(2);
    lots.test(audit, 1);
    await keeper.decide(audit, END.toISOString());
    const decided = (lot: string) => copy.latestDisposition(partNumber, lot)?.content.decision;
    expect([decided('W-1'), decided(scenario), decided('W-2')]).toEqual([undefined, 'hold', undefined]);
  } finally {
    copy.close();
  }
});

test('the lot that drifts at hot is held while ambient looks fine, and it is said where and why', () => {
  const [line] = latestAudits(store, { partNumber: 'AQ-1105', lot: 'K24-3' }, 1);
  const { evaluation, decision, trend } = auditView(store, line!.audit, 'Alder Quay');
  // Which parts are drawn is chance: of 60 draws 33 had one or more parts already outside, four at most.
  expect(evaluation.bad).toBeLessThan(7);
  expect(evaluation.proposal.decision).toBe('hold');
  expect(decision).toMatchObject({ decision: 'hold', proof: 'stated' });
  expect(evaluation.weakest).toEqual({ stage: 3, step: 'ambient' });
  const ambient = evaluation.cells.filter(({ stage }) => stage === 2);
  expect(Math.min(...ambient.map(({ ppk }) => ppk!))).toBeGreaterThan(1.67);
  expect(evaluation.findings).toContainEqual(
    expect.objectContaining({
      code: 'span-falls',
      facts: expect.objectContaining({ stage: 3, parts: 13, of: 13 }) as object,
    }),
  );
  // The audits before it were good: it is the last point of a trend that fell.
  expect(trend.map(({ lot }) => lot)).toEqual(['K22-1', 'K22-4', 'K23-2', 'K24-3']);
  expect(trend.slice(0, -1).every(({ ppk }) => ppk > 1.33)).toBe(true);
});

test('a hold takes the neighbours along, back to the last lot that an audit accepted', () => {
  const suspects = suspectLots(store, 'AQ-1105', 'K24-3');
  expect(suspects.map(({ lot, is, decision }) => [lot, is, decision])).toEqual([
    ['K23-6', 'before', 'hold'],
    ['K24-1', 'before', 'hold'],
    ['K24-2', 'before', 'hold'],
    ['K24-3', 'this', 'hold'],
    ['K24-4', 'after', null],
  ]);
  expect(lotOf('K23-2').state).toBe('accepted');
  expect(lotOf('K24-1').state).toBe('on-hold');
  // Each lot says on whose account it is held, and by which audit.
  expect(lotOf('K24-1').decided).toMatchObject({ neighbourOf: 'K24-3', audit: null });
  expect(lotOf('K24-3').decided).toMatchObject({ neighbourOf: null, audit: expect.any(String) as string });
});

test('parts of another part number are named before they see pressure', () => {
  const { reasons } = lotOf('K23-6');
  expect(reasons[0]).toMatchObject({ reason: 'other-class', parts: 3 });
  const cycles = store.byLot('AQ-1105', 'K23-6', 100).map(({ record }) => record.measurement);
  const named = cycles.flatMap(({ results, readings }) =>
    results.flatMap(({ nest, why }) =>
      why[0]?.code === 'other-class'
        ? [readings.filter((reading) => reading.nest === nest).map(({ kind, step }) => `${kind} ${step}`)]
        : [],
    ),
  );
  expect(named.length).toBeGreaterThanOrEqual(3);
  for (const readings of named) expect(readings).toEqual(['current contact', 'output ambient-check']);
});

test('a nest with a bad seal is named as a nest: its parts pass in another', () => {
  const { reasons, counts } = lotOf('M22-3');
  const [leak] = reasons;
  expect(leak).toMatchObject({ reason: 'leak' });
  expect(leak!.nests[0]).toMatchObject({ station: 'EOL-2', nest: 2 });
  expect(leak!.nests[0]!.parts / leak!.parts).toBeGreaterThan(0.9);
  expect(counts.firstPass.of - counts.firstPass.passed).toBeGreaterThan(10);
  expect(counts.passed).toBe(counts.parts);
});
