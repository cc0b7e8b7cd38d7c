import { kPaTo } from '../../../station/units.ts';
import type { PressureUnit } from '../../../station/units.ts';
import { numberText } from '../../../station/words/number-text.ts';
import type { Preferences, ShownUnit } from './preferences.ts';

const MINUS = '−';

/** Digits after the point that an expanded uncertainty U = 2 u earns: the last one is about U/10 to U. */
export function digitsFor(u: number): number {
  if (!(u > 0)) return 2;
  return Math.min(6, Math.max(0, Math.ceil(-Math.log10(2 * u))));
}

/** A number of any size to four significant digits. */
export function plainFigure(value: number, language: Preferences['language']): string {
  return new Intl.NumberFormat(language, { maximumSignificantDigits: 4, useGrouping: false })
    .format(value)
    .replace('-', MINUS);
}

const UNIT_OF: Readonly<Record<ShownUnit, PressureUnit>> = { kPa: 'kPa', bar: 'bar', psi: 'psi', inHg: 'inHg' };
/** Digits that show a hundredth of a kilopascal in none of the units, and a tenth in all. */
const DIGITS: Readonly<Record<ShownUnit, number>> = { kPa: 1, bar: 3, psi: 2, inHg: 2 };

/** A pressure as the person wants it: the number, and the unit with what it counts from. */
export interface ShownPressure {
  readonly number: string;
  readonly unit: string;
}

/**
 * `kPaAbs` in the unit and from where the person counts. Below (or above) ambient needs the barometer; without it the pressure is
 * shown absolute, which is never wrong.
 */
export function pressureFigure(
  kPaAbs: number,
  barometerKpaAbs: number | null,
  wish: Pick<Preferences, 'unit' | 'isBelowAmbient' | 'language'>,
  words: { readonly below: string; readonly above: string },
): ShownPressure {
  const isRelative = wish.isBelowAmbient && barometerKpaAbs !== null;
  const kPa = isRelative ? barometerKpaAbs - kPaAbs : kPaAbs;
  const digits = DIGITS[wish.unit];
  const value = Number(kPaTo(kPa, UNIT_OF[wish.unit]).toFixed(digits));
  if (!isRelative) return { number: numberText(value, digits, wish.language), unit: `${wish.unit} abs` };
  // Nobody says "minus 12 below".
  return {
    number: numberText(Math.abs(value), digits, wish.language),
    unit: `${wish.unit} ${value < 0 ? words.above : words.below}`,
  };
}

/** A pressure point's name: as its profile writes it in kPa, to three figures in another unit. */
export function pointFigure(kPaAbs: number, wish: Pick<Preferences, 'unit' | 'language'>): string {
  const value = kPaTo(kPaAbs, UNIT_OF[wish.unit]);
  const named = wish.unit === 'kPa' ? value : Number(value.toPrecision(3));
  return `${plainFigure(named, wish.language)} ${wish.unit}`;
}

const UNITS: Readonly<Record<string, string>> = { 'std cm3/min': 'std cm³/min', 'Pa m3/s': 'Pa·m³/s' };

/** What a reading is shown in: noise in millivolt, everything else as it was judged. */
export function shownUnit(quantity: string, unit: string): { readonly unit: string; readonly factor: number } {
  if (quantity === 'noise' && unit === 'V') return { unit: 'mV', factor: 1000 };
  return { unit: UNITS[unit] ?? unit, factor: 1 };
}

/** Local time of the day, hours and minutes. */
export const clockTime = (instant: string | Date, language: Preferences['language']): string =>
  new Intl.DateTimeFormat(language, { hour: '2-digit', minute: '2-digit', hourCycle: 'h23' }).format(new Date(instant));

export const dateAndTime = (instant: string, language: Preferences['language']): string =>
  new Intl.DateTimeFormat(language, {
    day: 'numeric',
    month: 'short',
    year: 'numeric',
    hour: '2-digit',
    minute: '2-digit',
    second: '2-digit',
    hourCycle: 'h23',
  }).format(new Date(instant));
