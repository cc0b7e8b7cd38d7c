import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { DIMENSIONS, inHouseUnit, parseQuantity, parseRange } from '../../../station/profile/quantity.ts';
import type { Dimension } from '../../../station/profile/quantity.ts';
import { PA_PER, kPaTo } from '../../../station/units.ts';
import type { PressureUnit } from '../../../station/units.ts';

const dimensions = Object.keys(DIMENSIONS) as Dimension[];

describe('a quantity with its unit', () => {
  test.each<[string, Dimension, number]>([
    ['150 kPa', 'pressure', 150],
    ['150 kPa abs', 'pressure', 150],
    ['1.5 bar absolute', 'pressure', 150],
    ['1.5 bar(a)', 'pressure', 150],
    ['14.503773773 psia', 'pressure', 100],
    ['1013.25 hPa', 'pressure', 101.325],
    ['1013.25 mbar', 'pressure', 101.325],
    ['101325 Pa', 'pressure', 101.325],
    ['1 inHg', 'pressure', 3.38638864],
    ['0 kPa', 'pressure', 0],
    ['1.5 kPa', 'pressure difference', 1.5],
    ['0.5 std cm3/min', 'leak rate', 0.5],
    ['0.5 std cm³/min', 'leak rate', 0.5],
    ['51 kOhm', 'resistance', 51_000],
    ['51 kΩ', 'resistance', 51_000],
    ['51 k\u2126', 'resistance', 51_000],
    ['100 ohm', 'resistance', 100],
    ['20 ms', 'time', 20],
    ['2.75 s', 'time', 2750],
    ['45 min', 'time', 2_700_000],
    ['1.5 h', 'time', 5_400_000],
    ['-40 °C', 'temperature', -40],
    ['-40 C', 'temperature', -40],
    ['\u221240 °C', 'temperature', -40],
    ['10 K', 'temperature difference', 10],
    ['7 mA', 'current', 7],
    ['0.007 A', 'current', 7],
    ['500 µA', 'current', 0.5],
    ['500 uA', 'current', 0.5],
    ['0.009 /kPa', 'fraction per pressure', 0.009],
    ['0.9 /bar', 'fraction per pressure', 0.009],
    ['45 mV/kPa', 'voltage per pressure', 0.045],
    ['4.5 V/bar', 'voltage per pressure', 0.045],
    ['4500 mV/bar', 'voltage per pressure', 0.045],
    ['5 V', 'voltage', 5],
    ['5V', 'voltage', 5],
    ['5  V', 'voltage', 5],
    ['5 mV', 'voltage', 0.005],
    ['5e-3 V', 'voltage', 0.005],
    ['+5 V', 'voltage', 5],
    ['.5 V', 'voltage', 0.5],
    ['0.3 %', 'fraction', 0.003],
    ['-9.5 %', 'fraction', -0.095],
    ['0.98', 'fraction', 0.98],
    ['1.645', 'factor', 1.645],
    ['-0 V', 'voltage', 0],
  ])('%j as a %s is %d in the house unit', (text, dimension, value) => {
    const parsed = parseQuantity(text, dimension);
    expect(parsed.ok && Math.abs(parsed.value - value)).toBeLessThanOrEqual(Math.abs(value) * 1e-9);
    expect(parsed.ok && Object.is(parsed.value, -0)).toBe(false);
  });

  test('a number that is a power of ten away is exact and not a rounded product', () => {
    for (const [text, value] of [
      ['4.35 bar', 435],
      ['1.1 s', 1100],
      ['0.57 V', 0.57],
      ['17.9 mV', 0.0179],
    ] as const) {
      const dimension = text.endsWith('r') ? 'pressure' : text.endsWith('s') ? 'time' : 'voltage';
      expect(parseQuantity(text, dimension)).toEqual({ ok: true, value });
    }
  });
});

describe('what is not a quantity', () => {
  test.each<[string, Dimension, string, RegExp, RegExp]>([
    ['150', 'pressure', 'unit', /has no unit/, /150 kPa, 150 bar, 150 mbar, 150 hPa, 150 Pa, 150 psi, 150 inHg/],
    ['150 V', 'pressure', 'unit', /"V" is no unit of a pressure/, /150 kPa/],
    ['5 kPa', 'voltage', 'unit', /"kPa" is no unit of a voltage/, /one of 5 V, 5 mV/],
    ['5 volts', 'voltage', 'unit', /"volts"/, /5 V/],
    ['-40 °F', 'temperature', 'unit', /"°F"/, /-40 °C/],
    ['10 °C', 'temperature difference', 'unit', /no unit of a temperature difference/, /10 K/],
    ['5 sccm', 'leak rate', 'unit', /standard conditions/, /20 °C and 101.325 kPa/],
    ['0.02 V', 'fraction', 'unit', /"V"/, /the number alone, or %/],
    ['3 %', 'factor', 'unit', /"%"/, /the number alone/],
    ['5 __proto__', 'voltage', 'unit', /no unit/, /5 V/],
    ['5 toString', 'voltage', 'unit', /no unit/, /5 V/],
    ['0,6 s', 'time', 'number', /comma/, /0.6 s/],
    ['', 'time', 'number', /no value/, /0.6 s/],
    ['soon', 'time', 'number', /not a number/, /0.6 s/],
    ['1 000 kPa', 'pressure', 'number', /not a number/, /150 kPa/],
    ['1.2.3 V', 'voltage', 'number', /not a number/, /5 V/],
    ['NaN V', 'voltage', 'number', /not a number/, /5 V/],
    ['1e999 V', 'voltage', 'number', /too large/, /5 V/],
    ['30 psi gauge', 'pressure', 'gauge-pressure', /absolute/, /308.168 kPa/],
    ['30 psig', 'pressure', 'gauge-pressure', /absolute/, /308.168 kPa/],
    ['0.5 bar(g)', 'pressure', 'gauge-pressure', /absolute/, /151.325 kPa/],
    ['50 kPa over ambient', 'pressure', 'gauge-pressure', /absolute/, /151.325 kPa/],
    ['20 inHg vacuum', 'pressure', 'gauge-pressure', /absolute/, /33.5972 kPa/],
    ['10 kPa below ambient', 'pressure', 'gauge-pressure', /absolute/, /91.325 kPa/],
    ['200 kPa vacuum', 'pressure', 'gauge-pressure', /absolute/, /such as 150 kPa/],
    ['50 foo gauge', 'pressure', 'gauge-pressure', /absolute/, /such as 150 kPa/],
    ['-20 kPa', 'pressure', 'gauge-pressure', /negative/, /81.325 kPa/],
    ['-200 kPa', 'pressure', 'gauge-pressure', /negative/, /such as 20 kPa/],
    ['1.5 kPa abs', 'pressure difference', 'unit', /neither absolute nor gauge/, /1.5 kPa/],
    ['1.5 kPa gauge', 'pressure difference', 'unit', /neither absolute nor gauge/, /1.5 kPa/],
  ])('%j as a %s is refused as %s', (text, dimension, code, wrong, right) => {
    const parsed = parseQuantity(text, dimension);
    expect(parsed).toMatchObject({ ok: false, code });
    expect(parsed.ok ? '' : parsed.wrong).toMatch(wrong);
    expect(parsed.ok ? '' : parsed.right).toMatch(right);
  });

  test('whatever the text, a refusal says what is wrong and what would be right, and nothing is thrown', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'binary' }), fc.constantFrom(...dimensions), (text, dimension) => {
        const parsed = parseQuantity(text, dimension);
        if (parsed.ok) expect(Number.isFinite(parsed.value)).toBe(true);
        else expect(parsed.wrong.length * parsed.right.length).toBeGreaterThan(0);
      }),
      { numRuns: 1000 },
    );
  });
});

describe('a range', () => {
  test('has a unit on both sides', () => {
    expect(parseRange('4.75 V to 5.25 V', 'voltage')).toEqual({ ok: true, value: { low: 4.75, high: 5.25 } });
    expect(parseRange('150 mbar to 1.15 bar', 'pressure')).toEqual({ ok: true, value: { low: 15, high: 115 } });
    expect(parseRange('0.02 to 0.98', 'fraction')).toEqual({ ok: true, value: { low: 0.02, high: 0.98 } });
  });

  test.each([
    ['4.75 to 5.25 V', 'unit'],
    ['4.75 V to 5.25', 'unit'],
    ['4.75 V - 5.25 V', 'number'],
    ['5 V', 'number'],
    ['4 V to 5 V to 6 V', 'number'],
    ['', 'number'],
  ])('%j is refused as %s', (text, code) => {
    expect(parseRange(text, 'voltage')).toMatchObject({ ok: false, code });
  });
});

describe('there and back', () => {
  test('a pressure written in any unit, with or without "abs", is the same pressure', () => {
    const unit = fc.constantFrom(...(Object.keys(PA_PER) as PressureUnit[]));
    const suffix = fc.constantFrom('', ' abs');
    fc.assert(
      fc.property(unit, suffix, fc.double({ min: 1e-6, max: 2000, noNaN: true }), (name, abs, kPa) => {
        const parsed = parseQuantity(`${kPaTo(kPa, name)} ${name}${abs}`, 'pressure');
        expect(parsed.ok && Math.abs(parsed.value - kPa)).toBeLessThanOrEqual(kPa * 1e-12);
      }),
    );
  });

  test('a number written in its house unit is that number to the last bit', () => {
    const house: Dimension[] = [
      'pressure',
      'voltage',
      'current',
      'time',
      'leak rate',
      'voltage per pressure',
      'temperature',
    ];
    fc.assert(
      fc.property(fc.constantFrom(...house), fc.double({ min: 1e-6, max: 1e6, noNaN: true }), (dimension, value) => {
        expect(parseQuantity(inHouseUnit(value, dimension), dimension)).toEqual({ ok: true, value });
      }),
    );
  });

  test('each unit of a dimension gives the same value as its other spellings', () => {
    fc.assert(
      fc.property(fc.constantFrom(...dimensions), fc.integer({ min: 0, max: 10_000 }), (dimension, number) => {
        const { alias } = DIMENSIONS[dimension];
        for (const [other, unit] of Object.entries(alias)) {
          expect(parseQuantity(`${number} ${other}`, dimension)).toEqual(parseQuantity(`${number} ${unit}`, dimension));
        }
      }),
    );
  });
});
