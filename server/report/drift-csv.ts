import type { AuditView } from '../audit/contract.ts';
import type { Drift } from '../audit/evaluation/contract.ts';
import { csvText } from './csv.ts';
import type { Field } from './csv.ts';

/** The columns of the table of changes, units in the names. */
export const DRIFT_COLUMNS = [
  ...['audit', 'part_number', 'lot', 'origin', 'stage', 'condition', 'target_c', 'is_again', 'step'],
  ...['point_kpa_abs', 'n', 'mean_change_kpa', 'mean_low_95_kpa', 'mean_high_95_kpa', 'sd_of_changes_kpa'],
  ...['largest_change_kpa', 'largest_serial', 'temperature_factor_adds_kpa'],
] as const;

/**
 * How the same parts changed from the first test at ambient, one point of one condition a row (RFC 4180, as `auditCsv`).
 * `point_kpa_abs` is that of the later condition.
 */
export function driftCsv(view: AuditView): string {
  const rowOf = (drift: Drift): Field[] => {
    const stage = view.input.stages.find((each) => each.stage === drift.stage);
    const cell = view.evaluation.cells.find((each) => each.stage === drift.stage && each.step === drift.step);
    return [
      ...[view.audit, view.partNumber, view.lot, view.origin, drift.stage, stage?.condition ?? null],
      ...[stage?.targetC ?? null, stage?.isAgain === true ? 'yes' : 'no', drift.step, cell?.pointKpaAbs ?? null],
      ...[drift.n, drift.meanKpa, drift.bounds?.lowKpa ?? null, drift.bounds?.highKpa ?? null, drift.sdKpa],
      ...[drift.largest.kPa, drift.largest.serial, drift.addedKpa],
    ];
  };
  return csvText([DRIFT_COLUMNS, ...view.evaluation.drifts.map(rowOf)]);
}
