import { describe, expect, test } from 'vitest';
import type { LineCommand } from '../../../server/line/contract.ts';
import type { CycleRecord } from '../../../station/cycle/record.ts';
import { lineHere } from '../../support/line.ts';
import type { LineHere } from '../../support/line.ts';

const serial = (running: number): string => `AQ1105-26K24-${String(running).padStart(5, '0')}`;

/** Lets the part in a nest suffer in the next load. */
const suffer = (...parts: [nest: number, what: string, size?: number, partNumber?: string][]): LineCommand => ({
  type: 'demo',
  parts: parts.map(([nest, what, size = 0, partNumber]) => ({ nest, what, size, partNumber: partNumber ?? null })),
  fault: null,
});

const strike = (what: string, phase: string | null): LineCommand => ({
  type: 'demo',
  parts: [],
  fault: { what, size: 0, nest: null, phase },
});

/** What is shown of the last cycle is what the ledger has of it. */
function expectAsKept(here: LineHere): CycleRecord {
  const { record } = here.store.latest(1)[0]!;
  const shown = here.view().outcome!;
  expect(shown.cycle).toBe(record.circumstances.cycle);
  expect(
    shown.nests.map(({ nest, serial: of, verdict, why }) => ({ nest: nest - 1, serial: of, verdict, why })),
  ).toEqual(record.measurement.results);
  return record;
}

async function ready(options: Parameters<typeof lineHere>[0] = {}): Promise<LineHere> {
  const here = await lineHere(options);
  await here.ready();
  return here;
}

test('from an empty ledger to a first verdict: work, characterisation, masters, scans, start, verdicts as kept', async () => {
  const here = await lineHere();
  expect(here.view().prompt.code).toBe('choose-work');
  expect(here.refused({ type: 'scan', text: serial(1), typed: false })).toBe('no-work');
  here.line.command({ type: 'setup', operator: 'R. Tamm', partNumber: 'AQ-1105' as never, lot: 'K24-3' });
  expect(here.view().prompt.code).toBe('characterise');
  expect(here.refused({ type: 'scan', text: serial(1), typed: false })).toBe('proof-due');
  await here.ready();
  expect(here.view().prompt).toMatchObject({ code: 'scan', facts: { nest: 1 }, quiet: { code: 'leave-empty' } });
  expect(here.refused({ type: 'start' })).toBe('scan-first');
  here.scan(serial(1), serial(2));
  expect(here.view().nests).toMatchObject([
    { state: 'loaded', attempt: 'first', serial: serial(1) },
    { state: 'loaded', attempt: 'first', serial: serial(2) },
  ]);
  expect(here.view().prompt).toMatchObject({ code: 'start', key: { code: 'start' } });
  const view = await here.test();
  const record = expectAsKept(here);
  expect(record.circumstances.actor).toEqual({ name: 'R. Tamm', role: 'operator', proof: 'stated' });
  expect(view.counts).toMatchObject({
    tested: 2,
    passed: 2,
    rejected: 0,
    notJudged: 0,
    firstPass: { passed: 2, of: 2 },
  });
  expect(view.prompt).toMatchObject({ code: 'scan', facts: { nest: 1 } });
  expect(here.line.frames().length).toBeGreaterThan(50);
  await here.line.end();
});

test('no verdict is told before its record is on disk, and while the cycle runs nothing but what was measured', async () => {
  const here = await ready();
  here.scan(serial(1), serial(2));
  let whenTold = 0;
  here.line.listen({
    view: (view) => {
      if (view.outcome === null) return;
      whenTold += 1;
      expect(here.store.byCycle(view.outcome.cycle)).toBeDefined();
    },
    live: () => undefined,
  });
  await here.test();
  expect(whenTold).toBeGreaterThan(0);
  const during = here.views.filter(({ test: running }) => running !== null);
  expect(during.length).toBeGreaterThan(8);
  expect(during.every(({ outcome }) => outcome === null)).toBe(true);
  expect(during.at(-1)?.test?.taken.map(({ unit }) => unit)).toContain('V');
  expect(here.lives.some(({ pressure }) => pressure.state === 'present' && pressure.kPaAbs! > 140)).toBe(true);
  await here.line.end();
});

test('a reject waits for its bin: no scan, no start, no changeover before it; then it may be tested once more', async () => {
  const here = await ready();
  here.line.command(suffer([2, 'leak', 2.5]));
  here.scan(serial(1), serial(2));
  const failed = await here.test();
  expectAsKept(here);
  expect(failed.outcome?.nests[1]).toMatchObject({ verdict: 'fail', isWaiting: true, why: [{ code: 'leak' }] });
  const { cycle } = failed.outcome!;
  expect(failed.prompt).toMatchObject({ code: 'reject', facts: { nest: 2, cycle }, key: { code: 'in-the-bin' } });
  const setUp: LineCommand = { type: 'setup', operator: 'R. Tamm', partNumber: 'AQ-1105' as never, lot: 'K24-4' };
  for (const command of [setUp, { type: 'scan', text: serial(3), typed: false }, { type: 'start' }] as LineCommand[]) {
    expect(here.refused(command)).toBe('reject-first');
  }
  expect(here.view().refusal).toMatchObject({ code: 'reject-first', facts: { nest: 2, serial: serial(2) } });
  expect(here.refused({ type: 'acknowledge', cycle, nest: 1 })).toBe('nothing-to-acknowledge');
  expect(here.refused({ type: 'acknowledge', cycle, nest: 2 })).toBeNull();
  expect(here.view()).toMatchObject({ refusal: null, prompt: { code: 'scan' } });
  here.store.checkpoint();
  expect(here.store.journalOf(cycle)).toMatchObject([{ content: { action: 'reject-in-bin', facts: { nest: 2 } } }]);

  expect(here.refused({ type: 'scan', text: serial(1), typed: false })).toBe('passed-already');
  here.scan(serial(2), serial(3));
  expect(here.view().nests).toMatchObject([{ attempt: 'retest' }, { attempt: 'first' }]);
  const again = await here.test();
  // The same serial is the same part: it still leaks.
  expect(again.outcome?.nests[0]).toMatchObject({ verdict: 'fail', why: [{ code: 'leak' }] });
  expect(again.counts).toMatchObject({ tested: 4, passed: 2, rejected: 2, firstPass: { passed: 2, of: 3 } });
  here.line.command({ type: 'acknowledge', cycle: again.outcome!.cycle, nest: 1 });
  expect(here.refused({ type: 'scan', text: serial(2), typed: false })).toBe('retests-used-up');
  await here.line.end();
});

test('a scan says what is wrong with it, and changes nothing', async () => {
  const here = await ready({ settings: { scanner: { suffixes: ['Enter'], gapMs: 50, separators: ';' } } });
  expect(here.refused({ type: 'scan', text: 'K24-3', typed: false })).toBe('not-a-serial');
  expect(here.refused({ type: 'scan', text: 'AQ2105-26K24-00001', typed: false })).toBe('other-part-number');
  expect(here.view().refusal?.facts).toMatchObject({ other: 'AQ-2105', partNumber: 'AQ-1105' });
  expect(here.view().nests.every(({ state }) => state === 'open')).toBe(true);
  here.scan(serial(1));
  expect(here.refused({ type: 'scan', text: serial(1), typed: true })).toBe('already-in-nest');
  here.line.command({ type: 'take-out', nest: 1 });
  expect(here.refused({ type: 'take-out', nest: 1 })).toBe('nothing-loaded');
  expect(here.refused({ type: 'take-out', nest: 3 })).toBe('no-such-nest');
  here.scan(`${serial(4)};${serial(5)}`);
  expect(here.view().nests.map((nest) => nest.serial)).toEqual([serial(4), serial(5)]);
  expect(here.refused({ type: 'scan', text: serial(6), typed: false })).toBe('nests-full');
  await here.line.end();
});

test('an odd last part: its neighbour is left empty, and opens again when asked to', async () => {
  const here = await ready();
  here.scan(serial(1));
  expect(here.view().prompt).toMatchObject({ code: 'scan', facts: { nest: 2 }, quiet: { command: { nest: 2 } } });
  here.line.command({ type: 'leave-empty', nest: 2 });
  expect(here.view().prompt.code).toBe('start');
  here.line.command({ type: 'leave-empty', nest: 2 });
  expect(here.view().prompt.code).toBe('scan');
  here.line.command({ type: 'leave-empty', nest: 2 });
  const view = await here.test();
  expect(view.outcome?.nests.map(({ nest }) => nest)).toEqual([1]);
  expect(expectAsKept(here).measurement.load).toEqual([serial(1), null]);
  here.line.command({ type: 'leave-empty', nest: 1 });
  expect(here.refused({ type: 'leave-empty', nest: 2 })).toBe('nothing-loaded');
  await here.line.end();
});

describe('a fault of the station judges no part', () => {
  test('the guard opened in the hold: not judged, what to do, and the same parts again by one key', async () => {
    const here = await ready();
    here.line.command(strike('guard-open', 'measure'));
    here.scan(serial(1), serial(2));
    const view = await here.test();
    expectAsKept(here);
    expect(view.outcome?.faults[0]?.code).toBe('guard-open');
    expect(view.outcome?.nests.map(({ verdict }) => verdict)).toEqual(['none', 'none']);
    expect(view.prompt).toMatchObject({ code: 'fault', facts: { code: 'guard-open', nests: '1, 2' } });
    await here.look();
    await here.until(({ prompt }) => prompt.code === 'close-guard');
    expect(here.view().prompt).toMatchObject({ key: null, quiet: { code: 'read' } });
    expect(here.refused({ type: 'repeat' })).toBe('guard-open');
    expect(view.counts).toMatchObject({ tested: 0, notJudged: 2, firstPass: { passed: 0, of: 0 } });
    expect(here.refused({ type: 'scan', text: serial(3), typed: false })).toBe('read-first');
    here.line.command({ type: 'demo', parts: [], fault: null });
    await here.look();
    await here.until(({ prompt }) => prompt.code === 'fault');
    expect(here.view()).toMatchObject({ refusal: null, prompt: { key: { code: 'repeat' } } });
    here.line.command({ type: 'repeat' });
    const again = await here.until(({ outcome }) => outcome !== null && outcome.cycle !== view.outcome?.cycle);
    expectAsKept(here);
    expect(again.outcome?.nests.map(({ verdict }) => verdict)).toEqual(['pass', 'pass']);
    expect(again.counts).toMatchObject({ tested: 2, passed: 2, notJudged: 2, firstPass: { passed: 2, of: 2 } });
    await here.line.end();
  });

  test('the guard opened while the clamps close: they are let go once it is shut, and the same parts are tested again', async () => {
    const here = await ready();
    here.line.command(strike('guard-open', 'clamp'));
    here.scan(serial(1), serial(2));
    const view = await here.test();
    expect(view.outcome?.faults[0]?.code).toBe('guard-open');
    here.line.command({ type: 'demo', parts: [], fault: null });
    await here.look();
    here.line.command({ type: 'repeat' });
    const again = await here.until(({ outcome }) => outcome !== null && outcome.cycle !== view.outcome?.cycle);
    expect(again.outcome?.nests.map(({ verdict }) => verdict)).toEqual(['pass', 'pass']);
    await here.line.end();
  });

  test('a guard that stands open at rest asks to be closed, and takes no start', async () => {
    const here = await ready();
    here.scan(serial(1), serial(2));
    here.line.command(strike('guard-open', null));
    await here.look();
    await here.until(({ prompt }) => prompt.code === 'close-guard');
    expect(here.refused({ type: 'start' })).toBe('guard-open');
    here.line.command({ type: 'demo', parts: [], fault: null });
    await here.look();
    await here.until(({ prompt }) => prompt.code === 'start');
    await here.line.end();
  });

  test('stopped by the operator: vented, not judged, and nothing is left but to say so', async () => {
    const here = await ready({ paced: true });
    here.scan(serial(1), serial(2));
    here.line.command({ type: 'start' });
    await here.until(({ test: running }) => running?.phase === 'fill');
    here.line.command({ type: 'stop' });
    expect(here.view().prompt.code).toBe('stopping');
    const view = await here.until(({ outcome }) => outcome !== null);
    expect(expectAsKept(here).measurement).toMatchObject({ vented: true, faults: [{ code: 'operator-stop' }] });
    here.line.command({ type: 'acknowledge', cycle: view.outcome!.cycle, nest: null });
    expect(here.view().prompt.code).toBe('scan');
    here.scan(serial(1));
    expect(here.view().nests[0]?.attempt).toBe('repeat');
    await here.line.end();
  });

  test('one nest alone without contact: the other has its verdict, the one is repeated', async () => {
    const here = await ready();
    here.line.command(suffer([1, 'no-part']));
    here.scan(serial(1), serial(2));
    const view = await here.test();
    expect(view.outcome?.nests.map(({ verdict }) => verdict)).toEqual(['none', 'pass']);
    expect(view.prompt).toMatchObject({ code: 'not-judged', facts: { nests: '1', code: 'no-contact' } });
    here.line.command({ type: 'repeat' });
    const again = await here.until(({ outcome }) => outcome !== null && outcome.cycle !== view.outcome?.cycle);
    expect(again.outcome?.nests.map(({ serial: of }) => of)).toEqual([serial(1)]);
    await here.line.end();
  });
});

test('the same reason three times running stops that nest, not the station, until a person has looked', async () => {
  const here = await ready();
  for (const round of [0, 1, 2]) {
    here.line.command(suffer([1, 'leak', 2.5]));
    here.scan(serial(2 * round + 1), serial(2 * round + 2));
    const { outcome } = await here.test();
    here.line.command({ type: 'acknowledge', cycle: outcome!.cycle, nest: 1 });
  }
  expect(here.view().nests[0]).toMatchObject({ state: 'locked', lock: { reason: 'leak', times: 3 } });
  expect(here.view().prompt).toMatchObject({ code: 'scan', facts: { nest: 2 } });
  here.scan(serial(9));
  expect(here.view().prompt.code).toBe('start');
  const view = await here.test();
  expect(view.outcome?.nests.map(({ nest }) => nest)).toEqual([2]);
  expect(here.refused({ type: 'unlock', nest: 2, name: 'M. Orrell', found: 'nothing' })).toBe('not-locked');
  here.line.command({ type: 'unlock', nest: 1, name: 'M. Orrell', found: 'seal was cut, changed' });
  expect(here.view().nests[0]?.state).toBe('open');
  here.store.checkpoint();
  expect(here.store.journalOf('EOL-1/nest-1')).toMatchObject([
    {
      content: { comment: 'seal was cut, changed', actor: { name: 'M. Orrell' }, facts: { reason: 'leak', times: 3 } },
    },
  ]);
  await here.line.end();
});

test('a changeover lets the masters be due, on record; another lot of the same part number does not', async () => {
  const here = await ready();
  const setUp = (partNumber: string, lot: string): LineCommand => ({
    type: 'setup',
    operator: 'R. Tamm',
    partNumber: partNumber as never,
    lot,
  });
  here.line.command(setUp('AQ-1105', 'K24-4'));
  expect(here.view().prompt.code).toBe('scan');
  here.line.command(setUp('AQ-2105', 'K30-1'));
  expect(here.view().proofs).toMatchObject([
    { proof: 'master-check', state: 'due', evidence: 'changeover to AQ-2105' },
    {},
    {},
  ]);
  expect(here.view().prompt.code).toBe('characterise');
  await here.ready('AQ-2105', 'K30-1');
  expect(here.view().prompt.code).toBe('scan');
  expect(here.refused({ type: 'setup', operator: 'R. Tamm', partNumber: 'AQ-9999' as never, lot: 'x' })).toBe(
    'unknown-part-number',
  );
  await here.line.end();
});

test('masters hold until the shift ends, and the counts begin anew with the next', async () => {
  const here = await ready();
  here.scan(serial(1), serial(2));
  await here.test();
  expect(here.view().counts).toMatchObject({ since: '2024-12-31T22:00:00.000Z', tested: 2 });
  await here.clock.advance(6 * 3_600_000);
  await here.until(({ counts }) => counts.since === '2025-01-01T06:00:00.000Z');
  expect(here.view()).toMatchObject({ counts: { tested: 0 }, prompt: { code: 'masters-due' } });
  await here.line.end();
});

test('parts without serials are loaded, numbered within their lot and started', async () => {
  const unserialised = (await import('../../support/line.ts')).PROFILES.map((profile) => ({
    ...profile,
    content: { ...profile.content, serial: { rule: 'unserialised' as const } },
  }));
  const { hashOf } = await import('../../../station/hash.ts');
  const profiles = unserialised.map((profile) => ({ ...profile, hash: hashOf(profile.content) }));
  const here = await ready({ profiles });
  expect(here.view().prompt).toMatchObject({ code: 'load', facts: { parts: 2 }, key: { code: 'start' } });
  expect((await here.test()).outcome?.nests.map(({ serial: of }) => of)).toEqual(['K24-3/1', 'K24-3/2']);
  here.line.command({ type: 'leave-empty', nest: 2 });
  expect((await here.test()).outcome?.nests.map(({ serial: of }) => of)).toEqual(['K24-3/3']);
  await here.line.end();
});

test.each([1, 4, 8])('%i nests are loaded, tested and judged together', async (nests) => {
  const here = await ready({ nests });
  here.scan(...Array.from({ length: nests }, (_, at) => serial(at + 1)));
  const view = await here.test();
  expect(view.outcome?.nests.map(({ nest }) => nest)).toEqual(Array.from({ length: nests }, (_, at) => at + 1));
  expectAsKept(here);
  await here.line.end();
});

test('a station ends in mid-test: stopped, vented, kept, and the ledger has no open cycle', async () => {
  const here = await ready({ paced: true });
  here.scan(serial(1), serial(2));
  here.line.command({ type: 'start' });
  await here.until(({ test: running }) => running?.phase === 'stabilise');
  await here.line.end();
  expect(here.store.unfinished()).toEqual([]);
  expect(here.store.latest(1)[0]?.record.measurement.results.map(({ verdict }) => verdict)).toEqual(['none', 'none']);
});
