import { AQLS, CODE_LETTERS, LEVELS, MASTER_TABLES } from './acceptance-table-rows.ts';
import type { Aql, InspectionLevel, Severity } from './acceptance-table-rows.ts';
import { checkWhole } from '../checks.ts';
import { QualityError } from '../errors.ts';

/** A lot and how strictly it is inspected. */
export interface PlanQuestion {
  /** Parts in the lot, 2 or more. */
  readonly lot: number;
  readonly level: InspectionLevel;
  readonly aql: Aql;
}

/** The single-sampling plan of the tables for a lot. */
export interface TablePlan {
  /** Letter of the lot size and level, Table I. */
  readonly codeLetter: string;
  /** Letter of the row where the plan stands, after following the arrows. */
  readonly planLetter: string;
  /** Sample size of that row. */
  readonly tableN: number;
  /** Parts to inspect: the sample size, but no more than the lot. */
  readonly n: number;
  /** Whether the sample is not smaller than the lot, so that every part is inspected. */
  readonly inspectAll: boolean;
  /** Accepted with at most so many bad. */
  readonly acceptance: number;
  /** Not accepted with so many bad or more. */
  readonly rejection: number;
  /** Whether a cell on the way to the plan is recalled or inferred, not read in a document. */
  readonly fromMemory: boolean;
}

/**
 * The code letter of a lot size and inspection level, Table I of MIL-STD-105E (10 May 1989) and of ISO 2859-1:1989.
 *
 * @throws QualityError `not-whole`, `not-finite`, `out-of-range` (a lot of fewer than 2 parts is outside the table),
 *   `no-such-plan` (level unknown)
 */
export function codeLetter(lot: number, level: InspectionLevel): string {
  checkWhole(lot, 'lot', 2);
  const column = LEVELS.indexOf(level);
  const letter = CODE_LETTERS.find(([largest]) => lot <= largest)?.[1].split(' ')[column];
  if (letter === undefined) {
    throw new QualityError('no-such-plan', 'level', `level ${level} is unknown; one of ${LEVELS.join(', ')} wanted`);
  }
  return letter;
}

/**
 * The single-sampling plan for a lot under normal or tightened inspection: MIL-STD-105E Table I and master tables II-A and
 * II-B (4.9.3 and 4.9.4; from memory). An arrow leads to the first plan below or above it in the column of its AQL, with the
 * sample size of the row where it ends; where that is not smaller than the lot, every part is inspected.
 *
 * Reduced inspection is refused: its table II-C is here only from memory, and no lot should be accepted by it.
 *
 * @throws QualityError `no-such-plan` (reduced inspection, AQL or level not in the tables), `not-whole`, `not-finite`,
 *   `out-of-range`
 */
export function findPlan(question: PlanQuestion, severity: Severity): TablePlan {
  if (severity === 'reduced') {
    const message =
      'there is no plan for reduced inspection: its table is known only from memory; normal inspection stays';
    throw new QualityError('no-such-plan', 'severity', message);
  }
  return lookUp(question, severity);
}

/**
 * What table II-C of MIL-STD-105E is remembered to say, to be compared with a printed copy, not to accept lots by; the answer
 * is always marked as from memory. See `findPlan` for the rest.
 */
export function recallReducedPlan(question: PlanQuestion): TablePlan {
  return lookUp(question, 'reduced');
}

/**
 * The acceptance number of the same sample with the AQL one step tighter, which the switching score asks for: the column to
 * the left in the row of the plan. Null where there is no plan in that cell, as for acceptance numbers 0 and 1.
 */
export function acceptanceOneStepTighter(planLetter: string, aql: Aql): number | null {
  const cell = cellAt('normal', planLetter, AQLS.indexOf(aql) - 1);
  return typeof cell === 'object' ? cell.acceptance : null;
}

/** What tightened inspection makes of a plan of the normal table. */
export interface TightenedPlan extends Pick<TablePlan, 'n' | 'acceptance' | 'fromMemory'> {
  /** Letter and AQL of the normal plan: its sample size and acceptance number stand in one cell only. */
  readonly letter: string;
  readonly aql: Aql;
}

/**
 * The tightened plan beside a single plan of the normal master table: the same letter and AQL in table II-B of MIL-STD-105E,
 * its arrows followed (see `findPlan`). The letter is that of the plan's own row, whatever arrow led there. Null where no
 * cell of table II-A has this sample size and acceptance number.
 */
export function tightenedPlan(n: number, acceptance: number): TightenedPlan | null {
  const [letter, row] = Object.entries(MASTER_TABLES.normal).find(([, [tableN]]) => tableN === n) ?? [];
  const column = row?.[1].split(' ').indexOf(String(acceptance)) ?? -1;
  const aql = AQLS[column];
  if (letter === undefined || aql === undefined) return null;
  const found = followed(letter, column, 'tightened');
  return { letter, aql, n: found.tableN, acceptance: found.acceptance, fromMemory: found.fromMemory };
}

type Cell = 'down' | 'up' | { readonly acceptance: number; readonly rejection: number };

function lookUp({ lot, level, aql }: PlanQuestion, severity: Severity): TablePlan {
  const code = codeLetter(lot, level);
  const column = AQLS.indexOf(aql);
  if (column < 0) {
    throw new QualityError('no-such-plan', 'aql', `aql ${aql} is not in the tables; one of ${AQLS.join(', ')} wanted`);
  }
  const { tableN, ...found } = followed(code, column, severity);
  return { codeLetter: code, tableN, n: Math.min(tableN, lot), inspectAll: tableN >= lot, ...found };
}

/** Where the arrows from a letter in a column end. Throws `no-such-plan`. */
function followed(
  code: string,
  column: number,
  severity: Severity,
): Pick<TablePlan, 'planLetter' | 'tableN' | 'acceptance' | 'rejection' | 'fromMemory'> {
  const aql = AQLS[column] ?? '';
  const letters = Object.keys(MASTER_TABLES[severity]);
  let fromMemory = false;
  let at = letters.indexOf(code);
  for (let steps = 0; steps < letters.length; steps += 1) {
    const letter = letters[at] ?? '';
    const cell = cellAt(severity, letter, column);
    fromMemory ||= isFromMemory(severity, letter, column);
    if (cell === undefined) break;
    if (typeof cell === 'object')
      return { planLetter: letter, tableN: MASTER_TABLES[severity][letter]?.[0] ?? 0, ...cell, fromMemory };
    at += cell === 'down' ? 1 : -1;
  }
  throw new QualityError('no-such-plan', 'aql', `the arrow for letter ${code} and aql ${aql} leads to no plan`);
}

/** The cell of a row and column; undefined outside the table. */
function cellAt(severity: Severity, letter: string, column: number): Cell | undefined {
  const text = MASTER_TABLES[severity][letter]?.[1].split(' ')[column];
  if (text === undefined) return undefined;
  if (text === 'v') return 'down';
  if (text === '^') return 'up';
  const [acceptance = 0, rejection = acceptance + 1] = text.split('/').map(Number);
  return { acceptance, rejection };
}

/** Which cells nobody could compare with a printed table. */
function isFromMemory(severity: Severity, letter: string, column: number): boolean {
  const aql = AQLS[column];
  switch (severity) {
    case 'normal':
      // Nothing stands above row A, nor below row R: the direction of these two arrows is inferred.
      return (letter === 'A' && aql === '10') || (letter === 'R' && aql === '0.015');
    case 'tightened': {
      const compared = letter <= 'L' && column >= AQLS.indexOf('0.65') && column <= AQLS.indexOf('15');
      return !compared || (letter === 'A' && aql === '10');
    }
    case 'reduced':
      return true;
    default:
      return severity satisfies never;
  }
}
