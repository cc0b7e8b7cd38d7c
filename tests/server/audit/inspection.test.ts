import { describe, expect } from 'vitest';
import { stateOfAudit } from '../../../server/audit/audits.ts';
import { decide } from '../../../server/audit/deciding.ts';
import { drawSample } from '../../../server/audit/drawing.ts';
import type { SamplingPlan } from '../../../server/audit/evaluation/contract.ts';
import { inspectionOf, resumeSampling } from '../../../server/audit/inspection.ts';
import { lotView } from '../../../server/audit/lots.ts';
import { samplingPlanView, tellSample } from '../../../server/audit/sampling.ts';
import { HttpProblem } from '../../../server/http/problem.ts';
import { AuditedLots } from '../../support/audited-lots.ts';
import { PROFILE as LEDGER_PROFILE } from '../../support/ledger-content.ts';
import { test } from '../../support/ledger-fixture.ts';
import { labHere } from '../../support/lab.ts';
import { PROFILES, lineHere } from '../../support/line.ts';

const ACTOR = { name: 'M. Orrell', role: 'quality engineer', proof: 'stated' } as const;
const PROFILE = PROFILES.find(({ content }) => content.partNumber === 'AQ-1105')!;
const { partNumber } = PROFILE.content;
const ONE: SamplingPlan = { kind: 'attributes', n: 1, c: 0, reference: null };

test('lots that were judged whole by attributes count, oldest first; nothing else does', async () => {
  const line = await lineHere();
  const { store, clock } = line;
  const lab = await labHere(store, clock, 2);
  await lab.ready(partNumber);
  let number = 0;
  const draw = async (lot: string, plan: SamplingPlan): Promise<{ audit: string; serial: string }> => {
    // A lot that is presented again is the same parts: a decided lot takes no others.
    if (store.lots.results(partNumber, lot).length === 0) {
      await line.ready(partNumber, lot);
      line.scan(...[1, 2].map(() => `AQ1105-${String((number += 1)).padStart(5, '0')}`));
      await line.test();
    }
    store.samplingPlan({ partNumber, plan, reason: 'r', actor: ACTOR });
    const wish = { station: 'LAB-1', profile: PROFILE, lot, returnToAmbient: false, actor: ACTOR };
    const audit = drawSample(store, wish);
    return { audit, serial: stateOfAudit(store, audit).drawn.content.serials[0]! };
  };
  const tested = async (lot: string, plan: SamplingPlan): Promise<void> => {
    const { audit, serial } = await draw(lot, plan);
    lab.lab.command({ type: 'begin', by: 'M. Orrell', audit, places: [serial, null] });
    await lab.until(({ doing }) => doing === 'coming-down');
    await lab.until(({ door }) => door === 'ready');
    lab.lab.command({ type: 'taken-out', by: 'M. Orrell' });
    await lab.until(({ doing }) => doing === 'rest');
    decide(store, audit, { decision: 'hold', reason: 'one part is not much', concession: null }, ACTOR);
  };
  await tested('A-1', { kind: 'fixed', n: 1 });
  expect(inspectionOf(store, partNumber)).toBeNull();
  // A sample that is not to be found judges nothing.
  const { audit, serial } = await draw('A-2', ONE);
  tellSample(store, audit, { type: 'missing', serial, reason: 'scrapped', by: 'M. Orrell' }, ACTOR);
  decide(store, audit, { decision: 'hold', reason: 'r', concession: null }, ACTOR);
  expect(inspectionOf(store, partNumber)).toBeNull();
  await tested('A-3', ONE);
  // Acceptance number 0 or 1: two points for an accepted lot (ISO 2859-1:1999 9.3.3.2, from memory).
  expect(inspectionOf(store, partNumber)).toMatchObject({ severity: 'normal', score: 2 });
  await tested('A-4', ONE);
  expect(inspectionOf(store, partNumber)).toMatchObject({ severity: 'normal', score: 4 });
  // The same lot again is one presented again.
  await tested('A-4', ONE);
  expect(inspectionOf(store, partNumber)).toMatchObject({ score: 4 });
}, 120_000);

/** The code with which something is refused; null when it is done. */
const codeOf = (act: () => unknown): string | null => {
  try {
    act();
    return null;
  } catch (cause) {
    if (cause instanceof HttpProblem) return cause.code;
    throw cause;
  }
};

describe('a series of lots', () => {
  const of = LEDGER_PROFILE.partNumber;
  // MIL-STD-105E, tables II-A and II-B: letter A at AQL 6.5 is 2 parts, none bad; tightened the arrow leads to 3 parts, none bad.
  const NORMAL: SamplingPlan = { kind: 'attributes', n: 2, c: 0, reference: null };

  test('a draw that was given up is no inspection: the next is the first', ({ store }) => {
    const lots = new AuditedLots(store);
    store.samplingPlan({ partNumber: of, plan: NORMAL, reason: 'r', actor: ACTOR });
    lots.line('L-1', 4);
    tellSample(store, lots.draw('L-1'), { type: 'abandon', reason: 'printer jam', by: 'M. Orrell' }, ACTOR);
    lots.test(lots.draw('L-1'));
    expect(inspectionOf(store, of)).toMatchObject({ severity: 'normal', score: 2 });
  });

  test('more bad parts than are allowed refuse a lot, though a part is missing or the audit was given up', ({
    store,
  }) => {
    const lots = new AuditedLots(store);
    const plan: SamplingPlan = { kind: 'attributes', n: 3, c: 0, reference: null };
    store.samplingPlan({ partNumber: of, plan, reason: 'r', actor: ACTOR });
    const begun = (lot: string): string => {
      lots.line(lot, 6);
      const audit = lots.draw(lot);
      const [bad, good, missing] = lots.drawnOf(audit).serials;
      lots.load(audit, lot, [bad!, good!], new Set([bad!]));
      tellSample(store, audit, { type: 'missing', serial: missing!, reason: 'scrapped', by: 'M. Orrell' }, ACTOR);
      return audit;
    };
    decide(store, begun('L-1'), { decision: 'hold', reason: 'r', concession: null }, ACTOR);
    expect(inspectionOf(store, of)).toMatchObject({ severity: 'normal', score: 0 });
    tellSample(store, begun('L-2'), { type: 'abandon', reason: 'it looks bad', by: 'M. Orrell' }, ACTOR);
    expect(inspectionOf(store, of)).toMatchObject({ severity: 'tightened' });
  });

  test('two refused lots of five tighten the plan that is drawn; five good ones loosen it again', ({ store }) => {
    const lots = new AuditedLots(store);
    store.samplingPlan({ partNumber: of, plan: NORMAL, reason: 'r', actor: ACTOR });
    const next = (lot: string, bad: number) => {
      lots.line(lot, 4);
      const audit = lots.draw(lot);
      lots.test(audit, bad);
      decide(store, audit, { decision: 'hold', reason: 'r', concession: null }, ACTOR);
      const { plan, severity, serials } = lots.drawnOf(audit);
      return { plan, severity, n: serials.length };
    };
    const byNormal = { plan: NORMAL, severity: 'normal', n: 2 };
    const byTightened = { plan: { ...NORMAL, n: 3 }, severity: 'tightened', n: 3 };
    for (const [k, bad] of [0, 1, 0, 1].entries()) expect(next(`L-${k}`, bad)).toEqual(byNormal);
    expect(samplingPlanView(store, of)).toMatchObject({
      plan: NORMAL,
      inspection: { severity: 'tightened' },
      inForce: { plan: { n: 3, c: 0 }, severity: 'tightened', tightened: { letter: 'A', aql: '6.5' }, notDrawn: null },
    });
    lots.line('L-4', 4);
    expect(lotView(store, of, 'L-4').sample?.n).toBe(3);
    for (const k of [5, 6, 7, 8, 9]) expect(next(`L-${k}`, 0)).toEqual(byTightened);
    expect(next('L-10', 0)).toEqual(byNormal);
    // Whatever was read once is not read again, and stays what it was for a reader that has read nothing.
    expect(inspectionOf(store, of)).toMatchObject({ severity: 'normal', score: 2 });
  });

  test('a lot that was drawn before the switch counts for neither severity', ({ store }) => {
    const lots = new AuditedLots(store);
    store.samplingPlan({ partNumber: of, plan: NORMAL, reason: 'r', actor: ACTOR });
    const audits = ['L-1', 'L-2', 'L-3'].map((lot) => {
      lots.line(lot, 4);
      return lots.draw(lot);
    });
    lots.test(audits[0]!, 1);
    lots.test(audits[1]!, 1);
    const tightened = inspectionOf(store, of);
    expect(tightened).toMatchObject({ severity: 'tightened' });
    lots.test(audits[2]!, 0);
    expect(inspectionOf(store, of)).toEqual(tightened);
  });

  test('discontinued, no lot is drawn by the plan until somebody takes it up again', ({ store }) => {
    const lots = new AuditedLots(store);
    store.samplingPlan({ partNumber: of, plan: NORMAL, reason: 'r', actor: ACTOR });
    const resume = () => resumeSampling(store, of, { reason: 'new seals, see 8D 26-118', actor: ACTOR });
    expect(codeOf(resume)).toBe('not-discontinued');
    for (let k = 0; k < 7; k += 1) {
      lots.line(`L-${k}`, 4);
      lots.test(lots.draw(`L-${k}`), 1);
    }
    lots.line('L-7', 4);
    const { sequence } = store.head();
    expect(codeOf(() => lots.draw('L-7'))).toBe('sampling-discontinued');
    expect(store.head().sequence).toBe(sequence);
    expect(samplingPlanView(store, of)).toMatchObject({
      inspection: { severity: 'discontinued', resumed: null },
      inForce: { plan: null, notDrawn: { code: 'sampling-discontinued', facts: { partNumber: of, n: 2, c: 0 } } },
    });
    expect(lotView(store, of, 'L-7').sample).toBeNull();
    // Another plan than one by attributes knows no severity.
    expect(lots.drawnOf(lots.draw('L-7', { plan: { kind: 'fixed', n: 1 } })).severity).toBeUndefined();
    resume();
    expect(inspectionOf(store, of)).toMatchObject({
      severity: 'tightened',
      explanation: null,
      resumed: { by: ACTOR.name, reason: 'new seals, see 8D 26-118' },
    });
    lots.line('L-8', 4);
    const audit = lots.draw('L-8');
    expect(lots.drawnOf(audit)).toMatchObject({ plan: { n: 3, c: 0 }, severity: 'tightened' });
    lots.test(audit);
    // A new count: the fifth refusal was one of the old.
    expect(inspectionOf(store, of)).toMatchObject({ severity: 'tightened', resumed: null });
    expect(codeOf(resume)).toBe('not-discontinued');
  });

  test('a plan beside the tables has no tightened one, and says so', ({ store }) => {
    const lots = new AuditedLots(store);
    store.samplingPlan({ partNumber: of, plan: { ...NORMAL, n: 1 }, reason: 'r', actor: ACTOR });
    for (const lot of ['L-1', 'L-2']) {
      lots.line(lot, 4);
      lots.test(lots.draw(lot), 1);
    }
    lots.line('L-3', 4);
    expect(codeOf(() => lots.draw('L-3'))).toBe('no-tightened-plan');
  });

  test('what more than 200 audits ago tightened it is not forgotten', ({ store }) => {
    const lots = new AuditedLots(store);
    store.samplingPlan({ partNumber: of, plan: NORMAL, reason: 'r', actor: ACTOR });
    for (const lot of ['L-1', 'L-2']) {
      lots.line(lot, 4);
      lots.test(lots.draw(lot), 1);
    }
    lots.line('L-3', 4);
    for (let k = 0; k < 201; k += 1)
      tellSample(store, lots.draw('L-3'), { type: 'abandon', reason: 'printer jam', by: 'M. Orrell' }, ACTOR);
    expect(inspectionOf(store, of)).toMatchObject({ severity: 'tightened' });
  });
});
