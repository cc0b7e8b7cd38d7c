import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { AssertionError } from '../../../station/assert.ts';
import {
  errorBandKpa,
  factorAt,
  guardBand,
  largestFactor,
  marginOf,
  outputLimits,
} from '../../../station/profile/limit.ts';
import type { FactorPoint, TransferFunction } from '../../../station/profile/schema.ts';
import { sheet } from '../../support/published-parts.ts';
import { shippedContent } from '../../support/profile-text.ts';

const hot3: FactorPoint[] = [
  { partC: -40, factor: 3 },
  { partC: 0, factor: 1 },
  { partC: 85, factor: 1 },
  { partC: 125, factor: 3 },
];
const hot175 = [...hot3.slice(0, 3), { partC: 125, factor: 1.75 }];
const factorTable = fc
  .uniqueArray(
    fc.record({ partC: fc.integer({ min: -80, max: 200 }), factor: fc.double({ min: 0.5, max: 10, noNaN: true }) }),
    {
      minLength: 2,
      maxLength: 8,
      selector: ({ partC }) => partC,
    },
  )
  .map((points) => points.sort((one, other) => one.partC - other.partC));

describe('the temperature factor', () => {
  test.each([
    { factors: hot175, partC: 105, factor: 1.375, source: 'MPXA6115A data sheet, linear between 85 and 125 °C' },
    { factors: hot175, partC: -20, factor: 2, source: 'MPXA6115A data sheet, linear between -40 and 0 °C' },
    { factors: hot3, partC: -20, factor: 2, source: 'MPX4115A data sheet, linear between -40 and 0 °C' },
    { factors: hot3, partC: 23, factor: 1, source: 'MPX4115A data sheet, flat from 0 to 85 °C' },
    { factors: hot3, partC: -40, factor: 3, source: 'MPX4115A data sheet' },
    { factors: hot3, partC: 125, factor: 3, source: 'MPX4115A data sheet' },
    { factors: hot175, partC: 125, factor: 1.75, source: 'MPXA6115A data sheet' },
  ])('at $partC °C is $factor ($source)', ({ factors, partC, factor }) => {
    expect(factorAt(factors, partC)).toBeCloseTo(factor, 9);
  });

  test.each([-40.001, 125.001, Number.NaN, Infinity])('is not known at %d °C, outside the points', (partC) => {
    expect(() => factorAt(hot3, partC)).toThrow(RangeError);
  });

  test('with a single point is known there only', () => {
    expect(factorAt([{ partC: 23, factor: 2 }], 23)).toBe(2);
    expect(() => factorAt([{ partC: 23, factor: 2 }], 24)).toThrow(RangeError);
  });

  test('is what the table says at each of its points, and never leaves its neighbours in between', () => {
    fc.assert(
      fc.property(factorTable, fc.nat(), fc.double({ min: 0, max: 1, noNaN: true }), (table, pick, part) => {
        const index = pick % (table.length - 1);
        const [low, high] = [table[index] as FactorPoint, table[index + 1] as FactorPoint];
        expect(factorAt(table, low.partC)).toBe(low.factor);
        expect(factorAt(table, high.partC)).toBe(high.factor);
        const factor = factorAt(table, low.partC + part * (high.partC - low.partC));
        expect(factor).toBeGreaterThanOrEqual(Math.min(low.factor, high.factor) - 1e-9);
        expect(factor).toBeLessThanOrEqual(Math.max(low.factor, high.factor) + 1e-9);
      }),
    );
  });

  test('has no step: a millionth of a kelvin changes it by no more than the steepest line', () => {
    fc.assert(
      fc.property(factorTable, fc.double({ min: 0, max: 1, noNaN: true }), (table, part) => {
        const [first, last] = [table[0] as FactorPoint, table.at(-1) as FactorPoint];
        const partC = first.partC + part * (last.partC - first.partC - 1e-6);
        expect(Math.abs(factorAt(table, partC + 1e-6) - factorAt(table, partC))).toBeLessThanOrEqual(10 * 1e-6 + 1e-9);
      }),
    );
  });

  test('is largest at an end of a range or at a point within it', () => {
    expect(largestFactor(hot3, -10, 100)).toBeCloseTo(1.75, 9);
    const peak = [hot3[0], { partC: 20, factor: 5 }, hot3[3]] as FactorPoint[];
    expect(largestFactor(peak, 0, 40)).toBe(5);
    expect(() => largestFactor(hot3, -42, 0)).toThrow(RangeError);
  });
});

describe('the limits of an output', () => {
  const part = (transfer: TransferFunction, nominalV: number, factors: FactorPoint[]) => ({
    transfer,
    supply: { ...shippedContent('AQ-1105').supply, nominalV },
    errorBand: { kPa: 1.5, factors },
  });
  const part6115 = part(sheet('MPXA6115A'), 5, hot175);
  const part4115 = part(sheet('MPX4115A'), 5.1, hot3);

  test.each([
    {
      of: part6115,
      partC: 25,
      bandV: 0.0675,
      source: 'MPXA6115A data sheet; its Table 1 allows 0.133 to 0.268 V at 15 kPa',
    },
    { of: part6115, partC: -40, bandV: 0.2025, source: 'MPXA6115A data sheet, factor 3' },
    { of: part6115, partC: 125, bandV: 0.118125, source: 'MPXA6115A data sheet, factor 1.75' },
    { of: part6115, partC: 105, bandV: 0.0928125, source: 'MPXA6115A data sheet, factor 1.375' },
    { of: part4115, partC: 25, bandV: 0.06885, source: 'MPX4115A data sheet, factor 1' },
    { of: part4115, partC: 125, bandV: 0.20655, source: 'MPX4115A data sheet, factor 3' },
  ])('at $partC °C are $bandV V around the nominal value ($source)', ({ of, partC, bandV }) => {
    const limits = outputLimits(of, 60, partC);
    expect(Math.abs(limits.highV - limits.nominalV - bandV)).toBeLessThan(1e-6);
    expect(Math.abs(limits.nominalV - limits.lowV - bandV)).toBeLessThan(1e-6);
  });

  test('carry the numbers that they were derived from', () => {
    const limits = outputLimits(part6115, 50, 105);
    expect(limits.nominalV).toBeCloseTo(1.775, 9);
    expect(limits.factor).toBeCloseTo(1.375, 9);
    expect(limits.bandKpa).toBeCloseTo(2.0625, 9);
    expect(limits.slopeVPerKpa).toBeCloseTo(0.045, 9);
    expect(errorBandKpa(part6115.errorBand, 105)).toBeCloseTo(2.0625, 9);
  });

  test('lie alike to both sides at every point and temperature, and widen with the factor only', () => {
    const temperature = fc.double({ min: -40, max: 125, noNaN: true });
    fc.assert(
      fc.property(temperature, fc.double({ min: 15, max: 115, noNaN: true }), (partC, kPaAbs) => {
        const limits = outputLimits(part4115, kPaAbs, partC);
        const half = (limits.highV - limits.lowV) / 2;
        expect((limits.highV + limits.lowV) / 2).toBeCloseTo(limits.nominalV, 12);
        expect(half).toBeCloseTo(1.5 * factorAt(hot3, partC) * 0.0459, 12);
        expect(half).toBeGreaterThan(0);
      }),
    );
  });

  test('are not known where the factor is not', () => {
    expect(() => outputLimits(part6115, 50, 126)).toThrow(RangeError);
  });
});

describe('the guard band', () => {
  test('is the factor times the uncertainty (JCGM 106, 8.3.3)', () => {
    expect(guardBand({ kind: 'guard-band', factor: 1.645 }, 0.002)).toBeCloseTo(0.00329, 12);
  });

  test('is nothing under simple acceptance (JCGM 106, 8.2)', () => {
    expect(guardBand({ kind: 'simple' }, 0.002)).toBe(0);
  });
});

describe('the margin', () => {
  test.each([
    { value: 3, low: 2, high: 4, margin: 1, says: 'is 1 in the middle' },
    { value: 2, low: 2, high: 4, margin: 0, says: 'is 0 on the lower limit' },
    { value: 4, low: 2, high: 4, margin: 0, says: 'is 0 on the upper limit' },
    { value: 5, low: 2, high: 4, margin: -1, says: 'is negative outside' },
    { value: 0.1, low: null, high: 0.5, margin: 0.8, says: 'is (limit - value) / limit with an upper limit only' },
    { value: 0.6, low: null, high: 0.5, margin: -0.2, says: 'is negative above an upper limit' },
    { value: 3, low: 2, high: null, margin: 0.5, says: 'is (value - limit) / limit with a lower limit only' },
    { value: -3, low: -2, high: null, margin: -0.5, says: 'goes by the size of a limit below zero' },
  ])('$says', ({ value, low, high, margin }) => {
    expect(marginOf(value, low, high)).toBeCloseTo(margin, 12);
  });

  test('falls on both sides of the middle, and is 0 or more exactly where the value is within', () => {
    const number = fc.double({ min: -10, max: 10, noNaN: true });
    fc.assert(
      fc.property(number, number, fc.double({ min: 0.1, max: 5, noNaN: true }), (one, other, half) => {
        const [near, far] = Math.abs(one) <= Math.abs(other) ? [one, other] : [other, one];
        expect(marginOf(near, -half, half)).toBeGreaterThanOrEqual(marginOf(far, -half, half));
        expect(marginOf(one, -half, half) >= 0).toBe(one >= -half && one <= half);
        expect(marginOf(Math.max(one, other), null, half)).toBeLessThanOrEqual(
          marginOf(Math.min(one, other), null, half),
        );
        expect(marginOf(Math.max(one, other), half, null)).toBeGreaterThanOrEqual(
          marginOf(Math.min(one, other), half, null),
        );
      }),
    );
  });

  test('is not taken of what is no measured value, nor against limits that are none', () => {
    expect(() => marginOf(Number.NaN, 0, 1)).toThrow(AssertionError);
    expect(() => marginOf(1, 2, 2)).toThrow(AssertionError);
    expect(() => marginOf(1, null, 0)).toThrow(AssertionError);
    expect(() => marginOf(1, null, null)).toThrow(RangeError);
  });
});
