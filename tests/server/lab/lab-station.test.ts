import { expect, test, vi } from 'vitest';
import { auditView } from '../../../server/audit/audits.ts';
import { drawSample, hashOfLot, seedOf } from '../../../server/audit/drawing.ts';
import { DEFAULT_PLAN } from '../../../server/audit/plan-in-force.ts';
import { stateOfAudit } from '../../../server/audit/audits.ts';
import { doneCycle } from '../../../server/audit/state.ts';
import { decide, decideLot } from '../../../server/audit/deciding.ts';
import { tellSample } from '../../../server/audit/sampling.ts';
import { HttpProblem } from '../../../server/http/problem.ts';
import { drawSerials } from '../../../server/quality/sampling/random-draw.ts';
import { StoreError } from '../../../server/store/errors.ts';
import type { Store } from '../../../server/store/store.ts';
import { isSoaked } from '../../../station/soak/core-observer.ts';
import { labHere } from '../../support/lab.ts';
import { PROFILES, lineHere } from '../../support/line.ts';
import type { LineHere } from '../../support/line.ts';

const ENGINEER = { name: 'M. Orrell', role: 'quality engineer', proof: 'stated' } as const;
const PROFILE = PROFILES.find(({ content }) => content.partNumber === 'AQ-1105')!;
const serialOf = (n: number): string => `AQ1105-${String(n).padStart(5, '0')}`;

/** A line that tested a lot of parts, two at a time. */
async function lotOf(parts: number): Promise<LineHere> {
  const line = await lineHere();
  await line.ready('AQ-1105', 'K24-3');
  for (let n = 1; n <= parts; n += 2) {
    line.scan(serialOf(n), serialOf(n + 1));
    const { outcome } = await line.test();
    expect(outcome?.nests.map(({ verdict }) => verdict)).toEqual(['pass', 'pass']);
  }
  return line;
}

function drawn(store: Store, n: number): string {
  const actor = ENGINEER;
  store.samplingPlan({
    partNumber: PROFILE.content.partNumber,
    plan: { kind: 'fixed', n },
    reason: 'process audit',
    actor,
  });
  return drawSample(store, { station: 'LAB-1', profile: PROFILE, lot: 'K24-3', returnToAmbient: false, actor });
}

const codeOf = (act: () => unknown): string | null => {
  try {
    act();
    return null;
  } catch (cause) {
    if (cause instanceof HttpProblem) return cause.code;
    throw cause;
  }
};

test('the draw is of the parts that passed, from the head of the ledger, and can be made again by anybody', async () => {
  const { store } = await lotOf(6);
  const head = () => store.head().hash;
  const actor = ENGINEER;
  store.samplingPlan({ partNumber: PROFILE.content.partNumber, plan: { kind: 'fixed', n: 3 }, reason: 'r', actor });
  store.issueProfile(PROFILE, actor);
  const before = head();
  const audit = drawSample(store, { station: 'LAB-1', profile: PROFILE, lot: 'K24-3', returnToAmbient: true, actor });
  const { drawn: draw } = stateOfAudit(store, audit);
  const passed = [1, 2, 3, 4, 5, 6].map(serialOf);
  expect(draw.content).toMatchObject({
    seed: seedOf(before, 'AQ-1105', 'K24-3'),
    lotSize: 6,
    lotHash: hashOfLot(passed),
    serials: drawSerials(passed, 3, seedOf(before, 'AQ-1105', 'K24-3')).serials,
    conditions: ['cold', 'ambient', 'hot', 'ambient'],
  });
  expect(codeOf(() => drawn(store, 2))).toBe('audit-open');
});

test('more parts than passed cannot be drawn, and nothing is kept of the attempt', async () => {
  const { store } = await lotOf(2);
  const { sequence } = store.head();
  expect(codeOf(() => drawn(store, 3))).toBe('too-few-passed');
  // The plan was kept before; no draw.
  expect(store.head().sequence).toBe(sequence + 1);
  expect(DEFAULT_PLAN.kind).toBe('zero-acceptance');
});

test('a load goes through every condition, each resting on its soak; then it may come out', async () => {
  const { store, clock } = await lotOf(4);
  const audit = drawn(store, 3);
  const lab = await labHere(store, clock, 2);
  const [first, second, third] = stateOfAudit(store, audit).drawn.content.serials;
  const begin = (places: (string | null)[]) => ({ type: 'begin', by: 'M. Orrell', audit, places }) as const;
  expect(lab.refused(begin([first!, second!]))).toBe('proof-due');
  await lab.ready('AQ-1105');
  expect(lab.refused(begin([first!, serialOf(99)]))).toBe('not-drawn');
  expect(lab.refused(begin([first!, first!]))).toBe('scanned-twice');
  expect(lab.refused(begin([first!]))).toBe('wrong-nests');
  expect(lab.refused(begin([first!, second!]))).toBeNull();
  expect(lab.refused(begin([third!, null]))).not.toBeNull();
  const hot = await lab.until(({ load, doing }) => load?.condition === 'hot' && doing === 'testing');
  expect(hot.door).toBe('running');
  const down = await lab.until(({ doing }) => doing === 'coming-down');
  expect(down.door).toBe('too-hot');
  expect(lab.refused({ type: 'taken-out', by: 'M. Orrell' })).toBe('door-not-ready');
  await lab.until(({ door }) => door === 'ready');
  expect(lab.refused({ type: 'taken-out', by: 'M. Orrell' })).toBeNull();
  const state = stateOfAudit(store, audit);
  for (const [index, targetC] of [-40, 23, 125].entries()) {
    const { record } = doneCycle(state, 1, index + 1)!;
    const { soak, results, readings } = record.measurement;
    expect(isSoaked(soak!.state, targetC)).toBe(true);
    expect(results.map(({ verdict }) => verdict)).toEqual(['pass', 'pass']);
    for (const reading of readings) {
      if (reading.kind === 'output') expect(Math.abs(reading.partC.value - targetC)).toBeLessThan(2);
      // Gas is not in balance with a nest in a chamber: no hold is judged there.
      expect(reading.kind).not.toBe('leak');
    }
  }
  // The second load, with an empty nest, once the heat is off.
  await lab.until(({ doing }) => doing === 'rest');
  expect(lab.refused(begin([third!, null]))).toBeNull();
  await lab.until(({ doing }) => doing === 'coming-down');
  await lab.until(({ door }) => door === 'ready');
  lab.lab.command({ type: 'taken-out', by: 'M. Orrell' });
  const view = auditView(store, audit, 'Alder Quay');
  expect(view.phase).toBe('deciding');
  expect(view.input.parts.every(({ results }) => results.every((result) => result?.verdict === 'pass'))).toBe(true);
  // Five points as on the line, and five that only audits take: three on the way back, two supplies.
  expect(view.input.readings).toHaveLength(3 * 3 * 10);
  expect(view.input.lags).toHaveLength(3 * 3);
  const { hysteresis, linearity, supply, response } = view.evaluation.characteristics;
  expect([hysteresis, linearity, supply, response].map((each) => each.length)).toEqual([9, 3, 6, 3]);
  for (const each of [...hysteresis, ...linearity, ...supply, ...response]) expect(each.parts).toHaveLength(3);
  expect(view.input.line).toHaveLength(3 * 5);
  expect(lab.errors).toEqual([]);
}, 120_000);

/** A load of so many parts, two at most, that is on its way. */
async function underWay(parts = 2) {
  const { store, clock } = await lotOf(2);
  const audit = drawn(store, parts);
  const lab = await labHere(store, clock, 2);
  await lab.ready('AQ-1105');
  const [first, second = null] = stateOfAudit(store, audit).drawn.content.serials;
  lab.lab.command({ type: 'begin', by: 'M. Orrell', audit, places: [first!, second] });
  return { store, audit, lab };
}

test('what was cut off waits for a person; what was finished is not repeated, and the soak is proved from the worst case', async () => {
  const { store, audit, lab } = await underWay();
  await lab.until(({ load, doing }) => load?.condition === 'hot' && doing === 'soaking');
  lab.host.kill();
  expect(stateOfAudit(store, audit).stopped).toEqual({ load: 1, stage: 3 });
  expect(lab.view()).toMatchObject({ doing: 'rest', load: { stage: 3, condition: 'hot' } });
  lab.host.start();
  await lab.until(({ link }) => link === 'up');
  const before = store.head().sequence;
  expect(lab.refused({ type: 'resume', by: 'M. Orrell', audit })).toBeNull();
  await lab.until(({ doing }) => doing === 'coming-down');
  const state = stateOfAudit(store, audit);
  expect(state.cycles.filter(({ sequence }) => sequence > before).map(({ stage }) => stage)).toEqual([3]);
  const { from } = doneCycle(state, 1, 3)!.record.measurement.soak!;
  expect(from.coreC.low).toBeLessThan(-40);
  expect(from.coreC.high).toBeGreaterThan(125);
  expect(state.interruptions).toHaveLength(1);
  // A way down that is stopped can be gone again.
  lab.lab.command({ type: 'stop' });
  const stopped = await lab.until(({ doing }) => doing === 'rest');
  expect(stopped).toMatchObject({ trouble: 'operator-stop', isStopping: false });
  expect(lab.refused({ type: 'resume', by: 'M. Orrell', audit })).toBeNull();
  await lab.until(({ doing }) => doing === 'coming-down');
}, 120_000);

test('a door that is opened on the way takes the heat off and restarts nothing', async () => {
  const { store, audit, lab } = await underWay(1);
  await lab.until(({ soak }) => soak !== null && soak.airC < 0);
  const guard = (size: number) => ({
    type: 'demo' as const,
    demo: {
      seed: 0,
      draws: [],
      content: PROFILE.content,
      plant: [],
      parts: [],
      faults: [{ phase: 'ready' as const, afterMs: 0, fault: { where: {}, what: 'guard-open' as const, size } }],
    },
  });
  lab.host.send(guard(0));
  const open = await lab.until(({ soak }) => soak?.heldBy === 'guard-open');
  expect(open.soak?.leftS).toBeNull();
  lab.host.send({ ...guard(0), demo: { ...guard(0).demo, faults: [] } });
  await lab.until(({ soak }) => soak !== null && soak.heldBy === null);
  await lab.until(({ load }) => load?.stage === 2);
  expect(stateOfAudit(store, audit).interruptions).toEqual([]);
}, 120_000);

test('a stop between the record of a stage and the next soak stops there, and is kept', async () => {
  const { store, audit, lab } = await underWay();
  // The record of the first stage is kept; its clamps are still opening.
  await lab.until(() => store.auditEntries(audit).some(({ kind }) => kind === 'cycle-closed'));
  lab.lab.command({ type: 'stop' });
  await lab.until(({ doing }) => doing === 'rest');
  expect(stateOfAudit(store, audit)).toMatchObject({
    stopped: { load: 1, stage: 2 },
    interruptions: [{ load: 1, stage: 2, why: 'operator-stop' }],
  });
  expect(lab.view().isStopping).toBe(false);
  expect(lab.refused({ type: 'resume', by: 'M. Orrell', audit })).toBeNull();
}, 60_000);

test('a stop in a soak takes the heat off: the air goes back to the room', async () => {
  const { lab } = await underWay();
  await lab.until(({ soak }) => soak !== null && soak.airC < -20);
  lab.lab.command({ type: 'stop' });
  await lab.until(({ doing }) => doing === 'rest');
  // Nothing older than the stop counts; parts are still near the room, the air is not: the door stays shut.
  const looked = await lab.until(({ door }) => door !== 'not-measured');
  expect(looked.door).toBe('too-cold');
  await lab.until(({ chamberC }) => chamberC !== null && chamberC > 15);
}, 60_000);

test('an audit that is given up leaves its load inside until it is taken out', async () => {
  const { store, audit, lab } = await underWay();
  await lab.until(({ soak }) => soak !== null && soak.airC < 15);
  lab.lab.command({ type: 'stop' });
  await lab.until(({ doing }) => doing === 'rest');
  tellSample(store, audit, { type: 'abandon', reason: 'wrong lot', by: 'M. Orrell' }, ENGINEER);
  expect(lab.view().load).not.toBeNull();
  await lab.until(({ door }) => door === 'ready');
  expect(lab.refused({ type: 'taken-out', by: 'M. Orrell' })).toBeNull();
  expect(lab.view().load).toBeNull();
  // The next sample can be drawn, and its load goes in.
  const next = drawn(store, 2);
  const { serials } = stateOfAudit(store, next).drawn.content;
  expect(lab.refused({ type: 'begin', by: 'M. Orrell', audit: next, places: [...serials] })).toBeNull();
}, 60_000);

test('a load of an audit that is given up comes down too, and can be stopped on its way', async () => {
  const { store, audit, lab } = await underWay();
  const comeDown = { type: 'resume', by: 'M. Orrell', audit } as const;
  await lab.until(({ soak }) => soak !== null && soak.airC < -20);
  lab.lab.command({ type: 'stop' });
  await lab.until(({ doing }) => doing === 'rest');
  tellSample(store, audit, { type: 'abandon', reason: 'wrong lot', by: 'M. Orrell' }, ENGINEER);
  const { sequence } = store.head();
  expect(lab.refused(comeDown)).toBeNull();
  await lab.until(({ doing, soak }) => doing === 'coming-down' && soak !== null);
  lab.lab.command({ type: 'stop' });
  await lab.until(({ doing }) => doing === 'rest');
  expect(lab.view()).toMatchObject({ trouble: 'operator-stop', isStopping: false });
  expect(lab.refused(comeDown)).toBeNull();
  const seen = new Set<string>();
  await lab.until(({ doing, door }) => {
    seen.add(doing);
    return door === 'ready';
  });
  expect([...seen]).toContain('coming-down');
  expect([...seen]).not.toContain('testing');
  // The way down is no act of the audit: nothing of it was gone on with.
  expect(store.head().sequence).toBe(sequence);
  expect(lab.refused({ type: 'taken-out', by: 'M. Orrell' })).toBeNull();
  expect(lab.refused(comeDown)).not.toBeNull();
}, 120_000);

test('a hold before the end neither ends the audit nor forgets the load', async () => {
  const { store, audit, lab } = await underWay();
  await lab.until(({ soak }) => soak !== null);
  decide(store, audit, { decision: 'hold', reason: 'a customer called', concession: null }, ENGINEER);
  expect(auditView(store, audit, '').phase).toBe('running');
  expect(codeOf(() => decide(store, audit, { decision: 'accept', reason: 'r', concession: null }, ENGINEER))).toBe(
    'audit-unfinished',
  );
  // Nor can the lot be accepted around its audit.
  const of = { partNumber: PROFILE.content.partNumber, lot: 'K24-3' };
  expect(codeOf(() => decideLot(store, of, { decision: 'accept', reason: 'r', concession: null }, ENGINEER))).toBe(
    'against-the-rule',
  );
  await lab.until(({ doing }) => doing === 'coming-down');
}, 60_000);

test('a door is never said to be free while the station learns, nor by what was seen before', async () => {
  const { store, clock } = await lineHere();
  const lab = await labHere(store, clock, 2);
  await lab.until(({ door }) => door === 'ready');
  for (const command of [
    { type: 'characterise', partNumber: 'AQ-1105' },
    { type: 'study-soak', partNumber: 'AQ-1105', by: 'M. Orrell' },
  ] as const) {
    lab.lab.command(command);
    const seen = new Set<string>();
    await lab.until(({ doing, door }) => {
      if (doing === 'learning') seen.add(door);
      return doing !== 'learning';
    });
    expect([...seen]).toEqual(['running']);
    expect(lab.view()).toMatchObject({ isVented: null });
    expect(lab.view().door).not.toBe('ready');
    await lab.until(({ doing }) => doing === 'rest');
    await lab.until(({ door }) => door === 'ready');
  }
}, 60_000);

test('what keeps a load from its way down takes the heat off and is said', async () => {
  const { store, lab } = await underWay(1);
  await lab.until(({ load, doing }) => load?.condition === 'hot' && doing === 'testing');
  // A disk that fails for one read, as the load turns down: the fault is the disk's, everything else is real.
  const broken = vi.spyOn(store, 'journalOf').mockImplementation(() => {
    throw new StoreError('storage-failed', 'one read failed');
  });
  await lab.until(({ doing }) => doing === 'rest');
  broken.mockRestore();
  expect(lab.view().trouble).toBe('not-kept');
  expect(lab.view().load).not.toBeNull();
  const hot = await lab.until(({ chamberC }) => chamberC !== null);
  await lab.until(({ chamberC }) => chamberC !== null && chamberC < hot.chamberC! - 20);
}, 120_000);

test('a stop is heard by a station at rest too: its chamber may be driven', async () => {
  const { store, clock } = await lineHere();
  const lab = await labHere(store, clock, 2);
  const said = vi.spyOn(lab.host, 'send');
  lab.lab.command({ type: 'stop' });
  expect(said).toHaveBeenCalledWith({ type: 'stop' });
});

test('a load that is taken out on its way down leaves no trouble behind', async () => {
  const { lab } = await underWay();
  await lab.until(({ doing, door }) => doing === 'coming-down' && door === 'ready');
  expect(lab.refused({ type: 'taken-out', by: 'M. Orrell' })).toBeNull();
  await lab.until(({ doing, chamberC }) => doing === 'rest' && chamberC !== null);
  expect(lab.view()).toMatchObject({ trouble: null, load: null });
}, 120_000);

test('a soak is looked at: pressure in a nest is seen while nothing else happens', async () => {
  const { lab } = await underWay();
  await lab.until(({ soak }) => soak !== null && soak.atMs > 60_000);
  expect(lab.view()).toMatchObject({ isVented: true, guardShut: true });
  expect(lab.view().partC.every((each) => each !== null)).toBe(true);
}, 60_000);
