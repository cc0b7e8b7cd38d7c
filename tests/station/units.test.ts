import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  absoluteFromBelowAmbient,
  kPaFrom,
  kPaTo,
  kelvinOf,
  PA_PER,
  paM3PerSFrom,
  geopotentialM,
  ratingFactor,
  significant,
  standardAtmosphereKpaAbs,
  stdFlowFrom,
} from '../../station/units.ts';
import type { PressureUnit } from '../../station/units.ts';

describe('pressure units', () => {
  test.each([
    { unit: 'psi', pa: 6894.757293, within: 1e-5, source: 'definition of the pound-force and the inch' },
    {
      unit: 'inHg',
      pa: 3386.38864,
      within: 1e-3,
      source: '13595.1 kg/m3 at 9.80665 m/s2; NIST SP 811 prints 3386.389',
    },
    { unit: 'bar', pa: 100_000, within: 0, source: 'exact' },
    { unit: 'mbar', pa: 100, within: 0, source: 'exact' },
    { unit: 'hPa', pa: 100, within: 0, source: 'exact' },
  ] as const)('one $unit is $pa Pa ($source)', ({ unit, pa, within }) => {
    expect(Math.abs(PA_PER[unit] - pa)).toBeLessThanOrEqual(within);
  });

  test.each([
    { unit: 'inHg', value: 29.921256, source: 'standard atmosphere over the conventional inch of mercury' },
    { unit: 'psi', value: 14.695949, source: 'standard atmosphere over the definition of the psi' },
  ] as const)('101.325 kPa is $value $unit ($source)', ({ unit, value }) => {
    expect(Math.abs(kPaTo(101.325, unit) - value)).toBeLessThan(1e-5);
  });

  test.each([
    { unit: 'psi', value: 14.5 },
    { unit: 'inHg', value: 29.5 },
  ] as const)('1 bar is about $value $unit (common practice, no source)', ({ unit, value }) => {
    expect(Math.abs(kPaTo(100, unit) - value)).toBeLessThan(0.05);
  });

  test.each([
    { ambientKpaAbs: 101.325, kPaAbs: 33.5972 },
    { ambientKpaAbs: 84.556, kPaAbs: 16.8282 },
  ])('20 inHg below $ambientKpaAbs kPa is $kPaAbs kPa absolute (NIST SP 811 factor)', ({ ambientKpaAbs, kPaAbs }) => {
    expect(Math.abs(absoluteFromBelowAmbient(kPaFrom(20, 'inHg'), ambientKpaAbs) - kPaAbs)).toBeLessThan(1e-3);
  });

  test('30 psi above a barometer of 101.325 kPa is 308.1677 kPa absolute (NIST SP 811 factor)', () => {
    expect(Math.abs(kPaFrom(30, 'psi') + 101.325 - 308.1677)).toBeLessThan(1e-3);
  });

  test('a vacuum deeper than the barometer does not exist', () => {
    expect(() => absoluteFromBelowAmbient(101.4, 101.325)).toThrow(RangeError);
    expect(absoluteFromBelowAmbient(101.325, 101.325)).toBe(0);
  });

  test('a pressure taken to any unit and back is the same to 1e-12', () => {
    const unit = fc.constantFrom(...(Object.keys(PA_PER) as PressureUnit[]));
    fc.assert(
      fc.property(unit, fc.double({ min: 1e-3, max: 1e4, noNaN: true }), (name, kPa) => {
        expect(Math.abs(kPaFrom(kPaTo(kPa, name), name) - kPa)).toBeLessThanOrEqual(kPa * 1e-12);
      }),
    );
  });
});

describe('leak units', () => {
  test('10 Pa lost from 20 cm3 in 5 s is 4e-5 Pa m3/s, 0.0236862 std cm3/min in gas at 20 °C (ideal gas, 20 °C standard)', () => {
    const paM3PerS = (20e-6 * 10) / 5;
    expect(paM3PerS).toBeCloseTo(4e-5, 12);
    expect(Math.abs(stdFlowFrom(paM3PerS, 20) - 0.0236862)).toBeLessThan(1e-6);
  });

  test('a standard of 0 °C instead would say 0.0220702, 7.3 % less (ideal gas)', () => {
    expect(Math.abs(stdFlowFrom(4e-5, 20) * (kelvinOf(0) / kelvinOf(20)) - 0.0220702)).toBeLessThan(1e-6);
  });

  test('1 std cm3/min in gas at 20 °C is 1.68875e-3 Pa m3/s (101325 Pa over 60 s)', () => {
    expect(Math.abs(paM3PerSFrom(1, 20) - 1.68875e-3)).toBeLessThan(1e-8);
  });

  test('1 cm3/s at 1 atm is 0.101325 Pa m3/s (exact)', () => {
    expect(paM3PerSFrom(60, 20)).toBeCloseTo(0.101325, 12);
  });

  test.each([
    { gasC: 20, paPerS: -84.4375, stdCm3PerMin: 0.5 },
    { gasC: 23, paPerS: -84.4375, stdCm3PerMin: 0.49493499915583333 },
    { gasC: 20, paPerS: -16.8875, stdCm3PerMin: 0.1 },
  ])('$paPerS Pa/s in 10 cm3 at $gasC °C is $stdCm3PerMin std cm3/min (independent computation)', (row) => {
    expect(stdFlowFrom(-row.paPerS * 10e-6, row.gasC)).toBeCloseTo(row.stdCm3PerMin, 12);
  });

  test('a flow taken to std cm3/min and back is the same to 1e-12', () => {
    const flow = fc.double({ min: 1e-8, max: 1, noNaN: true });
    fc.assert(
      fc.property(flow, fc.double({ min: -60, max: 150, noNaN: true }), (paM3PerS, gasC) => {
        const back = paM3PerSFrom(stdFlowFrom(paM3PerS, gasC), gasC);
        expect(Math.abs(back - paM3PerS)).toBeLessThanOrEqual(paM3PerS * 1e-12);
      }),
    );
  });
});

describe('rating a leak', () => {
  test('a hole that leaks 1 from 200 to 101.325 kPa leaks 0.331843 from 101.325 to 20 kPa (laminar law)', () => {
    expect(Math.abs(1 / ratingFactor(200, 101.325, 20) - 0.331843)).toBeLessThan(1e-5);
  });

  test('a leak measured at 139 kPa counts 1.351 times at 150 kPa (laminar law, independent computation)', () => {
    expect(ratingFactor(150, 139, 101.325)).toBeCloseTo(0.9503497942107884 / 0.7033865272977053, 9);
  });

  test('at the rated pressures nothing is changed', () => {
    expect(ratingFactor(150, 150, 101.325)).toBe(1);
  });

  test('below ambient a leak turns inward, and flow and factor change sign together', () => {
    expect(ratingFactor(150, 20, 101.325)).toBeLessThan(0);
  });

  test('at ambient nothing leaks that could be rated', () => {
    expect(() => ratingFactor(150, 101.325, 101.325)).toThrow(RangeError);
  });
});

describe('standard atmosphere', () => {
  test.each([
    [0, 101_325, 101_325],
    [500, 95_460.8, 95_461.3],
    [1000, 89_874.6, 89_876.3],
    [1500, 84_556.0, 84_559.7],
    [2000, 79_495.2, 79_501.4],
    [3000, 70_108.5, 70_121.1],
  ])(
    '%i m: %f Pa when geopotential, %f Pa when geometric (ISO 2533, values from memory of the standard)',
    (m, geopotential, geometric) => {
      expect(Math.abs(standardAtmosphereKpaAbs(m) * 1000 - geopotential)).toBeLessThan(1);
      expect(Math.abs(standardAtmosphereKpaAbs(geopotentialM(m)) * 1000 - geometric)).toBeLessThan(1);
    },
  );

  test('heights outside the troposphere are refused', () => {
    expect(() => standardAtmosphereKpaAbs(11_001)).toThrow(RangeError);
    expect(() => standardAtmosphereKpaAbs(Number.NaN)).toThrow(RangeError);
  });
});

describe('significant digits', () => {
  test('are those of the decimal that ECMAScript writes (toPrecision), and no more are written', () => {
    const value = fc.double({ min: -1e12, max: 1e12, noNaN: true });
    fc.assert(
      fc.property(value, fc.integer({ min: 3, max: 12 }), (x, digits) => {
        const rounded = significant(x, digits);
        expect(Math.abs(rounded - x)).toBeLessThanOrEqual(Math.abs(x) * 0.501 * 10 ** (1 - digits));
        expect(Number(rounded.toPrecision(digits))).toBe(rounded);
      }),
    );
    expect(significant(0, 5)).toBe(0);
    expect(significant(4.123456789, 4)).toBe(4.123);
    expect(significant(-0.00071234567, 3)).toBe(-0.000712);
  });
});
