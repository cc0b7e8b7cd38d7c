import { expect, test, vi } from 'vitest';
import { latestLots, lotView } from '../../../server/audit/lots.ts';
import { decideLot } from '../../../server/audit/deciding.ts';
import { drawSample } from '../../../server/audit/drawing.ts';
import { closeLot, openLot } from '../../../server/audit/lot-closing.ts';
import { tellSample } from '../../../server/audit/sampling.ts';
import { HttpProblem } from '../../../server/http/problem.ts';
import type { LineCommand } from '../../../server/line/contract.ts';
import { StoreError } from '../../../server/store/errors.ts';
import { PROFILES, lineHere } from '../../support/line.ts';
import type { LineHere } from '../../support/line.ts';

const ENGINEER = { name: 'M. Orrell', role: 'quality engineer', proof: 'stated' } as const;
const PROFILE = PROFILES.find(({ content }) => content.partNumber === 'AQ-1105')!;
const { partNumber } = PROFILE.content;
const LOT = 'K24-3';
const of = { partNumber, lot: LOT };
const serial = (n: number): string => `AQ1105-26K24-${String(n).padStart(5, '0')}`;
const scan = (n: number): LineCommand => ({ type: 'scan', text: serial(n), typed: false });
const setUp = (lot: string): LineCommand => ({ type: 'setup', operator: 'R. Tamm', partNumber, lot });
const lotNow = ({ store }: LineHere) => lotView(store, partNumber, LOT);

const codeOf = (act: () => unknown): string | null => {
  try {
    act();
    return null;
  } catch (cause) {
    if (cause instanceof HttpProblem) return cause.code;
    throw cause;
  }
};

/** A line with a lot of two good parts. */
async function withLot(): Promise<LineHere> {
  const here = await lineHere();
  await here.ready(partNumber, LOT);
  here.scan(serial(1), serial(2));
  await here.test();
  here.store.checkpoint();
  return here;
}

function draw({ store }: LineHere, n: number): string {
  store.samplingPlan({ partNumber, plan: { kind: 'fixed', n }, reason: 'process audit', actor: ENGINEER });
  return drawSample(store, { station: 'LAB-1', profile: PROFILE, lot: LOT, returnToAmbient: false, actor: ENGINEER });
}

test('a lot is closed under a name and opened again with a reason; both stay in the journal', async () => {
  const here = await withLot();
  const { store } = here;
  expect(lotNow(here)).toMatchObject({ state: 'open', closed: null });
  closeLot(store, of, null, { name: 'R. Tamm', role: 'operator', proof: 'stated' });
  expect(lotNow(here)).toMatchObject({ state: 'closed', closed: { by: 'R. Tamm', reason: null, isByDraw: false } });
  expect(latestLots(store, 1)[0]?.state).toBe('closed');
  expect(codeOf(() => closeLot(store, of, 'again', ENGINEER))).toBe('lot-not-open');
  openLot(store, of, 'two parts lay under the bench', ENGINEER);
  expect(lotNow(here)).toMatchObject({ state: 'open', closed: null });
  expect(codeOf(() => openLot(store, of, 'again', ENGINEER))).toBe('lot-not-closed');
  expect(store.journalOf(`lot/${partNumber}/${LOT}`).map(({ content }) => [content.action, content.comment])).toEqual([
    ['lot-opened', 'two parts lay under the bench'],
    ['lot-closed', null],
  ]);
  expect(codeOf(() => closeLot(store, { partNumber, lot: 'K99' }, null, ENGINEER))).toBe('no-such-lot');
});

test('the line does not choose a closed lot, and tells the one that is in work to go to another', async () => {
  const here = await withLot();
  const { store } = here;
  here.scan(serial(3));
  closeLot(store, of, null, ENGINEER);
  expect(here.view().prompt).toMatchObject({ code: 'lot-over', tone: 'act', key: null });
  expect(here.refused(scan(4))).toBe('lot-closed');
  expect(here.refused({ type: 'leave-empty', nest: 2 })).toBeNull();
  const before = store.head().sequence;
  expect(here.refused({ type: 'start' })).toBe('lot-closed');
  expect(here.refused(setUp(LOT))).toBe('lot-closed');
  expect(store.head().sequence).toBe(before);
  // Another lot is set up; the part that was scanned for the closed one is not tested for it.
  expect(here.refused(setUp('K24-4'))).toBeNull();
  expect(here.view()).toMatchObject({ prompt: { code: 'scan' }, nests: [{ serial: null }, { serial: null }] });
  openLot(store, of, 'wrong button', ENGINEER);
  expect(here.refused(setUp(LOT))).toBeNull();
  here.scan(serial(3), serial(4));
  expect((await here.test()).outcome?.nests.map(({ verdict }) => verdict)).toEqual(['pass', 'pass']);
});

test('what runs when a lot is closed is finished and kept; the next load is refused', async () => {
  const here = await withLot();
  here.scan(serial(3), serial(4));
  here.line.command({ type: 'start' });
  closeLot(here.store, of, null, ENGINEER);
  expect(here.view().prompt.code).toBe('testing');
  const view = await here.until(({ outcome, test: running }) => running === null && outcome !== null);
  expect(view.outcome?.nests.map(({ verdict }) => verdict)).toEqual(['pass', 'pass']);
  here.store.checkpoint();
  expect(lotNow(here).counts.passed).toBe(4);
  expect(here.refused(scan(5))).toBe('lot-closed');
  expect(here.view().prompt.code).toBe('lot-over');
});

test('parts that a closed lot left without a verdict are tested again as they stand', async () => {
  const here = await withLot();
  here.line.command({ type: 'demo', parts: [{ nest: 1, what: 'no-part', size: 0, partNumber: null }], fault: null });
  here.scan(serial(3), serial(4));
  const { outcome: before } = await here.test();
  expect(before?.nests.map(({ verdict }) => verdict)).toEqual(['none', 'pass']);
  here.line.command({ type: 'demo', parts: [], fault: null });
  closeLot(here.store, of, null, ENGINEER);
  // What stands there comes before the next load.
  expect(here.view().prompt.code).toBe('not-judged');
  expect(here.refused({ type: 'repeat' })).toBeNull();
  const view = await here.until(
    ({ outcome, test: running }) => running === null && outcome !== null && outcome.cycle !== before?.cycle,
  );
  expect(view.outcome?.nests).toMatchObject([{ serial: serial(3), verdict: 'pass' }]);
});

test('a reject of a held lot is tested neither for it nor under the code of another', async () => {
  const here = await withLot();
  const { store } = here;
  here.line.command({ type: 'demo', parts: [{ nest: 1, what: 'leak', size: 2.5, partNumber: null }], fault: null });
  here.scan(serial(3), serial(4));
  const { outcome } = await here.test();
  here.line.command({ type: 'acknowledge', cycle: outcome?.cycle ?? '', nest: 1 });
  here.line.command({ type: 'demo', parts: [], fault: null });
  decideLot(store, of, { decision: 'hold', reason: 'a seal was swollen', concession: null }, ENGINEER);
  expect(here.refused(scan(3))).toBe('lot-on-hold');
  expect(here.refused(setUp('K24-4'))).toBeNull();
  expect(here.refused(scan(3))).toBe('of-held-lot');
  expect(here.view().refusal?.facts).toMatchObject({ lot: LOT });
  decideLot(store, of, { decision: 'reject', reason: 'all of them', concession: null }, ENGINEER);
  expect(here.refused(scan(3))).toBe('of-held-lot');
  expect(here.refused(setUp(LOT))).toBe('lot-rejected');
  expect(codeOf(() => openLot(store, of, 'r', ENGINEER))).toBe('lot-not-closed');
});

test('a draw closes its lot: no part can be outside of the sample; while the audit runs nobody opens it', async () => {
  const here = await withLot();
  const { store } = here;
  const audit = draw(here, 1);
  expect(lotNow(here)).toMatchObject({ state: 'closed', closed: { by: 'M. Orrell', isByDraw: true }, outside: 0 });
  expect(here.refused(scan(3))).toBe('lot-closed');
  expect(codeOf(() => openLot(store, of, 'r', ENGINEER))).toBe('audit-open');
  tellSample(store, audit, { type: 'abandon', reason: 'drawn too early', by: 'M. Orrell' }, ENGINEER);
  openLot(store, of, 'the shift goes on', ENGINEER);
  here.scan(serial(3), serial(4));
  await here.test();
  store.checkpoint();
  // Both were made after the draw: it does not stand for them.
  expect(lotNow(here)).toMatchObject({ state: 'open', outside: 2 });
  draw(here, 4);
  expect(lotNow(here)).toMatchObject({ state: 'closed', outside: 0 });
});

test('a draw that is refused closes nothing', async () => {
  const here = await withLot();
  expect(codeOf(() => draw(here, 3))).toBe('too-few-passed');
  expect(lotNow(here).state).toBe('open');
});

test('a disk that cannot be read refuses the next part; it neither ends the station nor forgets that a lot was closed', async () => {
  const here = await withLot();
  closeLot(here.store, of, null, ENGINEER);
  expect(here.view().prompt.code).toBe('lot-over');
  const broken = vi.spyOn(here.store, 'journalOf').mockImplementation(() => {
    throw new StoreError('storage-failed', 'one read failed');
  });
  // Something is written, so that it has to be read anew.
  here.store.samplingPlan({ partNumber, plan: { kind: 'fixed', n: 1 }, reason: 'r', actor: ENGINEER });
  await here.look();
  expect(broken).toHaveBeenCalled();
  expect(here.view().prompt.code).toBe('lot-over');
  expect(here.refused(scan(3))).toBe('not-kept');
  broken.mockRestore();
  expect(here.refused(scan(3))).toBe('lot-closed');
});
