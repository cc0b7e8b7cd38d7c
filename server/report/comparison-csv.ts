import type { AuditComparison, ComparedCell, ComparedSide, Tested } from '../audit/comparison/contract.ts';
import type { Cell } from '../audit/evaluation/contract.ts';
import { csvText } from './csv.ts';
import type { Field } from './csv.ts';

const SIDE = ['audit', 'lot', 'origin', 'profile_revision'] as const;
const CELL = ['point_kpa_abs', 'n', 'mean_kpa', 'sd_kpa', 'allowed_kpa', 'ppk', 'ppk_at_least_95'] as const;
const TESTED = ['low_95', 'high_95', 'p', 'p_holm'] as const;

/** The columns of a comparison, units in the names. */
export const COMPARISON_COLUMNS: readonly string[] = [
  'part_number',
  ...SIDE.map((name) => `this_${name}`),
  ...SIDE.map((name) => `other_${name}`),
  ...['condition', 'target_c', 'is_again', 'step'],
  ...CELL.map((name) => `this_${name}`),
  ...CELL.map((name) => `other_${name}`),
  'mean_difference_kpa',
  ...TESTED.map((name) => `mean_difference_${name}`),
  'sd_ratio',
  ...TESTED.map((name) => `sd_ratio_${name}`),
  'shift_shown_from_kpa',
];

/**
 * Two audits as comma-separated values (RFC 4180, as `auditCsv`), one point of one condition a row: this less the other, this
 * over the other. p is of two sides, `p_holm` for the number of tests of the table.
 */
export function comparisonCsv({ partNumber, here, there, cells }: AuditComparison): string {
  const rowOf = (cell: ComparedCell): Field[] => {
    const stage = here.stages.find((each) => each.stage === cell.stage);
    return [
      ...[partNumber, ...sideFields(here), ...sideFields(there)],
      ...[stage?.condition ?? null, stage?.targetC ?? null, stage?.isAgain === true ? 'yes' : 'no', cell.step],
      ...[...cellFields(cell.here), ...cellFields(cell.there)],
      ...[cell.differenceKpa, ...testedFields(cell.mean)],
      ...[cell.spread?.value ?? null, ...testedFields(cell.spread), cell.shownFromKpa],
    ];
  };
  return csvText([COMPARISON_COLUMNS, ...cells.map(rowOf)]);
}

const sideFields = ({ audit, lot, origin, revision }: ComparedSide): Field[] => [audit, lot, origin, revision];

const cellFields = ({ pointKpaAbs, n, meanKpa, sdKpa, allowedKpa, ppk, atLeast }: Cell): Field[] => [
  ...[pointKpaAbs, n, meanKpa, sdKpa, allowedKpa, ppk, atLeast],
];

const testedFields = (tested: Tested | null): Field[] =>
  tested === null ? TESTED.map(() => null) : [tested.low, tested.high, tested.p, tested.adjusted];
