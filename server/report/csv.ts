/** One field of a table: a text, a number, or nothing. */
export type Field = string | number | null;

/** Rows as comma-separated values (RFC 4180): CRLF after each, quotes doubled where a field needs them. */
export const csvText = (rows: readonly (readonly Field[])[]): string =>
  rows.map((row) => `${row.map(fieldText).join(',')}\r\n`).join('');

/** What a spreadsheet takes for the beginning of a formula. */
const FORMULA = /^[=+\-@\t\r]/;

/**
 * One field. A text that a spreadsheet would run is led by an apostrophe, which it shows as text (common practice against
 * formula injection, no source); numbers are ours and stay numbers, written in full with a point.
 */
function fieldText(field: Field): string {
  if (field === null) return '';
  if (typeof field === 'number') return String(field);
  const text = FORMULA.test(field) ? `'${field}` : field;
  return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}

/** A name that any file may have: a lot's code is whatever was scanned. */
export const fileName = (text: string): string => text.replace(/[^A-Za-z0-9._-]+/g, '_');
