import { PA_PER, STANDARD, absoluteFromBelowAmbient, kPaFrom } from '../units.ts';
import type { PressureUnit } from '../units.ts';

/** What a value of a profile file is a quantity of; each key of the file asks for one. */
export type Dimension = keyof typeof DIMENSIONS;

export type QuantityCode = 'number' | 'unit' | 'gauge-pressure';

export type Parsed<T> =
  | { readonly ok: true; readonly value: T }
  | { readonly ok: false; readonly code: QuantityCode; readonly wrong: string; readonly right: string };

/**
 * A unit against the house unit: a power of ten where it is one, so that "2.75 s" is 2750 ms to the last bit and not
 * a rounded product, and a factor otherwise.
 */
type Scale = { readonly tens: number } | { readonly factor: number };

interface DimensionFacts {
  /** The unit in which the number is kept; empty for a plain number. */
  readonly house: string;
  readonly example: string;
  readonly units: Readonly<Record<string, Scale>>;
  /** Other spellings of those units. */
  readonly alias: Readonly<Record<string, string>>;
}

const pressureUnits = {
  kPa: { tens: 0 },
  bar: { tens: 2 },
  mbar: { tens: -1 },
  hPa: { tens: -1 },
  Pa: { tens: -3 },
  psi: { factor: PA_PER.psi / PA_PER.kPa },
  inHg: { factor: PA_PER.inHg / PA_PER.kPa },
} as const satisfies Record<PressureUnit, Scale>;

const perPressure = {
  '/kPa': { tens: 0 },
  '/bar': { tens: -2 },
  '/psi': { factor: PA_PER.kPa / PA_PER.psi },
} as const;

export const DIMENSIONS = {
  pressure: { house: 'kPa', example: '150 kPa', units: pressureUnits, alias: { psia: 'psi', bara: 'bar' } },
  'pressure difference': { house: 'kPa', example: '1.5 kPa', units: pressureUnits, alias: {} },
  voltage: { house: 'V', example: '5 V', units: { V: { tens: 0 }, mV: { tens: -3 } }, alias: {} },
  current: {
    house: 'mA',
    example: '7 mA',
    units: { mA: { tens: 0 }, A: { tens: 3 }, µA: { tens: -3 } },
    alias: { uA: 'µA', μA: 'µA' },
  },
  resistance: {
    house: 'Ω',
    example: '51 kOhm',
    units: { Ohm: { tens: 0 }, kOhm: { tens: 3 }, MOhm: { tens: 6 } },
    alias: { Ω: 'Ohm', kΩ: 'kOhm', MΩ: 'MOhm', ohm: 'Ohm', kohm: 'kOhm' },
  },
  time: {
    house: 'ms',
    example: '0.6 s',
    units: { ms: { tens: 0 }, s: { tens: 3 }, min: { factor: 60_000 }, h: { factor: 3_600_000 } },
    alias: {},
  },
  temperature: { house: '°C', example: '-40 °C', units: { '°C': { tens: 0 } }, alias: { C: '°C', degC: '°C' } },
  'temperature difference': { house: 'K', example: '2 K', units: { K: { tens: 0 } }, alias: {} },
  'leak rate': {
    house: 'std cm³/min',
    example: '0.5 std cm3/min',
    units: { 'std cm3/min': { tens: 0 } },
    alias: {},
  },
  fraction: { house: '', example: '0.02', units: { '': { tens: 0 }, '%': { tens: -2 } }, alias: {} },
  factor: { house: '', example: '1.645', units: { '': { tens: 0 } }, alias: {} },
  'fraction per pressure': { house: '/kPa', example: '0.009 /kPa', units: perPressure, alias: {} },
  'voltage per pressure': {
    house: 'V/kPa',
    example: '45 mV/kPa',
    units: { 'V/kPa': { tens: 0 }, 'mV/kPa': { tens: -3 }, 'V/bar': { tens: -2 }, 'mV/bar': { tens: -5 } },
    alias: {},
  },
} as const satisfies Record<string, DimensionFacts>;

const NUMBER = /^([+-]?(?:\d+\.?\d*|\.\d+))(?:[eE]([+-]?\d{1,3})(?!\d))?(?!\s*[\d.,])\s*(.*)$/;
const DECIMAL_COMMA = /^[+-]?\d+,\d/;
const BELOW_AMBIENT = /\b(?:vacuum|vac|below)\b/i;
const ABOVE_AMBIENT = /\b(?:gauge|gage|rel|relative|over|overpressure|above)\b|\(g\)|\b(?:psi|bar|mbar|hpa|kpa|pa)g\b/i;
const ABSOLUTE = /\s*(?:\babs(?:olute)?|\(a\))$/i;
const REFERRED = new RegExp(`${ABSOLUTE.source}|${BELOW_AMBIENT.source}|${ABOVE_AMBIENT.source}`, 'i');

/**
 * A quantity written with its unit ("150 kPa", "0.5 std cm3/min", "-40 °C") as a number in the dimension's house unit.
 * Pressures are absolute; "abs" behind the unit may say so. A wrong text is returned as a value that says what is wrong
 * and what would be right, never thrown.
 */
export function parseQuantity(text: string, dimension: Dimension): Parsed<number> {
  const facts: DimensionFacts = DIMENSIONS[dimension];
  const tidy = tidied(text);
  const match = NUMBER.exec(tidy);
  if (match === null) return notANumber(tidy, facts);
  const [, digits = '', exponent = '0', written = ''] = match;
  const unitText = dimension === 'pressure' ? written.replace(ABSOLUTE, '') : written;
  const unit = facts.alias[unitText] ?? unitText;
  const scale = Object.hasOwn(facts.units, unit) ? facts.units[unit] : undefined;
  if (scale === undefined) return wrongUnit({ tidy, digits, exponent, written, dimension, facts });
  const value = scaled(digits, Number(exponent), scale);
  if (!Number.isFinite(value)) return refuse('number', `"${tidy}" is too large`, `such as ${facts.example}`);
  if (dimension === 'pressure' && value < 0) return negativePressure(tidy, value);
  return { ok: true, value };
}

/** "4.75 V to 5.25 V" as two numbers in the house unit; each side carries its unit. Errors as `parseQuantity`. */
export function parseRange(text: string, dimension: Dimension): Parsed<{ low: number; high: number }> {
  const { example } = DIMENSIONS[dimension];
  const sides = tidied(text).split(/\s+to\s+/);
  const [lowText, highText] = sides;
  if (lowText === undefined || highText === undefined || sides.length !== 2) {
    return refuse(
      'number',
      `"${tidied(text)}" is no range`,
      `lowest to highest, each with its unit: ${example} to ...`,
    );
  }
  const low = parseQuantity(lowText, dimension);
  if (!low.ok) return low;
  const high = parseQuantity(highText, dimension);
  if (!high.ok) return high;
  return { ok: true, value: { low: low.value, high: high.value } };
}

/** A number with the house unit of its dimension, as messages show it. */
export function inHouseUnit(value: number, dimension: Dimension): string {
  const { house } = DIMENSIONS[dimension];
  return house === '' || house.startsWith('/') ? `${value}${house === '' ? '' : ` ${house}`}` : `${value} ${house}`;
}

/** One way to write signs and blanks; a compatibility form would turn "µ" and "Ω" into look-alikes of other code. */
function tidied(text: string): string {
  return text
    .replaceAll('\u2212', '-')
    .replaceAll('\u2126', 'Ω')
    .replaceAll('cm³', 'cm3')
    .replaceAll(/[\s\u00a0\u202f]+/g, ' ')
    .trim();
}

function scaled(digits: string, exponent: number, scale: Scale): number {
  const value =
    'tens' in scale ? Number(`${digits}e${exponent + scale.tens}`) : Number(`${digits}e${exponent}`) * scale.factor;
  return value === 0 ? 0 : value;
}

function refuse(
  code: QuantityCode,
  wrong: string,
  right: string,
): { ok: false; code: QuantityCode; wrong: string; right: string } {
  return { ok: false, code, wrong, right };
}

function notANumber(tidy: string, facts: DimensionFacts): Parsed<never> {
  if (tidy === '') return refuse('number', 'no value is written', `a value such as ${facts.example}`);
  if (DECIMAL_COMMA.test(tidy)) return refuse('number', `"${tidy}" has a comma`, `a point: ${tidy.replace(',', '.')}`);
  return refuse('number', `"${tidy}" is not a number with its unit`, `a value such as ${facts.example}`);
}

interface UnitMistake {
  readonly tidy: string;
  readonly digits: string;
  readonly exponent: string;
  readonly written: string;
  readonly dimension: Dimension;
  readonly facts: DimensionFacts;
}

function wrongUnit({ tidy, digits, exponent, written, dimension, facts }: UnitMistake): Parsed<never> {
  const known = Object.keys(facts.units).filter((unit) => unit !== '');
  const number = exponent === '0' ? digits : `${digits}e${exponent}`;
  const choices = known.map((unit) => `${number} ${unit}`).join(', ');
  const right = facts.house === '' ? ['the number alone', ...known].join(', or ') : `one of ${choices}`;
  if (written === '') return refuse('unit', `"${tidy}" has no unit`, right);
  if (dimension === 'pressure') {
    const gauge = gaugePressure(tidy, Number(number), written);
    if (gauge !== null) return gauge;
  }
  if (dimension === 'leak rate' && /^s(?:ccm|cm3|lm)/i.test(written)) {
    return refuse(
      'unit',
      `"${written}" does not say its standard conditions`,
      `${number} std cm3/min: dry air at 20 °C and 101.325 kPa`,
    );
  }
  if (dimension === 'pressure difference' && REFERRED.test(written)) {
    return refuse('unit', 'a difference of pressures is neither absolute nor gauge', right);
  }
  return refuse('unit', `"${written}" is no unit of a ${dimension}`, right);
}

/** Explains instead of converting: what the barometer will say when the profile is run is not known here. */
function gaugePressure(tidy: string, number: number, written: string): Parsed<never> | null {
  const below = BELOW_AMBIENT.test(written);
  if (!below && !ABOVE_AMBIENT.test(written)) return null;
  const unit = (Object.keys(pressureUnits) as PressureUnit[])
    .sort((one, other) => other.length - one.length)
    .find((name) => written.toLowerCase().startsWith(name.toLowerCase()));
  const wrong = `"${tidy}" is measured from the barometer, and pressures are absolute here`;
  const example = unit === undefined ? null : absoluteOf(kPaFrom(Math.abs(number), unit), below);
  const right =
    example === null
      ? 'an absolute pressure such as 150 kPa'
      : `${example} kPa, if the barometer is meant to be 101.325 kPa`;
  return refuse('gauge-pressure', wrong, right);
}

function absoluteOf(kPa: number, below: boolean): number | null {
  if (below && kPa > STANDARD.kPaAbs) return null;
  const kPaAbs = below ? absoluteFromBelowAmbient(kPa, STANDARD.kPaAbs) : kPa + STANDARD.kPaAbs;
  return Number(kPaAbs.toPrecision(6));
}

function negativePressure(tidy: string, kPa: number): Parsed<never> {
  const below = absoluteOf(-kPa, true);
  const right =
    below === null
      ? 'an absolute pressure such as 20 kPa'
      : `${below} kPa, if that far below a barometer of 101.325 kPa is meant`;
  return refuse('gauge-pressure', `"${tidy}" is negative, and no absolute pressure is`, right);
}
