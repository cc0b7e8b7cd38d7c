import { expect, test } from 'vitest';
import { decide, suspectLots } from '../../../server/audit/deciding.ts';
import { lotView } from '../../../server/audit/lots.ts';
import { auditView } from '../../../server/audit/audits.ts';
import { issueOf } from '../../../station/profile/revision.ts';
import { closeLot } from '../../../server/audit/lot-closing.ts';
import type { SamplingPlan } from '../../../server/audit/evaluation/contract.ts';
import { ACTOR, PROFILE } from '../../support/ledger-content.ts';
import { JudgedLots, PART_NUMBER } from '../../support/judged-lots.ts';

const none = (n: number): SamplingPlan => ({ kind: 'attributes', n, c: 0, reference: null });
const someOf = (n: number, c: number): SamplingPlan => ({ kind: 'attributes', n, c, reference: 'C-17' });
const fixed = (n: number): SamplingPlan => ({ kind: 'fixed', n });
const RULE = 'against-the-rule';

test('a lot that is held for its own sake is not let go as a neighbour', () => {
  const lots = new JudgedLots();
  lots.lot('A', 8);
  expect(lots.atSight('A', 'accept')).toBe(RULE);
  expect(lots.atSight('A', 'hold')).toBeNull();
  expect(lots.atSight('A', 'accept')).toBe(RULE);
  expect(lots.atSight('A', 'reject')).toBeNull();
  expect(lots.atSight('A', 'hold')).toBeNull();
  expect(lots.atSight('A', 'accept')).toBe(RULE);
  expect(lots.standing('A')).toBe('hold');
  expect(lots.atSight('A', 'concession')).toBeNull();
  expect(lots.standing('A')).toBe('accept');
});

test('a neighbour is let go, unless somebody held it for its own sake since', () => {
  const lots = new JudgedLots();
  for (const code of ['A', 'B', 'C']) lots.lot(code, 8);
  lots.audited('B', none(4), 1, 'reject');
  expect(['A', 'C'].map((code) => lots.standing(code))).toEqual(['hold', 'hold']);
  expect(lots.store.latestDisposition(PART_NUMBER, 'A')?.content.neighbourOf).toBe('B');
  expect(lots.atSight('A', 'accept')).toBeNull();
  expect(lots.atSight('C', 'hold')).toBeNull();
  expect(lots.atSight('C', 'accept')).toBe(RULE);
});

test('holds from before a neighbour was named are told by their reason, and a typed reason makes none', () => {
  const lots = new JudgedLots();
  lots.lot('A', 8);
  lots.lot('B', 8);
  const reason = 'neighbour of lot B: span falls';
  const old = { partNumber: PART_NUMBER, decision: 'hold', concession: null, actor: ACTOR } as const;
  lots.store.disposition({ ...old, lot: 'A', reason });
  expect(lots.atSight('A', 'accept')).toBeNull();
  lots.store.disposition({ ...old, lot: 'B', reason: 'a customer called' });
  expect(lots.atSight('B', 'accept')).toBe(RULE);
  lots.store.disposition({ ...old, lot: 'B', reason, neighbourOf: null });
  expect(lots.atSight('B', 'accept')).toBe(RULE);
});

test('an older audit does not answer for what a newer one found', () => {
  for (const decision of ['reject', 'hold'] as const) {
    const lots = new JudgedLots();
    lots.lot('A', 8);
    const older = lots.audited('A', none(2), 0, 'hold');
    const newer = lots.audited('A', none(2), 1, decision);
    expect(lots.by(older, 'accept')).toBe(RULE);
    expect(lots.by(newer, 'accept')).toBe(RULE);
    expect(lots.by(older, 'concession')).toBeNull();
  }
});

test('a rejected lot goes out by a good audit that was drawn after it', () => {
  const lots = new JudgedLots();
  lots.lot('A', 12);
  // Good, and rejected all the same: a person knows more than thirteen parts.
  const first = lots.audited('A', none(4), 0, 'reject');
  expect(lots.by(first, 'accept')).toBe(RULE);
  expect(lots.atSight('A', 'hold')).toBeNull();
  expect(lots.by(first, 'accept')).toBe(RULE);
  const again = lots.draw('A', none(4));
  expect(lots.by(first, 'accept')).toBe('audit-open');
  lots.tested(again);
  expect(lots.by(first, 'accept')).toBe(RULE);
  expect(lots.by(again, 'accept')).toBeNull();
  // Rejected at sight, without an audit: the same.
  expect(lots.atSight('A', 'reject')).toBeNull();
  expect(lots.by(again, 'accept')).toBe(RULE);
  const last = lots.audited('A', none(4), 0, 'hold');
  expect(lots.by(again, 'accept')).toBe(RULE);
  expect(lots.by(last, 'accept')).toBeNull();
});

test('a refused lot does not go out by a new sample that was not judged whole', () => {
  const refusals: ((lots: JudgedLots) => void)[] = [
    // At sight: no audit speaks against it, only the person.
    (lots) => expect(lots.atSight('A', 'reject')).toBeNull(),
    (lots) => void lots.audited('A', none(4), 1, 'hold'),
  ];
  for (const refuse of refusals) {
    const lots = new JudgedLots();
    lots.lot('A', 12);
    refuse(lots);
    const audit = lots.draw('A', none(4));
    const [first = '', second = '', ...others] = lots.sample(audit);
    lots.load(audit, 'A', [first, second], { [first]: 'none' });
    lots.tested(audit, 0, others);
    expect(lots.by(audit, 'accept')).toBe(RULE);
    expect(lots.by(audit, 'hold')).toBeNull();
  }
});

test('a refusal is settled by a later audit of equal weight only', () => {
  const cases: readonly [SamplingPlan, SamplingPlan, string | null][] = [
    [none(4), none(4), null],
    [none(4), none(6), null],
    [none(4), none(3), RULE],
    [none(4), fixed(4), null],
    [none(4), fixed(1), RULE],
    // More bad parts may not be allowed than before, whoever refers to it.
    [none(4), someOf(4, 1), RULE],
    [someOf(4, 0), someOf(8, 1), RULE],
    // The same plan weighs the same, however few parts it asks of what is left; and so do all parts of the lot.
    [
      { kind: 'zero-acceptance', confidence: 0.9, badShare: 0.1 },
      { kind: 'zero-acceptance', confidence: 0.9, badShare: 0.1 },
      null,
    ],
    // Refused by its index alone: a count of bad parts does not answer for that.
    [{ kind: 'variables', n: 4, k: 9, reference: null }, none(4), RULE],
  ];
  for (const [before, after, refused] of cases)
    for (const decision of ['hold', 'reject'] as const) {
      const lots = new JudgedLots();
      lots.lot('A', 12);
      const first = lots.draw('A', before);
      lots.tested(first, before.kind === 'variables' ? 0 : before.kind === 'attributes' ? before.c + 1 : 1);
      expect(lots.by(first, 'accept')).toBe(RULE);
      expect(lots.by(first, decision)).toBeNull();
      const later = lots.audited('A', after, 0, 'hold');
      expect([before, after, lots.by(later, 'accept')]).toEqual([before, after, refused]);
      if (refused !== null) expect(lots.by(later, 'concession')).toBeNull();
    }
});

test('a hold before the end is no answer to what was found after it', () => {
  const lots = new JudgedLots();
  lots.lot('A', 8);
  const first = lots.draw('A', none(2));
  expect(lots.by(first, 'hold')).toBeNull();
  lots.tested(first, 1);
  const second = lots.audited('A', none(2), 0, 'hold');
  expect(lots.by(second, 'accept')).toBe(RULE);
  // The hold by the second one was with the bad part on record.
  expect(lots.by(lots.audited('A', none(2), 0, 'hold'), 'accept')).toBeNull();
});

test('bad parts of an audit that was given up count until the lot was rejected and drawn from anew', () => {
  const lots = new JudgedLots();
  lots.lot('A', 12);
  lots.givenUp('A', none(4), 2, 1);
  const second = lots.audited('A', none(4), 0, 'hold');
  expect(lots.by(second, 'accept')).toBe(RULE);
  const third = lots.audited('A', none(4), 0, 'hold');
  expect(lots.by(third, 'accept')).toBe(RULE);
  expect(lots.by(third, 'reject')).toBeNull();
  expect(lots.by(third, 'accept')).toBe(RULE);
  const small = lots.audited('A', none(2), 0, 'hold');
  expect(lots.by(small, 'accept')).toBe(RULE);
  expect(lots.by(lots.audited('A', none(4), 0, 'hold'), 'accept')).toBeNull();
});

test('what a given-up audit found is added to what the next one allows, each part once', () => {
  for (const [which, refused] of [
    ['none', null],
    ['the same', null],
    ['another', RULE],
  ] as const) {
    const lots = new JudgedLots();
    lots.lot('A', 12);
    lots.givenUp('A', someOf(4, 1), 2, 1);
    const [seen = ''] = lots.badParts('A');
    // Of all parts: the one that was seen is among them.
    const audit = lots.draw('A', someOf(12, 1));
    const others = lots.sample(audit).filter((serial) => serial !== seen);
    const order = which === 'the same' ? [seen, ...others] : [...others, seen];
    lots.tested(audit, which === 'none' ? 0 : 1, order);
    expect([which, lots.by(audit, 'accept')]).toEqual([which, refused]);
  }
});

test('every part that is left weighs as much as any sample, the same plan as itself, a rejected sample as one that failed', () => {
  const lots = new JudgedLots();
  lots.lot('A', 6);
  const first = lots.draw('A', none(6));
  lots.tested(first, 1);
  expect(lots.by(first, 'hold')).toBeNull();
  // The line sorts two out; four are left.
  lots.cycle(
    'line',
    'A',
    lots.sample(first).slice(0, 2),
    Object.fromEntries(
      lots
        .sample(first)
        .slice(0, 2)
        .map((each) => [each, 'fail']),
    ),
  );
  lots.store.checkpoint();
  const small = lots.audited('A', none(3), 0, 'hold');
  expect(lots.by(small, 'accept')).toBe(RULE);
  expect(lots.by(lots.audited('A', none(4), 0, 'hold'), 'accept')).toBeNull();

  const plan: SamplingPlan = { kind: 'zero-acceptance', confidence: 0.9, badShare: 0.1 };
  lots.lot('B', 24);
  const before = lots.audited('B', plan, 1, 'hold');
  const out = lots.sample(before).slice(0, 12);
  for (let n = 0; n < 12; n += 2)
    lots.cycle('line', 'B', out.slice(n, n + 2), Object.fromEntries(out.map((each) => [each, 'fail'])));
  lots.store.checkpoint();
  const after = lots.audited('B', plan, 0, 'hold');
  expect(lots.sample(after).length).toBeLessThan(lots.sample(before).length);
  expect(lots.by(after, 'accept')).toBeNull();

  lots.lot('C', 12);
  lots.audited('C', none(6), 0, 'reject');
  expect(lots.by(lots.audited('C', none(2), 0, 'hold'), 'accept')).toBe(RULE);
});

test('a hold for a neighbour is no answer to what an audit found', () => {
  const lots = new JudgedLots();
  lots.lot('B', 8);
  lots.lot('A', 8);
  const first = lots.draw('A', none(2));
  expect(lots.by(first, 'hold')).toBeNull();
  expect(lots.by(first, 'hold')).toBeNull();
  lots.tested(first, 1);
  lots.store.disposition({
    ...{ partNumber: PART_NUMBER, lot: 'A', decision: 'hold', reason: 'r', concession: null, actor: ACTOR },
    neighbourOf: 'B',
  });
  expect(lots.by(lots.audited('A', none(2), 0, 'hold'), 'accept')).toBe(RULE);
});

test('an audit that was given up before it found anything binds nobody', () => {
  const lots = new JudgedLots();
  lots.lot('A', 12);
  lots.givenUp('A', none(4), 0, 0);
  lots.givenUp('A', none(4), 2, 0);
  expect(lots.by(lots.audited('A', none(4), 0, 'hold'), 'accept')).toBeNull();
});

test('a neighbour that its own audit speaks against is not let go as one', () => {
  const lots = new JudgedLots();
  for (const code of ['A', 'B', 'C', 'D']) lots.lot(code, 8);
  lots.givenUp('A', none(4), 2, 1);
  lots.tested(lots.draw('B', none(4)), 1);
  lots.draw('C', fixed(4));
  // Two refused tighten a plan of the tables; these are of another kind.
  lots.audited('D', fixed(4), 1, 'hold');
  expect(['A', 'B', 'C'].map((code) => lots.standing(code))).toEqual(['hold', 'hold', 'hold']);
  expect(['A', 'B', 'C'].map((code) => lots.atSight(code, 'accept'))).toEqual([RULE, RULE, 'audit-open']);
});

test('a sample of which nothing was tested accepts no lot', () => {
  const lots = new JudgedLots();
  lots.lot('A', 8);
  const audit = lots.draw('A', none(1));
  const [serial = ''] = lots.sample(audit);
  lots.store.audit(() => ({ audit, act: 'missing', serial, reason: 'r', actor: ACTOR }));
  expect(lots.by(audit, 'accept')).toBe(RULE);
  expect(lots.by(audit, 'hold')).toBeNull();
});

test('no plan lets a bad part out that it does not allow, whatever it proposes', () => {
  for (const plan of [fixed(4), { kind: 'variables', n: 4, k: 0.1, reference: null } as const, none(4)]) {
    const lots = new JudgedLots();
    lots.lot('A', 8);
    const audit = lots.draw('A', plan);
    lots.tested(audit, 1);
    expect(lots.by(audit, 'accept')).toBe(RULE);
    expect(lots.by(audit, 'concession')).toBeNull();
  }
  const lots = new JudgedLots();
  lots.lot('A', 8);
  const audit = lots.draw('A', someOf(4, 1));
  lots.tested(audit, 1);
  expect(lots.by(audit, 'accept')).toBeNull();
});

test('a neighbour that is let go stands as it stood before: open, closed, or accepted for so many parts', () => {
  const lots = new JudgedLots();
  for (const code of ['A', 'B', 'C', 'D']) lots.lot(code, 8);
  const first = lots.draw('A', none(4));
  lots.tested(first, 1);
  expect(lots.by(first, 'concession')).toBeNull();
  closeLot(lots.store, { partNumber: PART_NUMBER, lot: 'D' }, null, ACTOR);
  const now = (lot: string) => {
    const { state, decided } = lotView(lots.store, PART_NUMBER, lot);
    return [state, decided?.neighbourOf ?? null, decided?.audit ?? null];
  };
  lots.audited('B', none(4), 1, 'reject');
  expect(['A', 'C', 'D'].map(now)).toEqual([
    ['on-hold', 'B', null],
    ['on-hold', 'B', null],
    ['on-hold', 'B', null],
  ]);
  expect(['C', 'D'].map((code) => lots.atSight(code, 'accept'))).toEqual([null, null]);
  // Its own audit speaks against A, so only an entry from before that was asked lets it go.
  lots.store.disposition({
    ...{ partNumber: PART_NUMBER, lot: 'A', decision: 'accept', reason: 'r', concession: null, actor: ACTOR },
    neighbourOf: null,
  });
  expect(['A', 'C', 'D'].map(now)).toEqual([
    ['accepted', null, first],
    ['open', null, null],
    ['closed', null, null],
  ]);
  expect(lotView(lots.store, PART_NUMBER, 'C').decided).toBeNull();
  expect(auditView(lots.store, first, '').lotNow).toBeNull();
  expect(lots.atSight('C', 'accept')).toBe(RULE);
});

test('a lot that is suspect for two others is let go once both were answered, the first before the second', () => {
  const lots = new JudgedLots();
  for (const code of ['A', 'B', 'C', 'D']) lots.lot(code, 8);
  const first = lots.draw('B', none(4));
  lots.tested(first, 1);
  expect(lots.by(first, 'hold')).toBeNull();
  lots.audited('C', none(4), 1, 'hold');
  // The same finding said again, now as a rejection: no further hold for B.
  expect(lots.by(first, 'reject')).toBeNull();
  const heldFor = (lot: string) =>
    suspectLots(lots.store, PART_NUMBER, 'B').find((each) => each.lot === lot)?.neighbourOf;
  expect(['A', 'B', 'C', 'D'].map(heldFor)).toEqual([['B', 'C'], [], [], ['B', 'C']]);
  const now = () => {
    const { state, decided } = lotView(lots.store, PART_NUMBER, 'A');
    return [state, decided?.neighbourOf ?? null];
  };
  expect(now()).toEqual(['on-hold', 'B']);
  expect(lots.atSight('A', 'accept')).toBeNull();
  expect([now(), heldFor('A')]).toEqual([['on-hold', 'C'], ['C']]);
  expect(lots.atSight('A', 'accept')).toBeNull();
  expect([now(), heldFor('A')]).toEqual([['open', null], []]);
  expect(lots.atSight('A', 'accept')).toBe(RULE);
});

test('a neighbour whose own audit waits for its decision is not let go, however good it looks', () => {
  const lots = new JudgedLots();
  for (const code of ['A', 'B']) lots.lot(code, 8);
  const audit = lots.draw('A', none(4));
  lots.tested(audit);
  lots.audited('B', none(4), 1, 'reject');
  expect(lots.atSight('A', 'accept')).toBe('audit-open');
  expect(lots.by(audit, 'accept')).toBeNull();
  expect(lotView(lots.store, PART_NUMBER, 'A')).toMatchObject({ state: 'accepted', decided: { audit } });
});

test('an audit by a profile of wider limits does not settle a refusal', () => {
  for (const [kPa, refused] of [
    [3, RULE],
    [1, null],
  ] as const) {
    const lots = new JudgedLots();
    lots.lot('A', 12);
    lots.audited('A', none(4), 1, 'hold');
    lots.profile = issueOf(2, { ...PROFILE, errorBand: { ...PROFILE.errorBand, kPa } });
    expect([kPa, lots.by(lots.audited('A', none(4), 0, 'hold'), 'accept')]).toEqual([kPa, refused]);
  }
});

test('a bad part that the plan leaves to a person is not said to be refused by the plan', () => {
  const said = (plan: SamplingPlan): string => {
    const lots = new JudgedLots();
    lots.lot('A', 8);
    const audit = lots.draw('A', plan);
    lots.tested(audit, 1);
    try {
      decide(lots.store, audit, { decision: 'accept', reason: 'r', concession: null }, ACTOR);
    } catch (cause) {
      return String(cause);
    }
    return '';
  };
  expect(said(fixed(4))).toContain('Parts of the sample failed (1 bad): hold the lot, reject it');
  expect(said(none(4))).toContain('The plan refuses this lot (1 bad)');
});
