import { afterAll, beforeAll, expect, test, vi } from 'vitest';
import { auditView, latestAudits } from '../../../server/audit/audits.ts';
import { decide } from '../../../server/audit/deciding.ts';
import { drawSample } from '../../../server/audit/drawing.ts';
import { AuditMemory } from '../../../server/audit/memory.ts';
import { auditedLedger } from '../../support/audited-ledger.ts';
import type { AuditedLedger } from '../../support/audited-ledger.ts';
import { PROFILES } from '../../support/line.ts';

const actor = { name: 'M. Orrell', role: 'quality engineer', proof: 'stated' } as const;
const ALL = { partNumber: null, lot: null };
const profile = PROFILES.find(({ content }) => content.partNumber === 'AQ-1105')!;

let ledger: AuditedLedger;
beforeAll(async () => {
  ledger = await auditedLedger(['K90-1', 'K90-2'], { parts: 12, audited: 4 });
}, 60_000);
afterAll(() => {
  ledger.remove();
});

test('whatever is written, what is remembered says the same as what is worked out anew', () => {
  const { store } = ledger;
  const memory = new AuditMemory();
  const [second, first] = store.audits.drawn(ALL, 10).map(({ audit }) => audit);
  const expectSame = (): void => {
    expect(latestAudits(store, ALL, 10, { memory })).toEqual(latestAudits(store, ALL, 10));
    for (const { audit } of store.audits.drawn(ALL, 10))
      expect(auditView(store, audit, 'p', memory)).toEqual(auditView(store, audit, 'p'));
  };
  expectSame();
  const before = auditView(store, second!, 'p', memory);
  expect(before.trend.map(({ audit }) => audit)).toEqual([first, second]);

  // A decision is no entry of the audit's own, and shows all the same.
  decide(store, first!, { decision: 'hold', reason: 'a customer called', concession: null }, actor);
  expectSame();
  expect(auditView(store, first!, 'p', memory).decision?.reason).toBe('a customer called');

  // An earlier audit that is given up stays in what was decided before, and is in no trend of a new one.
  store.audit(() => ({ audit: first!, act: 'abandoned', reason: 'r', actor }));
  expectSame();
  expect(auditView(store, second!, 'p', memory).trend.map(({ audit }) => audit)).toEqual([first, second]);

  // A new draw, a part that is found, one that is missing; a rig that is another before the first cycle.
  const wish = { station: 'LAB-9', profile, lot: 'K90-1', returnToAmbient: false, actor };
  const third = drawSample(store, wish);
  expectSame();
  expect(auditView(store, third, 'p', memory).trend.map(({ audit }) => audit)).toEqual([second]);
  const [one, other] = auditView(store, third, 'p', memory).draw.serials;
  store.audit(() => ({ audit: third, act: 'found', serial: one!, actor }));
  expectSame();
  store.audit(() => ({ audit: third, act: 'missing', serial: other!, reason: 'scrapped', actor }));
  expectSame();
  expect(auditView(store, third, 'p', memory).input.missing).toEqual([{ serial: other, reason: 'scrapped' }]);
  const { revision } = store.latestRigRevision('LAB-9')!;
  store.issueRigRevision({ ...revision, issue: revision.issue + 1, origin: 'real' }, actor);
  expectSame();
  expect(latestAudits(store, ALL, 1, { memory })[0]?.origin).toBe('real');
});

test('nothing is read twice of an audit that has no new entry', () => {
  const { store } = ledger;
  const memory = new AuditMemory();
  const read = vi.spyOn(store, 'auditEntries');
  latestAudits(store, ALL, 10, { memory });
  const audits = store.audits.drawn(ALL, 10).length;
  expect(read).toHaveBeenCalledTimes(audits);
  for (let again = 0; again < 3; again += 1) latestAudits(store, ALL, 10, { memory });
  expect(read).toHaveBeenCalledTimes(audits);
  const { audit } = store.audits.drawn(ALL, 1)[0]!;
  store.audit(() => ({ audit, act: 'abandoned', reason: 'r', actor }));
  latestAudits(store, ALL, 10, { memory });
  expect(read).toHaveBeenCalledTimes(audits + 1);
  read.mockRestore();
});

test('it remembers few whole audits, and none that is not known', () => {
  const { store } = ledger;
  const memory = new AuditMemory();
  const draw = (lot: string): string =>
    drawSample(store, { station: 'LAB-9', profile, lot, returnToAmbient: false, actor });
  const drawn = Array.from({ length: 6 }, () => {
    const audit = draw('K90-2');
    store.audit(() => ({ audit, act: 'abandoned', reason: 'r', actor }));
    return audit;
  });
  const read = vi.spyOn(store, 'auditEntries');
  for (const audit of drawn) memory.whole(store, audit);
  // The last four are there, the first two are not.
  for (const audit of drawn.slice(2)) memory.whole(store, audit);
  expect(read).toHaveBeenCalledTimes(6);
  memory.whole(store, drawn[0]!);
  expect(read).toHaveBeenCalledTimes(7);
  read.mockRestore();
  expect(memory.whole(store, 'none')).toBeNull();
  expect(memory.outcome(store, 'none')).toBeNull();
});
