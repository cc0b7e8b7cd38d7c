import { expect, test } from 'vitest';
import { issueOf } from '../../../station/profile/revision.ts';
import { ACTOR, PROFILE } from '../../support/ledger-content.ts';
import { lotView } from '../../../server/audit/lots.ts';
import { seedOf } from '../../../server/audit/drawing.ts';
import { stateOfAudit } from '../../../server/audit/audits.ts';
import { DecisionBody } from '../../../server/audit/contract.ts';
import { auditView } from '../../../server/audit/audits.ts';
import { suspectLots, suspectsCsv } from '../../../server/audit/deciding.ts';
import type { SamplingPlan } from '../../../server/audit/evaluation/contract.ts';
import { JudgedLots, PART_NUMBER } from '../../support/judged-lots.ts';

const PLAN: SamplingPlan = { kind: 'attributes', n: 4, c: 0, reference: null };

const suspectsOf = ({ store }: JudgedLots, lot: string): [string, string][] =>
  suspectLots(store, PART_NUMBER, lot).map((each) => [each.lot, each.is]);

test('suspect are the lots back to the last good audit, and all up to now, good audits or not', () => {
  const lots = new JudgedLots();
  for (const code of ['A', 'B', 'C', 'D', 'E', 'F']) lots.lot(code, 6);
  lots.audited('B', PLAN, 0, 'accept');
  lots.audited('E', PLAN, 0, 'accept');
  const expected = [
    ['C', 'before'],
    ['D', 'this'],
    ['E', 'after'],
    ['F', 'after'],
  ];
  expect(suspectsOf(lots, 'D')).toEqual(expected);
  lots.audited('D', PLAN, 1, 'reject');
  expect(['A', 'B', 'C', 'D', 'E', 'F'].map((code) => lots.standing(code))).toEqual([
    undefined,
    'accept',
    'hold',
    'reject',
    'hold',
    'hold',
  ]);
  // Held, E is in doubt itself; let go again, its own audit is as good as before.
  expect(suspectsOf(lots, 'F')[0]).toEqual(['C', 'before']);
  expect(lots.atSight('E', 'accept')).toBeNull();
  expect(suspectsOf(lots, 'F')).toEqual([['F', 'this']]);
  // C never had one.
  expect(lots.atSight('C', 'accept')).toBeNull();
  expect(suspectsOf(lots, 'D')).toEqual(expected);
});

test('what was accepted under a concession, or without an audit, is no good audit', () => {
  const lots = new JudgedLots();
  for (const code of ['A', 'B', 'C']) lots.lot(code, 6);
  expect(lots.atSight('A', 'concession')).toBeNull();
  lots.tested(lots.draw('B', PLAN), 1);
  const [audit = ''] = lots.store.audits.drawn({ partNumber: PART_NUMBER, lot: 'B' }, 1).map((each) => each.audit);
  expect(lots.by(audit, 'concession')).toBeNull();
  expect(suspectsOf(lots, 'C').map(([lot]) => lot)).toEqual(['A', 'B', 'C']);
});

test('an audit shows how its lot stands now, where that does not rest on it', () => {
  const lots = new JudgedLots();
  for (const code of ['B', 'A']) lots.lot(code, 6);
  const first = lots.audited('A', PLAN, 0, 'accept');
  const now = (audit: string) => {
    const { decision, lotNow } = auditView(lots.store, audit, '');
    return [decision?.decision ?? null, lotNow?.decision ?? null];
  };
  expect(now(first)).toEqual(['accept', null]);
  // As a neighbour of B.
  const other = lots.audited('B', PLAN, 1, 'reject');
  expect(now(first)).toEqual(['accept', 'hold']);
  expect(now(other)).toEqual(['reject', null]);
  expect(auditView(lots.store, first, '').lotNow).toMatchObject({
    reason: 'neighbour of lot B: r',
    sequence: lots.store.latestDisposition(PART_NUMBER, 'A')?.sequence,
  });
  const second = lots.audited('A', PLAN, 1, 'reject');
  expect(now(first)).toEqual(['accept', 'reject']);
  expect(now(second)).toEqual(['reject', null]);
  expect(lots.atSight('A', 'concession')).toBeNull();
  expect(now(second)).toEqual(['reject', 'accept']);
});

test('the trend of a report is that of its own time, however many audits came after it', () => {
  const lots = new JudgedLots();
  const one: SamplingPlan = { kind: 'fixed', n: 2 };
  for (let n = 0; n < 9; n += 1) lots.lot(`L${n}`, 2);
  const trendOf = (audit: string): string[] => auditView(lots.store, audit, '').trend.map(({ lot }) => lot);
  // Drawn first and decided last: when the others are decided nobody knows what it will say.
  const slow = lots.draw('L0', one);
  const [second = '', third = ''] = ['L1', 'L2'].map((lot) => lots.audited(lot, one, 0, 'hold'));
  expect([second, third].map(trendOf)).toEqual([['L1'], ['L1', 'L2']]);
  lots.tested(slow);
  expect(lots.by(slow, 'hold')).toBeNull();
  expect([second, third].map(trendOf)).toEqual([['L1'], ['L1', 'L2']]);
  expect(trendOf(slow)).toEqual(['L0']);
  const last = ['L3', 'L4', 'L5', 'L6', 'L7'].map((lot) => lots.audited(lot, one, 0, 'hold')).at(-1) ?? '';
  expect(trendOf(last)).toEqual(['L2', 'L3', 'L4', 'L5', 'L6', 'L7']);
  // More draws than anybody would go through one by one.
  for (let n = 0; n < 110; n += 1) lots.givenUp('L8', one, 0, 0);
  expect(trendOf(third)).toEqual(['L1', 'L2']);
});

test('the list of suspect parts says of each whether it is real', () => {
  const lots = new JudgedLots();
  lots.lot('A', 2);
  const [head = '', ...rows] = suspectsCsv(lots.store, PART_NUMBER, 'A').trim().split('\r\n');
  expect(head.split(',').at(-1)).toBe('origin');
  expect(rows.map((row) => row.split(',').at(-1))).toEqual(['simulated', 'simulated']);
});

test('a concession ends on a day that there is and that is not past', () => {
  const body = (until: string) =>
    DecisionBody.safeParse({
      ...{ decision: 'accept', reason: 'r', by: 'x' },
      concession: { reference: 'C', quantity: null, until },
    }).success;
  expect(body('2026-02-28T12:00:00.000Z')).toBe(true);
  expect(['2026-13-45', '2026-02-29', '2026-04-31', '2026-00-10'].map((day) => body(`${day}T12:00:00.000Z`))).toEqual([
    false,
    false,
    false,
    false,
  ]);
  const lots = new JudgedLots();
  lots.lot('A', 2);
  lots.clock.set('2026-11-26T09:00:00.000Z');
  const until = (day: string): string | null => lots.atSight('A', { until: `${day}T12:00:00.000Z` });
  expect(until('2026-11-24')).toBe('concession-over');
  // At 09:00 UTC it is still the 25th on the islands west of the date line.
  expect([until('2026-11-25'), until('2026-11-26'), until('2027-01-01')]).toEqual([null, null, null]);
  const audit = lots.draw('A', { kind: 'fixed', n: 2 });
  lots.tested(audit);
  expect(lots.by(audit, { until: '2026-11-24T12:00:00.000Z' })).toBe('concession-over');
});

test('readings of a lot stay, all of them, when the clock was set back in between', () => {
  const lots = new JudgedLots();
  lots.lot('A', 4);
  lots.clock.set('2025-03-01T00:00:00.000Z');
  for (const n of [10, 12]) lots.cycle('line', 'A', [`A-${n}`, `A-${n + 1}`], {});
  lots.clock.set('2025-03-02T00:00:00.000Z');
  lots.cycle('line', 'A', ['A-20', 'A-21'], {});
  lots.store.checkpoint();
  const { points, counts } = lotView(lots.store, PART_NUMBER, 'A');
  expect(counts.parts).toBe(10);
  expect(points.length).toBeGreaterThan(0);
  for (const { all } of points) expect(all.n).toBe(10);
});

test('every profile revision that parts of a lot were tested by is named', () => {
  const lots = new JudgedLots();
  const second = issueOf(2, { ...PROFILE, title: 'another' });
  lots.store.issueProfile(second, ACTOR);
  lots.lot('A', 2);
  lots.cycle('line', 'A', ['A-10', 'A-11'], {}, { plan: lots.plan('line', second) });
  lots.cycle('line', 'A', ['A-12', 'A-13'], {});
  lots.store.checkpoint();
  expect(lotView(lots.store, PART_NUMBER, 'A')).toMatchObject({ revisions: [1, 2], title: PROFILE.title });
});

test("a capability of several nests together is none; of one nest it is the nest's", () => {
  const lots = new JudgedLots();
  lots.lot('A', 60);
  for (let n = 0; n < 30; n += 1) lots.cycle('line', 'B', [`B-${n}`, null], {});
  lots.store.checkpoint();
  const [both, alone] = ['A', 'B'].map((lot) =>
    lotView(lots.store, PART_NUMBER, lot).points.find(({ step }) => step === 'p60'),
  );
  expect(both?.nests.map(({ cpk }) => typeof cpk)).toEqual(['number', 'number']);
  expect(both?.all.cpk).toBeNull();
  expect(alone?.all.cpk).toBe(alone?.nests[0]?.cpk);
  expect(alone?.all.cpk).not.toBeNull();
});

test('the seed of a draw is the hash of the entry before it, also when the clock was set back', () => {
  const lots = new JudgedLots();
  lots.lot('A', 4);
  lots.store.samplingPlan({ partNumber: PART_NUMBER, plan: PLAN, reason: 'r', actor: ACTOR });
  // Between the last entry and the draw: the draw keeps no other entry before itself.
  lots.clock.set('2025-01-01T00:00:00.000Z');
  const audit = lots.drawAgain('A');
  const { drawn } = stateOfAudit(lots.store, audit);
  const [before, own] = [...lots.store.entriesAfter(drawn.sequence - 2)];
  expect([before?.kind, own?.sequence]).toEqual(['clock-set-back', drawn.sequence]);
  expect(drawn.content.seed).toBe(seedOf(before?.hash ?? '', PART_NUMBER, 'A'));
});

test('the line readings beside an audit are those of this lot, by the revision that each was read by', () => {
  const lots = new JudgedLots();
  lots.lot('A', 2);
  const lineOf = (audit: string): number[] =>
    auditView(lots.store, audit, '').input.line.map(({ errorKpa }) => errorKpa);
  const plan: SamplingPlan = { kind: 'fixed', n: 2 };
  const audit = lots.draw('A', plan);
  const before = lineOf(audit);
  expect(before.length).toBeGreaterThan(0);
  lots.tested(audit);
  expect(lots.by(audit, 'hold')).toBeNull();
  // The same serials again, in another lot: no reading of this one.
  lots.cycle('line', 'Z', lots.sample(audit), {});
  lots.store.checkpoint();
  const again = lots.draw('A', plan);
  expect(lineOf(again).toSorted()).toEqual(before.toSorted());
  lots.tested(again);
  expect(lots.by(again, 'hold')).toBeNull();
  // Tested by a revision of twice the slope before today's was issued: the same volts are half the pressure.
  const slope = PROFILE.transfer.kind === 'ratiometric' ? PROFILE.transfer.slopePerKpa : Number.NaN;
  const steep = issueOf(2, { ...PROFILE, transfer: { ...PROFILE.transfer, slopePerKpa: 2 * slope } as never });
  lots.store.issueProfile(steep, ACTOR);
  const kept = lots.store.byLot(PART_NUMBER, 'A', 100).at(-1)!.record;
  lots.cycle(
    'line',
    'A',
    [...kept.measurement.load],
    {},
    { plan: lots.plan('line', steep), judgements: kept.measurement.judgements },
  );
  lots.store.checkpoint();
  lots.profile = issueOf(3, { ...PROFILE, title: 'today' });
  const last = lineOf(lots.draw('A', plan));
  expect(last.toSorted()).toHaveLength(before.length);
  for (const [at, value] of last.toSorted((a, b) => a - b).entries())
    expect(value).toBeCloseTo((before.toSorted((a, b) => a - b)[at] ?? Number.NaN) / 2, 12);
});
