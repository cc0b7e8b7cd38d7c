/** Digits after the point that an uncertainty earns: its second significant digit is the last one shown. */
export function digitsFor(u: number): number {
  if (!(u > 0)) return 3;
  return Math.min(9, Math.max(0, 1 - Math.floor(Math.log10(u))));
}

const MINUS = '−';

/** A number with a fixed count of digits and a true minus; what rounds to zero has none. */
export const fixed = (value: number, digits: number): string =>
  value
    .toFixed(digits)
    .replace(/^-(?=.*[1-9])/, MINUS)
    .replace(/^-/, '');

/** The same with its sign always shown. */
export const signed = (value: number, digits: number): string => `${value < 0 ? '' : '+'}${fixed(value, digits)}`;

/** A fact of any size for a person: four significant digits, no exponent within reason. */
export function plain(value: number): string {
  if (value === 0) return '0';
  const size = Math.abs(value);
  if (size >= 1e-4 && size < 1e6) return String(Number(value.toPrecision(4))).replace(/^-/, MINUS);
  return value.toExponential(3).replace('-', MINUS);
}

/** A number in a column whose points stand under one another: `before` places before the point, `after` behind. */
export function aligned(value: number, digits: number, before: number, after: number): string {
  const [whole = '', part] = fixed(value, digits).split('.');
  return `${whole.padStart(before)}${(part === undefined ? '' : `.${part}`).padEnd(after + 1)}`;
}

const UNITS: Readonly<Record<string, string>> = { 'std cm3/min': 'std cm³/min', 'Pa m3/s': 'Pa·m³/s', cm3: 'cm³' };

/** A unit as people write it. */
export const unitText = (unit: string): string => UNITS[unit] ?? unit;
