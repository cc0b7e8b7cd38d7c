import { fCdf } from '../distributions/f.ts';
import { checkRange, checkValues } from '../checks.ts';
import type { Values } from '../checks.ts';
import { QualityError } from '../errors.ts';
import { compensatedSum, moments } from '../moments.ts';

/** One line of an analysis of variance that is tested against another mean square. */
export interface TestedRow {
  /** Sum of squares, unit of the values squared. */
  readonly ss: number;
  readonly df: number;
  /** Mean square, ss / df. */
  readonly ms: number;
  /** Ratio to the mean square that it is tested against; null (undefined) when that is zero. */
  readonly f: number | null;
  /** Probability of a larger ratio when the factor has no effect; null with `f`. */
  readonly p: number | null;
}

/** Sum of squares with its degrees of freedom. */
export interface Squares {
  readonly ss: number;
  readonly df: number;
}

/** A mean square with its degrees of freedom; the line that the others are tested against. */
export interface MeanSquare extends Squares {
  readonly ms: number;
}

/** One-way analysis of variance: are the means of the groups alike? */
export interface OneWay {
  readonly n: number;
  readonly grandMean: number;
  readonly between: MeanSquare;
  /** `ms` is null (undefined) when every group has a single value. */
  readonly within: Squares & { readonly ms: number | null };
  readonly f: number | null;
  readonly p: number | null;
  /** Share of the total squares that lies between the groups; null when no value differs from another. */
  readonly rSquared: number | null;
  /** Square root of the mean square within. */
  readonly residualSd: number | null;
}

/** Readings by row, column and trial: `cells[row][column][trial]`. */
export type Cells = readonly (readonly Values[])[];

/** Balanced two-way crossed analysis of variance with interaction, both factors random. */
export interface TwoWay {
  readonly rows: number;
  readonly columns: number;
  readonly trials: number;
  readonly grandMean: number;
  readonly row: TestedRow;
  readonly column: TestedRow;
  readonly interaction: TestedRow;
  readonly residual: MeanSquare;
  readonly total: Squares;
}

/** Balanced two-stage nested analysis of variance, both stages random. */
export interface Nested {
  readonly outers: number;
  readonly inners: number;
  readonly trials: number;
  readonly grandMean: number;
  readonly outer: TestedRow;
  readonly inner: TestedRow;
  readonly residual: MeanSquare;
  readonly total: Squares;
}

/**
 * One-way analysis of variance of two or more groups, of equal sizes or not (NIST/SEMATECH e-Handbook 7.4.3.3). The sums
 * of squares are those of deviations from a value of the data, the groups' sums put over a common divisor, so that a
 * large common offset takes no digits (NIST Statistical Reference Datasets, analysis of variance, SmLs01 to SmLs09).
 *
 * @throws QualityError `empty`, `too-few` (one group), `not-finite`, `out-of-range` (spread too large to be squared)
 */
export function oneWay(groups: readonly Values[], key = 'groups'): OneWay {
  if (groups.length === 0) throw new QualityError('empty', key, `${key} is empty; at least 2 groups wanted`);
  if (groups.length < 2) throw new QualityError('too-few', key, `${key} has 1 group; at least 2 wanted`);
  const inGroup = groups.map((group, i) => moments(group, `${key}[${i}]`));
  const origin = groups[0]?.[0] ?? 0;
  const sums = groups.map((group) => deviationSum(group, origin));
  const n = total(inGroup.map((each) => each.n));
  const sum = total(sums);
  const between = squares(
    total(inGroup.map((each, i) => (n * (sums[i] ?? 0) - each.n * sum) ** 2 / (n * n * each.n))),
    groups.length - 1,
    key,
  );
  const ssWithin = total(inGroup.map((each) => each.squares));
  const within = n > groups.length ? squares(ssWithin, n - groups.length, key) : { ss: ssWithin, df: 0, ms: null };
  const ss = between.ss + within.ss;
  checkSquares(ss, key);
  const { f, p } = within.ms === null ? { f: null, p: null } : ratio(between, { ...within, ms: within.ms });
  return {
    n,
    grandMean: origin + sum / n,
    between,
    within,
    f,
    p,
    rSquared: ss === 0 ? null : between.ss / ss,
    residualSd: within.ms === null ? null : Math.sqrt(within.ms),
  };
}

/**
 * Balanced two-way crossed analysis of variance with interaction. Rows and columns are tested against the interaction and
 * the interaction against the residual, as expected mean squares of two random factors ask for (Montgomery, "Design and
 * Analysis of Experiments", two-factor random model; Burdick, Borror & Montgomery, "Design and Analysis of Gauge R&R
 * Studies", SIAM 2005, chapter 3). Effects are formed from sums over a common divisor: data that are exactly additive
 * have an interaction of exactly zero, cells whose trials agree have a residual of exactly zero.
 *
 * @throws QualityError `empty`, `too-few` (fewer than two rows, columns or trials), `unequal-sizes`, `not-finite`,
 * `out-of-range` (spread too large to be squared)
 */
export function twoWay(cells: Cells, key = 'cells'): TwoWay {
  const { outers: rows, inners: columns, trials } = checkBalanced(cells, key);
  const n = rows * columns * trials;
  const { origin, sums } = cellSums(cells);
  const ofRow = sums.map(total);
  const ofColumn = Array.from({ length: columns }, (_, j) => total(sums.map((row) => row[j] ?? 0)));
  const sum = total(ofRow);
  const crossed = sums.flatMap((row, i) =>
    row.map((cell, j) => total([rows * columns * cell, -rows * (ofRow[i] ?? 0), -columns * (ofColumn[j] ?? 0), sum])),
  );
  const residual = squares(withinCells(cells), n - rows * columns, key);
  const interactionSs = squaresOver(crossed, rows ** 2 * columns ** 2 * trials);
  const interaction = tested(squares(interactionSs, (rows - 1) * (columns - 1), key), residual);
  const rowEffects = ofRow.map((each) => rows * each - sum);
  const columnEffects = ofColumn.map((each) => columns * each - sum);
  return {
    rows,
    columns,
    trials,
    grandMean: origin + sum / n,
    row: tested(squares(squaresOver(rowEffects, rows * n), rows - 1, key), interaction),
    column: tested(squares(squaresOver(columnEffects, columns * n), columns - 1, key), interaction),
    interaction,
    residual,
    total: { ss: moments(cells.flatMap(flat), key).squares, df: n - 1 },
  };
}

/**
 * The same analysis without the interaction: its squares and degrees of freedom are added to those of the residual, and
 * rows and columns are tested against the sum (Burdick, Borror & Montgomery 2005, chapter 2).
 */
export function poolInteraction(given: TwoWay): Omit<TwoWay, 'interaction'> {
  const df = given.interaction.df + given.residual.df;
  const ss = given.interaction.ss + given.residual.ss;
  const residual = { ss, df, ms: ss / df };
  const { interaction: _, ...rest } = given;
  return { ...rest, row: tested(given.row, residual), column: tested(given.column, residual), residual };
}

/**
 * Balanced two-stage nested analysis of variance of `cells[outer][inner][trial]`, the inner units different ones in each
 * outer unit: the outer stage is tested against the inner one, that against the residual (Montgomery, "Design and Analysis
 * of Experiments", two-stage nested design, both random).
 *
 * @throws QualityError as `twoWay`
 */
export function nested(cells: Cells, key = 'cells'): Nested {
  const { outers, inners, trials } = checkBalanced(cells, key);
  const n = outers * inners * trials;
  const { origin, sums } = cellSums(cells);
  const ofOuter = sums.map(total);
  const sum = total(ofOuter);
  const residual = squares(withinCells(cells), n - outers * inners, key);
  const innerEffects = sums.flatMap((row, i) => row.map((cell) => inners * cell - (ofOuter[i] ?? 0)));
  const innerSs = squaresOver(innerEffects, inners ** 2 * trials);
  const inner = tested(squares(innerSs, outers * (inners - 1), key), residual);
  const outerEffects = ofOuter.map((each) => outers * each - sum);
  return {
    outers,
    inners,
    trials,
    grandMean: origin + sum / n,
    outer: tested(squares(squaresOver(outerEffects, outers * n), outers - 1, key), inner),
    inner,
    residual,
    total: { ss: moments(cells.flatMap(flat), key).squares, df: n - 1 },
  };
}

/** A sum of squares that a number can hold, or a QualityError (`out-of-range`) naming the values. */
export function checkSquares(ss: number, key: string): void {
  if (Number.isFinite(ss)) return;
  throw new QualityError('out-of-range', key, `the values of ${key} lie too far apart to be squared`);
}

/** Standard deviation pooled over samples, from their sums of squares. */
export interface PooledSd extends Squares {
  /** Square root of ss / df, unit of the values; null (undefined) without degrees of freedom. */
  readonly sd: number | null;
}

/**
 * Standard deviation pooled over samples: sqrt(sum of squares / sum of degrees of freedom) (NIST/SEMATECH e-Handbook
 * 2.4.4.4, level-1 repeatability).
 *
 * @throws QualityError `empty`, `not-finite`, `out-of-range` (below zero), `unequal-sizes`
 */
export function pooledSd(
  sumsOfSquares: Values,
  df: Values,
  keys = { sumsOfSquares: 'sumsOfSquares', df: 'df' },
): PooledSd {
  checkValues(sumsOfSquares, keys.sumsOfSquares);
  checkValues(df, keys.df);
  if (df.length !== sumsOfSquares.length) {
    const lengths = `${keys.df} has ${df.length} values, ${keys.sumsOfSquares} has ${sumsOfSquares.length}`;
    throw new QualityError('unequal-sizes', keys.df, lengths);
  }
  for (let i = 0; i < df.length; i += 1) {
    checkRange(sumsOfSquares[i] ?? 0, `${keys.sumsOfSquares}[${i}]`, 0, Number.MAX_VALUE);
    checkRange(df[i] ?? 0, `${keys.df}[${i}]`, 0, Number.MAX_SAFE_INTEGER);
  }
  const ss = total(sumsOfSquares);
  checkSquares(ss, keys.sumsOfSquares);
  const allDf = total(df);
  return { ss, df: allDf, sd: allDf === 0 ? null : Math.sqrt(ss / allDf) };
}

function checkBalanced(cells: Cells, key: string): { outers: number; inners: number; trials: number } {
  const inners = cells[0]?.length ?? 0;
  const trials = cells[0]?.[0]?.length ?? 0;
  checkSize(cells.length, key);
  for (const [i, row] of cells.entries()) {
    checkSize(row.length, `${key}[${i}]`, inners);
    for (const [j, cell] of row.entries()) {
      const path = `${key}[${i}][${j}]`;
      checkSize(cell.length, path, trials);
      checkValues(cell, path);
    }
  }
  return { outers: cells.length, inners, trials };
}

/** Two or more, and as many as in the first place where a size was met. */
function checkSize(size: number, key: string, wanted = size): void {
  if (size === 0) throw new QualityError('empty', key, `${key} is empty; at least 2 wanted`);
  if (size !== wanted) {
    throw new QualityError('unequal-sizes', key, `${key} has ${size}, the first has ${wanted}; equal numbers wanted`);
  }
  if (size < 2) throw new QualityError('too-few', key, `${key} has ${size}; at least 2 wanted`);
}

function cellSums(cells: Cells): { origin: number; sums: number[][] } {
  const origin = cells[0]?.[0]?.[0] ?? 0;
  return { origin, sums: cells.map((row) => row.map((cell) => deviationSum(cell, origin))) };
}

function withinCells(cells: Cells): number {
  return total(cells.flatMap((row) => row.map((cell) => moments(cell).squares)));
}

const deviationSum = (values: Values, origin: number): number =>
  compensatedSum(values.length, (i) => (values[i] ?? 0) - origin);

const total = (values: Values): number => compensatedSum(values.length, (i) => values[i] ?? 0);

const squaresOver = (effects: readonly number[], divisor: number): number =>
  compensatedSum(effects.length, (i) => (effects[i] ?? 0) ** 2) / divisor;

const flat = (row: readonly Values[]): number[] => row.flatMap((cell) => Array.from(cell));

function squares(ss: number, df: number, key: string): MeanSquare {
  checkSquares(ss, key);
  return { ss, df, ms: ss / df };
}

function tested({ ss, df, ms }: MeanSquare, against: MeanSquare): TestedRow {
  return { ss, df, ms, ...ratio({ ss, df, ms }, against) };
}

function ratio(given: MeanSquare, against: MeanSquare): { f: number | null; p: number | null } {
  const f = given.ms / against.ms;
  // A denominator of zero, or one so small that the quotient overflows, leaves the ratio undefined.
  return Number.isFinite(f) ? { f, p: fCdf(f, given.df, against.df, 'upper') } : { f: null, p: null };
}
