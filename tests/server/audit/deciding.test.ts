import { expect, test } from 'vitest';
import { auditView } from '../../../server/audit/audits.ts';
import { suspectLots } from '../../../server/audit/deciding.ts';
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
