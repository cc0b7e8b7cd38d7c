import { INKS, SIZES } from './sheet.ts';
import type { Face, Sheet } from './sheet.ts';

/**
 * A column of a table. Numbers of one column are written with the same digits after the point and aligned right, so that
 * their points stand below one another.
 */
export interface Column<Row> {
  readonly head: string;
  /** Share of the width. */
  readonly share: number;
  readonly align?: 'left' | 'right';
  readonly face?: Face;
  text(row: Row): string;
  /** Heavier than its neighbours. */
  isStrong?(row: Row): boolean;
  /** A small picture instead of the text, which says the same. */
  draw?(row: Row, x: number, y: number, width: number, height: number): void;
}

const PAD = { x: 3, y: 2 } as const;
const SIZE = SIZES.table;

interface Placed<Row> {
  readonly column: Column<Row>;
  readonly x: number;
  readonly width: number;
}

/** A table with its headings repeated on every page it runs to; no row is cut. */
export function table<Row>(sheet: Sheet, columns: readonly Column<Row>[], rows: readonly Row[]): void {
  const placed = place(sheet, columns);
  const element = sheet.add('Table');
  const headHeight = rowHeight(sheet, placed, ({ head }) => ({ text: head, face: 'bold' }));
  const heightOf = (row: Row) =>
    rowHeight(sheet, placed, (column) => ({ text: column.text(row), face: faceOf(column, row) }));
  const first = rows[0];
  sheet.need(headHeight + (first === undefined ? 0 : 2 * heightOf(first)));
  head(sheet, placed, headHeight, element);
  for (const [index, row] of rows.entries()) {
    const height = heightOf(row);
    const y = sheet.y;
    // The last two rows stay together: one alone on a page is not read as part of its table.
    const next = index === rows.length - 2 ? rows[index + 1] : undefined;
    sheet.need(height + (next === undefined ? 0 : heightOf(next)));
    if (sheet.y < y) head(sheet, placed, headHeight, null);
    const line = sheet.doc.struct('TR');
    element.add(line);
    for (const each of placed) line.add(sheet.doc.struct('TD', {}, () => cell(sheet, each, row, height)));
    sheet.y += height;
    rule(sheet, 0.4, INKS.hair);
  }
  sheet.space(5);
}

/** Names and what they are: a table of two columns without a heading. */
export function pairs(sheet: Sheet, rows: readonly (readonly [string, string])[], nameShare = 0.22): void {
  const element = sheet.add('Table');
  const nameWidth = sheet.width * nameShare;
  for (const [name, says] of rows) {
    const width = sheet.width - nameWidth;
    const height = Math.max(sheet.heightOf(says, width), sheet.heightOf(name, nameWidth - 6));
    sheet.need(height);
    const row = sheet.doc.struct('TR');
    element.add(row);
    const { left, y } = sheet;
    row.add(sheet.doc.struct('TH', {}, () => sheet.text(name, left, y, nameWidth - 6, { ink: INKS.note })));
    row.add(sheet.doc.struct('TD', {}, () => sheet.text(says, left + nameWidth, y, width)));
    sheet.y += height + 1.5;
  }
  sheet.space(2);
}

/** A heavier letter is wider: a row is as high as it is written. */
const faceOf = <Row>(column: Column<Row>, row: Row): Face =>
  column.isStrong?.(row) === true ? 'bold' : (column.face ?? 'text');

function place<Row>(sheet: Sheet, columns: readonly Column<Row>[]): Placed<Row>[] {
  const whole = columns.reduce((sum, { share }) => sum + share, 0);
  let x = sheet.left;
  return columns.map((column) => {
    const width = (sheet.width * column.share) / whole;
    const at = x;
    x += width;
    return { column, x: at, width };
  });
}

function rowHeight<Row>(
  sheet: Sheet,
  placed: readonly Placed<Row>[],
  written: (column: Column<Row>) => { readonly text: string; readonly face: Face },
): number {
  const heights = placed.map(({ column, width }) => {
    const { text, face } = written(column);
    return sheet.heightOf(text, width - 2 * PAD.x, { size: SIZE, face });
  });
  return Math.max(...heights) + 2 * PAD.y;
}

/** Headings stand at the foot of their row; on a page that the table runs on to they are no part of it again. */
function head<Row>(
  sheet: Sheet,
  placed: readonly Placed<Row>[],
  height: number,
  element: PDFKit.PDFStructureElement | null,
): void {
  const { y } = sheet;
  const one = ({ column, x, width }: Placed<Row>) => {
    const own = sheet.heightOf(column.head, width - 2 * PAD.x, { size: SIZE, face: 'bold' });
    const style = { size: SIZE, face: 'bold', ink: INKS.label, align: column.align ?? 'left' } as const;
    sheet.text(column.head, x + PAD.x, y + height - PAD.y - own, width - 2 * PAD.x, style);
  };
  if (element === null) sheet.artifact(() => placed.forEach(one));
  else {
    const row = sheet.doc.struct('TR');
    element.add(row);
    for (const each of placed) row.add(sheet.doc.struct('TH', {}, () => one(each)));
  }
  sheet.y += height;
  rule(sheet, 0.9, INKS.ink);
}

function cell<Row>(sheet: Sheet, { column, x, width }: Placed<Row>, row: Row, height: number): void {
  if (column.draw !== undefined) {
    column.draw(row, x + PAD.x, sheet.y + PAD.y, width - 2 * PAD.x, height - 2 * PAD.y);
    return;
  }
  sheet.text(column.text(row), x + PAD.x, sheet.y + PAD.y, width - 2 * PAD.x, {
    ...{ size: SIZE, face: faceOf(column, row), align: column.align ?? 'left' },
  });
}

function rule(sheet: Sheet, weight: number, ink: string): void {
  const { left, width, y } = sheet;
  sheet.artifact((doc) =>
    doc
      .moveTo(left, y)
      .lineTo(left + width, y)
      .lineWidth(weight)
      .stroke(ink),
  );
}
