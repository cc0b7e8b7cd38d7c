import type { AuditView } from '../audit/contract.ts';
import type { AuditReading, SampleSpread } from '../audit/evaluation/contract.ts';
import { csvText } from './csv.ts';
import type { Field } from './csv.ts';

/** The columns of the table of readings: one reading a row, units in the names. */
export const READING_COLUMNS = [
  'audit',
  'part_number',
  'lot',
  'origin',
  'serial',
  'load',
  'nest',
  'stage',
  'condition',
  'step',
  'point_kpa_abs',
  'quantity',
  'value',
  'standard_uncertainty',
  'unit',
  'allowed',
  'part_c',
  'verdict_of_stage',
] as const;

/**
 * Every reading of an audit as comma-separated values (RFC 4180: CRLF, quotes doubled, a heading), tidy: one reading a
 * row, in the order of the evaluation's input. Numbers are written in full with a point. `quantity` is `error`: what the
 * part read less the pressure that was there, kPa; `allowed` holds to both sides. Behind them stand each part's
 * `hysteresis`, `linearity` and `supply-effect` (kPa, see `Characteristics`) and its `lag` (ms, `allowed` is its limit).
 */
export function auditCsv(view: AuditView): string {
  const stages = new Map(view.input.stages.map((stage) => [stage.stage, stage]));
  const parts = new Map(view.input.parts.map((part) => [part.serial, part]));
  const rowOf = (reading: AuditReading): Field[] => {
    const part = parts.get(reading.serial);
    const place = view.input.stages.findIndex(({ stage }) => stage === reading.stage);
    return [
      ...[view.audit, view.partNumber, view.lot, view.origin, reading.serial, part?.load ?? null, reading.nest],
      ...[reading.stage, stages.get(reading.stage)?.condition ?? null, reading.step, reading.pointKpaAbs],
      ...['error', reading.errorKpa, reading.uKpa, 'kPa', reading.allowedKpa, reading.partC],
      part?.results[place]?.verdict ?? null,
    ];
  };
  return csvText([READING_COLUMNS, ...view.input.readings.map(rowOf), ...characteristicRows(view)]);
}

interface Found {
  readonly quantity: string;
  readonly stage: number;
  readonly step: string | null;
  readonly of: SampleSpread;
}

/** What the evaluation found of each part besides its readings, a row each: no uncertainty, no temperature of its own. */
function characteristicRows(view: AuditView): Field[][] {
  const { hysteresis, linearity, supply, response } = view.evaluation.characteristics;
  const found: Found[] = [
    ...hysteresis.map((of) => ({ quantity: 'hysteresis', stage: of.stage, step: of.step, of })),
    ...linearity.map((of) => ({ quantity: 'linearity', stage: of.stage, step: null, of })),
    ...supply.map((of) => ({ quantity: 'supply-effect', stage: of.stage, step: of.step, of })),
  ];
  const places = new Map(view.input.parts.map((part) => [part.serial, part]));
  const rowOf = (stage: number, serial: string, step: string | null, numbers: readonly Field[]): Field[] => {
    const part = places.get(serial);
    const at = view.input.stages.findIndex((each) => each.stage === stage);
    return [
      ...[view.audit, view.partNumber, view.lot, view.origin, serial, part?.load ?? null, part?.nest ?? null],
      ...[stage, view.input.stages[at]?.condition ?? null, step, null, ...numbers, null],
      part?.results[at]?.verdict ?? null,
    ];
  };
  const limits = new Map(response.map(({ stage, limitMs }) => [stage, limitMs]));
  return [
    ...found.flatMap(({ quantity, stage, step, of }) =>
      of.parts.map(({ serial, value }) => rowOf(stage, serial, step, [quantity, value, null, 'kPa', null])),
    ),
    ...view.input.lags.map(({ serial, stage, lagMs, uMs }) =>
      rowOf(stage, serial, null, ['lag', lagMs, uMs, 'ms', limits.get(stage) ?? null]),
    ),
  ];
}

/**
 * Everything of an audit as JSON, format 1: the audit's view as it is, indented for people, and `draw.lotSerials`, the sorted
 * list of which the draw drew places (null where the ledger does not give it any more).
 */
export function auditJson(view: AuditView, lotSerials: readonly string[] | null): string {
  return `${JSON.stringify({ format: 1, ...view, draw: { ...view.draw, lotSerials } }, null, 2)}\n`;
}
