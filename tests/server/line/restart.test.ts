import { expect, test } from 'vitest';
import { lineHere } from '../../support/line.ts';
import type { LineHere } from '../../support/line.ts';

const serial = (running: number): string => `AQ1105-26K24-${String(running).padStart(5, '0')}`;

async function tested(leaking: boolean): Promise<LineHere> {
  const here = await lineHere();
  await here.ready();
  if (leaking)
    here.line.command({
      type: 'demo',
      parts: [{ nest: 2, what: 'leak', size: 2.5, partNumber: null }],
      fault: null,
    });
  here.scan(serial(1), serial(2));
  await here.test();
  return here;
}

test('a verdict that was stored and perhaps not seen stays until it is read; its reject then still waits', async () => {
  const before = await tested(true);
  const { store } = before;
  const shown = before.view();
  const here = await lineHere({ store });
  expect(here.view()).toMatchObject({
    work: { partNumber: 'AQ-1105', lot: 'K24-3', operator: 'R. Tamm' },
    counts: { tested: 2, passed: 1, rejected: 1, cycleMs: shown.counts.cycleMs },
    prompt: { code: 'read-verdicts', key: { code: 'read' } },
  });
  expect(here.view().outcome).toEqual({ ...shown.outcome, isPerhapsUnseen: true });
  expect(here.line.frames().length).toBeGreaterThan(50);
  expect(here.refused({ type: 'scan', text: serial(3), typed: false })).toBe('read-first');
  const { cycle } = shown.outcome!;
  here.line.command({ type: 'acknowledge', cycle, nest: null });
  expect(here.view().prompt).toMatchObject({ code: 'reject', facts: { nest: 2 } });

  const third = await lineHere({ store });
  expect(third.view().prompt).toMatchObject({ code: 'reject', facts: { nest: 2 } });
  third.line.command({ type: 'acknowledge', cycle, nest: 2 });
  expect(third.view().prompt.code).toBe('scan');
  const fourth = await lineHere({ store });
  expect(fourth.view()).toMatchObject({ prompt: { code: 'scan' }, outcome: { isPerhapsUnseen: false } });
  // The same serial is the same part: after the restart it leaks as before.
  fourth.scan(serial(2), serial(3));
  expect((await fourth.test()).outcome?.nests).toMatchObject([{ verdict: 'fail', why: [{ code: 'leak' }] }, {}]);
});

test('a cycle cut off with the server: after the start its parts are named as not judged, and repeated', async () => {
  const before = await lineHere({ paced: true });
  await before.ready();
  before.scan(serial(1), serial(2));
  before.line.command({ type: 'start' });
  await before.until(({ test: running }) => running?.phase === 'measure');
  // The server is gone between two messages: nothing more is heard or kept.
  before.host.onMessage = () => false;
  const here = await lineHere({ store: before.store });
  expect(here.view()).toMatchObject({
    outcome: { faults: [{ code: 'interrupted' }], isPerhapsUnseen: true, vented: false },
    prompt: { code: 'read-verdicts' },
    counts: { tested: 0, notJudged: 2 },
  });
  const { cycle } = here.view().outcome!;
  here.line.command({ type: 'acknowledge', cycle, nest: null });
  expect(here.view().prompt).toMatchObject({ code: 'fault', facts: { code: 'interrupted', nests: '1, 2' } });
  here.line.command({ type: 'repeat' });
  const again = await here.until(({ outcome }) => outcome !== null && outcome.cycle !== cycle);
  expect(again.outcome?.nests.map(({ verdict }) => verdict)).toEqual(['pass', 'pass']);
});

test('a station killed in mid-test is started again; its cycle is closed as interrupted at once and nothing is lost', async () => {
  const here = await lineHere({ paced: true });
  await here.ready();
  here.scan(serial(1), serial(2));
  here.line.command({ type: 'start' });
  await here.until(({ test: running }) => running?.phase === 'stabilise');
  here.host.kill();
  expect(here.view()).toMatchObject({ link: 'lost', prompt: { code: 'station-lost' }, test: null });
  expect(here.line.live()).toBeNull();
  expect(here.view().outcome).toMatchObject({ faults: [{ code: 'interrupted' }], isPerhapsUnseen: false });
  expect(here.store.unfinished()).toEqual([]);
  expect(here.refused({ type: 'start' })).toBe('station-away');
  here.host.start();
  await here.until(({ link }) => link === 'up');
  expect(here.view().prompt).toMatchObject({ code: 'fault', key: { code: 'repeat' } });
  here.line.command({ type: 'repeat' });
  const view = await here.until(({ outcome }) => outcome?.faults.length === 0);
  expect(view.outcome?.nests.map(({ verdict }) => verdict)).toEqual(['pass', 'pass']);
  // One rig, one issue before and one after the characterisation: coming back made no other.
  expect(here.store.latestRigRevision('EOL-1')?.revision.issue).toBe(2);
  await here.line.end();
});

test('a station killed before it opened anything gives the parts back: nothing happened, and one key starts it', async () => {
  const here = await lineHere();
  await here.ready();
  here.scan(serial(1));
  here.line.command({ type: 'leave-empty', nest: 2 });
  here.host.onMessage = (message) => message.type !== 'event';
  here.line.command({ type: 'start' });
  expect(here.view().prompt.code).toBe('testing');
  here.host.kill();
  expect(here.view()).toMatchObject({ outcome: null, test: null, nests: [{ serial: serial(1) }, { state: 'empty' }] });
  expect(here.store.unfinished()).toEqual([]);
  here.host.onMessage = () => true;
  here.host.start();
  await here.until(({ prompt }) => prompt.code === 'start');
  expect((await here.test()).outcome?.nests.map(({ verdict }) => verdict)).toEqual(['pass']);
  await here.line.end();
});

test('a nest that was locked is locked after a restart, and one that was unlocked is not', async () => {
  const here = await lineHere();
  await here.ready();
  for (const round of [0, 1, 2]) {
    here.line.command({ type: 'demo', parts: [{ nest: 1, what: 'leak', size: 2.5, partNumber: null }], fault: null });
    here.scan(serial(2 * round + 1), serial(2 * round + 2));
    const { outcome } = await here.test();
    here.line.command({ type: 'acknowledge', cycle: outcome!.cycle, nest: 1 });
  }
  const next = await lineHere({ store: here.store });
  expect(next.view().nests[0]).toMatchObject({ state: 'locked', lock: { reason: 'leak' } });
  next.line.command({ type: 'unlock', nest: 1, name: 'M. Orrell', found: 'seal changed' });
  const last = await lineHere({ store: here.store });
  expect(last.view().nests[0]?.state).toBe('open');
});

test('a closing that cannot be stored: no verdict, and after the next start the ledger says the same', async () => {
  const here = await lineHere();
  await here.ready();
  here.scan(serial(1), serial(2));
  here.host.onMessage = (message) => {
    // The storage fails between the opening and the closing.
    if (message.type === 'event' && message.event.type === 'judgement')
      here.store.closeCycle = () => {
        throw new Error('no space left');
      };
    return true;
  };
  const view = await here.test();
  expect(view.outcome).toMatchObject({ faults: [{ code: 'not-kept' }] });
  expect(view.outcome?.nests.map(({ verdict }) => verdict)).toEqual(['none', 'none']);
  expect(view.counts).toMatchObject({ tested: 0, passed: 0 });
  expect(here.errors).toHaveLength(1);
  const next = await lineHere({ store: here.store });
  expect(next.view().outcome?.nests.map(({ verdict }) => verdict)).toEqual(['none', 'none']);
});
