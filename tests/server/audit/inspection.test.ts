import { expect, test } from 'vitest';
import { stateOfAudit } from '../../../server/audit/audits.ts';
import { decide } from '../../../server/audit/deciding.ts';
import { drawSample } from '../../../server/audit/drawing.ts';
import type { SamplingPlan } from '../../../server/audit/evaluation/contract.ts';
import { inspectionOf } from '../../../server/audit/inspection.ts';
import { tellSample } from '../../../server/audit/sampling.ts';
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
    await line.ready(partNumber, lot);
    line.scan(...[1, 2].map(() => `AQ1105-${String((number += 1)).padStart(5, '0')}`));
    await line.test();
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
