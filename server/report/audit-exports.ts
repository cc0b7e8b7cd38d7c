import type { AuditView } from '../audit/contract.ts';
import type { AuditReading } from '../audit/evaluation/contract.ts';
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
 * part read less the pressure that was there, kPa; `allowed` holds to both sides.
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
  return csvText([READING_COLUMNS, ...view.input.readings.map(rowOf)]);
}

/** Everything of an audit as JSON, format 1: the audit's view as it is, indented for people. */
export function auditJson(view: AuditView): string {
  return `${JSON.stringify({ format: 1, ...view }, null, 2)}\n`;
}
