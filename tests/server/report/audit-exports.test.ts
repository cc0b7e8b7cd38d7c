import { expect, test } from 'vitest';
import { auditCsv, auditJson, READING_COLUMNS } from '../../../server/report/audit-exports.ts';
import { auditView } from '../../support/audit-view.ts';

const view = auditView();

/** Rows and fields after the grammar of RFC 4180, 2: CRLF ends a row, a quoted field doubles its quotes. */
function parsed(text: string): string[][] {
  const rows: string[][] = [];
  let row: string[] = [];
  const field = /(?:"((?:[^"]|"")*)"|([^",\r\n]*))(,|\r\n)/y;
  for (let match = field.exec(text); match !== null; match = field.exec(text)) {
    row.push(match[1]?.replaceAll('""', '"') ?? match[2] ?? '');
    if (match[3] === ',') continue;
    rows.push(row);
    row = [];
    if (field.lastIndex === text.length) return rows;
  }
  throw new Error('not comma-separated values');
}

const columns = (rows: string[][]) =>
  rows.slice(1).map((row) => Object.fromEntries(READING_COLUMNS.map((name, k) => [name, row[k]])));

test('a row a reading, equal to the audit to the last digit', () => {
  const rows = parsed(auditCsv(view));
  expect(rows[0]).toEqual([...READING_COLUMNS]);
  for (const row of rows) expect(row).toHaveLength(READING_COLUMNS.length);
  const readings = columns(rows).filter(({ quantity }) => quantity === 'error');
  expect(readings).toHaveLength(view.input.readings.length);
  for (const [k, row] of readings.entries()) {
    const reading = view.input.readings[k]!;
    const part = view.input.parts.find(({ serial }) => serial === reading.serial)!;
    expect(row).toMatchObject({ serial: reading.serial, step: reading.step, quantity: 'error', unit: 'kPa' });
    expect(row['condition']).toBe(view.input.stages[reading.stage - 1]!.condition);
    expect(row['verdict_of_stage']).toBe(part.results[reading.stage - 1]!.verdict);
    const numbers = ['load', 'nest', 'stage', 'point_kpa_abs', 'value', 'standard_uncertainty', 'allowed', 'part_c'];
    const { nest, stage, pointKpaAbs, errorKpa, uKpa, allowedKpa, partC } = reading;
    const wanted = [part.load, nest, stage, pointKpaAbs, errorKpa, uKpa, allowedKpa, partC];
    expect(numbers.map((name) => Number(row[name]))).toEqual(wanted);
  }
});

test("behind the readings: each part's hysteresis, linearity, effect of the supply and lag", () => {
  const swept = auditView({ hasAuditPoints: true });
  const { hysteresis, linearity, supply } = swept.evaluation.characteristics;
  const found = columns(parsed(auditCsv(swept))).filter(({ quantity }) => quantity !== 'error');
  const wanted = [
    ...hysteresis.flatMap(({ stage, step, parts }) => parts.map((each) => ['hysteresis', stage, step, each] as const)),
    ...linearity.flatMap(({ stage, parts }) => parts.map((each) => ['linearity', stage, '', each] as const)),
    ...supply.flatMap(({ stage, step, parts }) => parts.map((each) => ['supply-effect', stage, step, each] as const)),
  ];
  expect(wanted.length).toBe(13 * 3 * (2 + 1 + 2));
  expect(found).toHaveLength(wanted.length + swept.input.lags.length);
  for (const [k, [quantity, stage, step, { serial, value }]] of wanted.entries()) {
    expect(found[k]).toMatchObject({ quantity, stage: String(stage), step, serial, unit: 'kPa', allowed: '' });
    expect(Number(found[k]?.['value'])).toBe(value);
  }
  for (const [k, { serial, lagMs, uMs, stage }] of swept.input.lags.entries()) {
    const row = found[wanted.length + k];
    expect(row).toMatchObject({ quantity: 'lag', serial, stage: String(stage), unit: 'ms', allowed: '20' });
    expect([Number(row?.['value']), Number(row?.['standard_uncertainty'])]).toEqual([lagMs, uMs]);
  }
});

test('what is simulated says so in every row', () => {
  for (const row of columns(parsed(auditCsv(view)))) expect(row['origin']).toBe('simulated');
});

test('commas, quotes and line ends of a text come back', () => {
  const lot = 'K24-3, "second", line\r\nend';
  for (const row of columns(parsed(auditCsv({ ...view, lot })))) expect(row['lot']).toBe(lot);
});

test.each(['=1+1', '+1', '-1', '@SUM(A1)', '\tx', '\rx'])('a spreadsheet runs no lot called %j', (lot) => {
  for (const row of columns(parsed(auditCsv({ ...view, lot })))) expect(row['lot']).toBe(`'${lot}`);
});

test('numbers below zero stay numbers', () => {
  const below = view.input.readings.filter(({ errorKpa }) => errorKpa < 0);
  expect(below.length).toBeGreaterThan(10);
  const values = columns(parsed(auditCsv(view)))
    .filter(({ quantity }) => quantity === 'error')
    .map((row) => row['value']);
  expect(values.filter((value) => value?.startsWith('-'))).toHaveLength(below.length);
});

test('the JSON is the audit, and says its format', () => {
  const lotSerials = ['AQ1105-26B-00001', 'AQ1105-26B-00002'];
  const wanted = { format: 1, ...view, draw: { ...view.draw, lotSerials } };
  expect(JSON.parse(auditJson(view, lotSerials))).toEqual(wanted);
});
