import { describe, expect, test } from 'vitest';
import { digitsFor, pointFigure, pressureFigure, shownUnit } from '../../web/src/shared/figures.ts';
import { numberText } from '../../station/words/number-text.ts';

const WISH = { unit: 'kPa', isBelowAmbient: false, language: 'en' } as const;
const WORDS = { below: 'below ambient', above: 'above ambient' };

describe('pressures in the unit that is chosen (factors of NIST SP 811, appendix B.8)', () => {
  // B.8: psi to kPa 6.894757; inch of mercury (conventional) to kPa 3.386389; bar to kPa 100.
  test.each([
    ['kPa', 101.325, '101.3'],
    ['bar', 101.325, '1.013'],
    ['psi', 6.894757 * 14.7, '14.70'],
    ['inHg', 3.386389 * 29.92, '29.92'],
  ] as const)('%s', (unit, kPaAbs, number) => {
    expect(pressureFigure(kPaAbs, 100, { ...WISH, unit }, WORDS)).toEqual({ number, unit: `${unit} abs` });
  });

  test('below ambient counts from the barometer; without one it stays absolute', () => {
    expect(pressureFigure(61.3, 101.3, { ...WISH, isBelowAmbient: true }, WORDS)).toEqual({
      number: '40.0',
      unit: 'kPa below ambient',
    });
    expect(pressureFigure(150, 101.3, { ...WISH, isBelowAmbient: true }, WORDS)).toEqual({
      number: '48.7',
      unit: 'kPa above ambient',
    });
    expect(pressureFigure(61.3, null, { ...WISH, isBelowAmbient: true }, WORDS).unit).toBe('kPa abs');
  });

  test('a point has the figures of its profile, and three in another unit', () => {
    expect(pointFigure(60, WISH)).toBe('60 kPa');
    expect(pointFigure(60, { unit: 'psi', language: 'en' })).toBe('8.7 psi');
    expect(pointFigure(60, { unit: 'psi', language: 'es' })).toBe('8,7 psi');
  });
});

test.each([
  // U = 0.003 V shows its thousandth; U = 0.12 mA its tenth; U = 2 ms whole ones.
  [0.0015, 3],
  [0.06, 1],
  [0.03, 2],
  [1, 0],
  [0, 2],
])('an uncertainty u of %d earns %d digits', (u, digits) => {
  expect(digitsFor(u)).toBe(digits);
});

test('a minus is as wide as a digit, a rounded zero has none, the point is the language’s', () => {
  expect(numberText(-1.25, 1, 'en')).toMatch(/^−1\.[23]$/);
  expect(numberText(-0.001, 2, 'en')).toBe('0.00');
  expect(numberText(1234.5, 1, 'es')).toBe('1234,5');
});

test('noise is shown in millivolt, a leak with its cube', () => {
  expect(shownUnit('noise', 'V')).toEqual({ unit: 'mV', factor: 1000 });
  expect(shownUnit('output', 'V')).toEqual({ unit: 'V', factor: 1 });
  expect(shownUnit('leak', 'std cm3/min')).toEqual({ unit: 'std cm³/min', factor: 1 });
});
