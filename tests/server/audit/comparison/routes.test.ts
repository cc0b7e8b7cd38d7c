import type { FastifyInstance } from 'fastify';
import { pino } from 'pino';
import { mean, sampleVariance } from 'simple-statistics';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { systemClock } from '../../../../station/clock.ts';
import { buildApp } from '../../../../server/app.ts';
import type { AuditComparison, OtherAudit } from '../../../../server/audit/comparison/contract.ts';
import type { AuditView } from '../../../../server/audit/contract.ts';
import { COMPARISON_COLUMNS } from '../../../../server/report/comparison-csv.ts';
import { DRIFT_COLUMNS } from '../../../../server/report/drift-csv.ts';
import { clerkHere } from '../../../support/clerk.ts';
import { comparedAudits } from '../../../support/compared-audits.ts';
import type { ComparedAudits } from '../../../support/compared-audits.ts';

let made: ComparedAudits;
let app: FastifyInstance;
beforeAll(async () => {
  made = await comparedAudits();
  app = await buildApp({
    lines: [],
    labs: [],
    store: made.store,
    profiles: [],
    history: () => null,
    reader: made.store,
    clerk: clerkHere(made.store),
    clock: systemClock,
    log: pino({ level: 'silent' }),
    life: 'life',
    web: null,
    isLoopback: true,
  });
}, 180_000);
afterAll(async () => {
  await app.close();
  made.end();
});

const against = (audit: string, other: string) => app.inject(`/api/audits/${audit}/against/${other}`);

test('two audits of a part number: what differs, where, and what else is not alike', async () => {
  const response = await against(made.drifting, made.good);
  expect(response.statusCode).toBe(200);
  const comparison = response.json<AuditComparison>();
  expect(comparison).toMatchObject({ partNumber: 'AQ-1105', standing: 'differs' });
  expect([comparison.here.lot, comparison.there.lot]).toEqual(['K24-3', 'K23-2']);
  expect(comparison.cells).toHaveLength(15);
  const [largest] = comparison.differences;
  expect(largest).toMatchObject({ code: 'mean-lower', facts: { stage: 3, step: 'ambient' } });
  expect(comparison.differences.every(({ facts }) => facts['stage'] !== 2)).toBe(true);
  // The good one went back to ambient: those five points have nothing to be held against.
  expect(comparison.caveats).toContainEqual({ code: 'only-one', facts: { which: 'there', cells: 5 } });
  expect(comparison.caveats.map(({ code }) => code)).not.toContain('unfinished');

  // The difference from the readings themselves, by a general-purpose statistics library.
  const cell = comparison.cells.find(({ stage, step }) => stage === 3 && step === '60-kpa')!;
  const errors = await Promise.all(
    [made.drifting, made.good].map(async (audit) =>
      (await app.inject(`/api/audits/${audit}`))
        .json<AuditView>()
        .input.readings.filter(({ stage, step }) => stage === 3 && step === '60-kpa')
        .map(({ errorKpa }) => errorKpa),
    ),
  );
  const [own = [], other = []] = errors;
  expect(cell.differenceKpa).toBeCloseTo(mean(own) - mean(other), 9);
  expect((cell.spread?.value ?? 0) ** 2).toBeCloseTo(sampleVariance(own) / sampleVariance(other), 9);
});

test('what is not finished can be compared, and is said to be unfinished', async () => {
  const { caveats, cells } = (await against(made.unfinished, made.good)).json<AuditComparison>();
  expect(caveats).toContainEqual({ code: 'unfinished', facts: { which: 'here', parts: 2, of: 5 } });
  expect(cells.map(({ here, there }) => [here.n, there.n])).toEqual(cells.map(() => [2, 5]));
  const empty = (await against(made.untouched, made.good)).json<AuditComparison>();
  expect(empty).toMatchObject({ standing: 'nothing-common', cells: [], differences: [], unseen: null, tests: 0 });
});

test('the choice: those decided first, the newest before the older, nothing that measured nothing, no other part number', async () => {
  const others = (await app.inject(`/api/audits/${made.untouched}/others`)).json<OtherAudit[]>();
  expect(others.map(({ audit }) => audit)).toEqual([made.drifting, made.good, made.unfinished]);
  const own = (await app.inject(`/api/audits/${made.good}/others`)).json<OtherAudit[]>();
  expect(own.map(({ audit, lot }) => [audit, lot])).toEqual([
    [made.drifting, 'K24-3'],
    [made.unfinished, 'K24-4'],
  ]);
  expect((await app.inject(`/api/audits/${made.foreign}/others`)).json()).toEqual([]);
});

test.each([
  ['another part number', () => [made.drifting, made.foreign], 409, 'other-part-number', /AQ-1105.*AQ-2105/],
  ['itself', () => [made.good, made.good], 409, 'same-audit', /Choose another/],
  ['one that is not there', () => [made.good, 'none'], 404, 'no-such-audit', /no audit/],
  ['nothing against one', () => ['none', made.good], 404, 'no-such-audit', /no audit/],
  ['a name that is too long', () => [made.good, 'x'.repeat(101)], 414, 'bad-request', /./],
] as const)('%s is refused with a problem document', async (_what, audits, status, code, detail) => {
  const [audit = '', other = ''] = audits();
  const csv = await app.inject(`/api/audits/${audit}/against/${other}/comparison.csv`);
  for (const response of [await against(audit, other), csv]) {
    expect(response.statusCode).toBe(status);
    expect(response.headers['content-type']).toMatch(/^application\/problem\+json/);
    expect(response.json()).toMatchObject({ code, status, detail: expect.stringMatching(detail) as string });
  }
});

test('both tables as comma-separated values, with as many rows as there are points', async () => {
  const csv = await app.inject(`/api/audits/${made.drifting}/against/${made.good}/comparison.csv`);
  expect(csv.headers['content-type']).toBe('text/csv; charset=utf-8');
  expect(csv.headers['content-disposition']).toContain('audit-AQ-1105-K24-3-against-K23-2.csv');
  const rows = csv.body.trimEnd().split('\r\n');
  expect(rows[0]).toBe(COMPARISON_COLUMNS.join(','));
  expect(rows).toHaveLength(16);
  const comparison = (await against(made.drifting, made.good)).json<AuditComparison>();
  const at = (name: string): number => COMPARISON_COLUMNS.indexOf(name);
  expect(rows.slice(1).map((row) => Number(row.split(',')[at('mean_difference_kpa')]))).toEqual(
    comparison.cells.map(({ differenceKpa }) => differenceKpa),
  );
  for (const row of rows.slice(1)) expect(row.split(',')[at('other_origin')]).toBe('simulated');

  const drift = await app.inject(`/api/audits/${made.good}/drift.csv`);
  const [head, ...changes] = drift.body.trimEnd().split('\r\n');
  expect(head).toBe(DRIFT_COLUMNS.join(','));
  // Cold, hot, and back at ambient: five points each.
  expect(changes).toHaveLength(15);
  expect(changes.filter((row) => row.split(',')[DRIFT_COLUMNS.indexOf('is_again')] === 'yes')).toHaveLength(5);
});

test('the document of the interface has the addresses', async () => {
  const { paths } = (await app.inject('/api/openapi.json')).json<{ paths: Record<string, unknown> }>();
  expect(Object.keys(paths)).toEqual(
    expect.arrayContaining([
      '/api/audits/{audit}/against/{other}',
      '/api/audits/{audit}/against/{other}/comparison.csv',
      '/api/audits/{audit}/others',
      '/api/audits/{audit}/drift.csv',
    ]),
  );
});
