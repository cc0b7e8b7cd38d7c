import { expect, test } from 'vitest';
import { auditView } from '../../../server/audit/audits.ts';
import { stateOfAudit } from '../../../server/audit/audits.ts';
import { DrawBody } from '../../../server/audit/contract.ts';
import { conditionsOf, drawSample } from '../../../server/audit/drawing.ts';
import { HttpProblem } from '../../../server/http/problem.ts';
import { auditPdf } from '../../../server/report/audit-pdf.ts';
import type { ConditionId } from '../../../station/profile/schema.ts';
import { labHere } from '../../support/lab.ts';
import { PROFILES, lineHere } from '../../support/line.ts';
import { readPdf } from '../../support/pdf-text.ts';

const ENGINEER = { name: 'M. Orrell', role: 'quality engineer', proof: 'stated' } as const;
const PROFILE = PROFILES.find(({ content }) => content.partNumber === 'AQ-1105')!;
const { partNumber } = PROFILE.content;

const order = (conditions: readonly ConditionId[] | undefined, returnToAmbient: boolean): string => {
  try {
    return conditionsOf({ profile: PROFILE, conditions, returnToAmbient }).join(' ');
  } catch (cause) {
    if (cause instanceof HttpProblem) return `${cause.status} ${cause.code}`;
    throw cause;
  }
};

test.each([
  // Nothing said: the profile's own, as it stands in its file.
  [undefined, false, 'cold ambient hot'],
  [undefined, true, 'cold ambient hot ambient'],
  [['hot', 'cold'], false, 'hot cold'],
  [['hot', 'cold'], true, 'hot cold ambient'],
  [['ambient', 'hot'], true, 'ambient hot ambient'],
  // There is nothing to return from.
  [['hot', 'ambient'], true, 'hot ambient'],
  [['ambient'], true, 'ambient'],
  [[], false, '409 no-condition'],
  [['hot', 'hot'], false, '409 condition-twice'],
  [['ambient', 'hot', 'ambient'], false, '409 condition-twice'],
] as const)('conditions %j with a return %j: %s', (conditions, returnToAmbient, says) => {
  expect(order(conditions, returnToAmbient)).toBe(says);
});

test('a condition that the profile does not have is refused, with those that it has', () => {
  const profile = {
    ...PROFILE,
    content: { ...PROFILE.content, conditions: PROFILE.content.conditions.filter(({ id }) => id !== 'hot') },
  };
  const chosen = { profile, conditions: ['hot'] as const, returnToAmbient: false };
  expect(() => conditionsOf(chosen)).toThrow(`The profile of ${partNumber} has no condition hot`);
  const body = { partNumber, lot: 'K24-3', station: 'LAB-1', by: 'M. Orrell' };
  expect(DrawBody.safeParse({ ...body, conditions: [] }).success).toBe(false);
  expect(DrawBody.safeParse({ ...body, conditions: ['tepid'] }).success).toBe(false);
  expect(DrawBody.safeParse(body).data).toMatchObject({ returnToAmbient: false });
});

test('an audit goes through the chosen conditions in their order, and says what was left out', async () => {
  const line = await lineHere();
  await line.ready(partNumber, 'K24-3');
  line.scan('AQ1105-00001', 'AQ1105-00002');
  await line.test();
  const { store, clock } = line;
  store.samplingPlan({ partNumber, plan: { kind: 'fixed', n: 2 }, reason: 'process audit', actor: ENGINEER });
  const wish = { station: 'LAB-1', profile: PROFILE, lot: 'K24-3', actor: ENGINEER };
  const audit = drawSample(store, { ...wish, conditions: ['hot', 'ambient'], returnToAmbient: false });
  // Chosen before any result: it is the draw's own entry.
  expect(stateOfAudit(store, audit).drawn.content.conditions).toEqual(['hot', 'ambient']);
  const lab = await labHere(store, clock, 2);
  await lab.ready(partNumber);
  const { serials } = stateOfAudit(store, audit).drawn.content;
  lab.lab.command({ type: 'begin', by: 'M. Orrell', audit, places: [...serials] });
  const seen: string[] = [];
  await lab.until(({ load, doing, door }) => {
    if (load !== null && seen.at(-1) !== load.condition) seen.push(load.condition);
    return doing !== 'soaking' && doing !== 'testing' && door === 'ready';
  });
  expect(seen).toEqual(['hot', 'ambient']);
  lab.lab.command({ type: 'taken-out', by: 'M. Orrell' });
  const view = auditView(store, audit, 'Alder Quay');
  expect(view.phase).toBe('deciding');
  expect(view.input.stages).toMatchObject([
    { stage: 1, condition: 'hot', targetC: 125, isAgain: false },
    { stage: 2, condition: 'ambient', isAgain: false },
  ]);
  expect(view.draw.leftOut).toEqual(['cold']);
  // Changes are against ambient, whenever that came.
  expect(new Set(view.evaluation.drifts.map(({ stage }) => stage))).toEqual(new Set([1]));
  expect(view.evaluation.lineAgainstLab?.parts).toBe(2);
  expect(view.evaluation.proposal.decision).not.toBeNull();
  const pdf = await auditPdf(view, { paper: 'A4', language: 'es', timeZone: 'UTC' });
  expect((await readPdf(new Uint8Array(pdf))).pages.join(' ')).toContain('dejaron fuera en el sorteo: Frío');
}, 120_000);

test('an audit without ambient has nothing to compare with it, and is evaluated all the same', async () => {
  const line = await lineHere();
  await line.ready(partNumber, 'K24-3');
  line.scan('AQ1105-00001', 'AQ1105-00002');
  await line.test();
  const { store, clock } = line;
  store.samplingPlan({ partNumber, plan: { kind: 'fixed', n: 2 }, reason: 'process audit', actor: ENGINEER });
  const wish = { station: 'LAB-1', profile: PROFILE, lot: 'K24-3', actor: ENGINEER };
  const audit = drawSample(store, { ...wish, conditions: ['cold'], returnToAmbient: false });
  const lab = await labHere(store, clock, 2);
  await lab.ready(partNumber);
  const { serials } = stateOfAudit(store, audit).drawn.content;
  lab.lab.command({ type: 'begin', by: 'M. Orrell', audit, places: [...serials] });
  await lab.until(({ door, doing }) => doing !== 'soaking' && doing !== 'testing' && door === 'ready');
  lab.lab.command({ type: 'taken-out', by: 'M. Orrell' });
  const view = auditView(store, audit, 'Alder Quay');
  expect(view).toMatchObject({ phase: 'deciding', draw: { leftOut: ['ambient', 'hot'] } });
  expect(view.evaluation).toMatchObject({ drifts: [], lineAgainstLab: null, weakest: { stage: 1 } });
  const pdf = await auditPdf(view, { paper: 'A4', language: 'en', timeZone: 'UTC' });
  expect((await readPdf(new Uint8Array(pdf))).pages.join(' ')).toContain('left out at the draw: Ambient, Hot');
}, 120_000);
