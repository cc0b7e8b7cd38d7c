import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { TransferFunction } from '../../../station/profile/schema.ts';
import {
  atLoad,
  clampsV,
  endPoints,
  normalisedOutput,
  outputAt,
  pressureFrom,
  slopeVPerKpa,
} from '../../../station/profile/transfer.ts';
import { kPaFrom } from '../../../station/units.ts';
import { published, sheet } from '../../support/published-parts.ts';

const regulated: TransferFunction = { kind: 'regulated', slopeVPerKpa: 0.04, offsetV: -0.1 };

describe('output at a pressure', () => {
  test.each([
    {
      part: 'MPXA6115A',
      supplyV: 5,
      kPaAbs: 15,
      outputV: 0.2,
      within: 5e-4,
      source: 'data sheet Rev 6, Table 1, offset typ',
    },
    {
      part: 'MPXA6115A',
      supplyV: 5,
      kPaAbs: 115,
      outputV: 4.7,
      within: 5e-4,
      source: 'data sheet Rev 6, Table 1, full scale typ',
    },
    {
      part: 'MPXA6115A',
      supplyV: 5,
      kPaAbs: 101.325,
      outputV: 4.084625,
      within: 1e-6,
      source: 'formula of the data sheet',
    },
    { part: 'MPXA6115A', supplyV: 5, kPaAbs: 50, outputV: 1.775, within: 1e-6, source: 'formula of the data sheet' },
    {
      part: 'MPXA6115A',
      supplyV: 5,
      kPaAbs: 84.556,
      outputV: 3.33002,
      within: 1e-5,
      source: 'formula; 1500 m in ISO 2533',
    },
    {
      part: 'MPX4115A',
      supplyV: 5.1,
      kPaAbs: 15,
      outputV: 0.204,
      within: 5e-4,
      source: 'data sheet Rev 4, offset typ',
    },
    {
      part: 'MPX4115A',
      supplyV: 5.1,
      kPaAbs: 115,
      outputV: 4.794,
      within: 5e-4,
      source: 'data sheet Rev 4, full scale typ',
    },
    { part: 'MPX4250A', supplyV: 5.1, kPaAbs: 20, outputV: 0.204, within: 5e-4, source: 'data sheet' },
    { part: 'MPX4250A', supplyV: 5.1, kPaAbs: 250, outputV: 4.896, within: 5e-4, source: 'data sheet' },
    {
      part: 'MPX4250A',
      supplyV: 5.1,
      kPaAbs: 101.325,
      outputV: 1.86303,
      within: 1e-6,
      source: 'formula of the data sheet',
    },
    {
      part: 'MPXH6300A',
      supplyV: 5.1,
      kPaAbs: 20,
      outputV: 0.306357,
      within: 1e-5,
      source: 'formula from memory; 0.3 V in data sheet Rev 5.1',
    },
    {
      part: 'MPXH6300A',
      supplyV: 5.1,
      kPaAbs: 304,
      outputV: 4.912269,
      within: 1e-5,
      source: 'formula from memory; 4.9 V in data sheet Rev 5.1',
    },
    { part: 'MPXH6400A', supplyV: 5, kPaAbs: 20, outputV: 0.2, within: 5e-4, source: 'specification summary' },
    { part: 'MPXH6400A', supplyV: 5, kPaAbs: 400, outputV: 4.7999, within: 5e-4, source: 'specification summary' },
    {
      part: 'MPXH6400A',
      supplyV: 5,
      kPaAbs: 101.325,
      outputV: 1.184439,
      within: 1e-6,
      source: 'formula of the summary',
    },
    { part: 'PST 1', supplyV: 5, kPaAbs: 10, outputV: 0.40004, within: 1e-5, source: "maker's page" },
    { part: 'PST 1', supplyV: 5, kPaAbs: 115, outputV: 4.65044, within: 1e-5, source: "maker's page" },
    { part: 'PST 3', supplyV: 5, kPaAbs: 20, outputV: 0.40003, within: 1e-5, source: "maker's page" },
    { part: 'PST 3', supplyV: 5, kPaAbs: 300, outputV: 4.65043, within: 1e-5, source: "maker's page" },
    {
      part: 'KP212K1409',
      supplyV: 5,
      kPaAbs: 101.325,
      outputV: 3.953,
      within: 1e-6,
      source: 'end points of data sheet Rev 1.0',
    },
  ] as const)('$part at $supplyV V and $kPaAbs kPa reads $outputV V ($source)', (row) => {
    expect(Math.abs(outputAt(sheet(row.part), row.kPaAbs, row.supplyV) - row.outputV)).toBeLessThanOrEqual(row.within);
  });

  test('3.300 V of an MPXA6115A at 5 V stand for 83.888889 kPa (inverse of the data sheet formula)', () => {
    expect(Math.abs(pressureFrom(sheet('MPXA6115A'), 3.3, 5) - 83.888889)).toBeLessThan(1e-5);
  });

  test('a low supply lowers the output in proportion, and decoding against 5 V reads 1.79 kPa low (data sheet formula)', () => {
    const outputV = outputAt(sheet('MPXA6115A'), 100, 4.9);
    expect(Math.abs(outputV - 3.9445)).toBeLessThan(1e-4);
    expect(outputV / outputAt(sheet('MPXA6115A'), 100, 5)).toBeCloseTo(4.9 / 5, 12);
    expect(Math.abs(pressureFrom(sheet('MPXA6115A'), outputV, 5) - 98.2111)).toBeLessThan(1e-4);
    expect(pressureFrom(sheet('MPXA6115A'), outputV, 4.9)).toBeCloseTo(100, 9);
  });

  test('a regulated output does not follow the supply', () => {
    expect(outputAt(regulated, 100, 8)).toBe(outputAt(regulated, 100, 16));
    expect(pressureFrom(regulated, 3.9, 0)).toBeCloseTo(100, 9);
  });

  test('a ratiometric output without a supply stands for no pressure', () => {
    expect(() => pressureFrom(sheet('MPXA6115A'), 0.1, 0)).toThrow(RangeError);
    const reading = { outputV: 0, supplyV: 0, nominalV: 5, referenceKpaAbs: 100, pointKpaAbs: 100 };
    expect(() => normalisedOutput(sheet('MPXA6115A'), reading)).toThrow(RangeError);
  });

  test('the slope follows the supply of a ratiometric part and not that of a regulated one', () => {
    expect(slopeVPerKpa(sheet('MPXA6115A'), 5)).toBeCloseTo(0.045, 12);
    expect(slopeVPerKpa(regulated, 12)).toBe(0.04);
  });

  test('the printed sensitivity of 45.9 mV/kPa belongs to 5.1 V and not to 5.0 V (MPXA6115A data sheet contradicts itself)', () => {
    expect(endPoints(sheet('MPXA6115A'), { low: 15, high: 115 }, 5).slopeVPerKpa).toBeCloseTo(0.045, 9);
    expect(endPoints(sheet('MPXA6115A'), { low: 15, high: 115 }, 5.1).slopeVPerKpa).toBeCloseTo(0.0459, 9);
  });

  test('clamps are fractions of the supply, or volts whatever the supply', () => {
    const ratio = clampsV({ unit: 'ratio', low: 0.02, high: 0.98 }, 5);
    expect(ratio.lowV).toBeCloseTo(0.1, 12);
    expect(ratio.highV).toBeCloseTo(4.9, 12);
    expect(clampsV({ unit: 'V', low: 0.1, high: 4.9 }, 12)).toEqual({ lowV: 0.1, highV: 4.9 });
  });

  test('pressure to output and back is the same for every published part', () => {
    const kPa = fc.double({ min: 5, max: 400, noNaN: true });
    const supply = fc.double({ min: 4.5, max: 16, noNaN: true });
    fc.assert(
      fc.property(fc.constantFrom(...published, regulated), kPa, supply, (transfer, kPaAbs, supplyV) => {
        expect(pressureFrom(transfer, outputAt(transfer, kPaAbs, supplyV), supplyV)).toBeCloseTo(kPaAbs, 8);
      }),
    );
  });
});

describe('rules of thumb (common practice, no source)', () => {
  test.each([
    { part: 'MPXA6115A', supplyV: 5, holds: true },
    { part: 'MPX4115A', supplyV: 5.1, holds: true },
    { part: 'PST 1', supplyV: 5, holds: true },
    { part: 'KP212K1409', supplyV: 5, holds: false },
  ] as const)('4.0 to 4.8 V with the engine off at sea level: $holds for $part', ({ part, supplyV, holds }) => {
    const outputV = outputAt(sheet(part), 101.325, supplyV);
    expect(outputV >= 4 && outputV <= 4.8).toBe(holds);
  });

  test.each([
    { part: 'MPXA6115A', supplyV: 5, dropV: 1.523875, holds: true },
    { part: 'MPX4115A', supplyV: 5.1, dropV: 1.554, holds: true },
    { part: 'PST 1', supplyV: 5, dropV: 1.371, holds: false },
    { part: 'KP212K1409', supplyV: 5, dropV: 1.354555, holds: false },
  ] as const)('10 inHg of vacuum drop the output by 1.5 to 2.1 V: $holds for $part, $dropV V', (row) => {
    const dropV = slopeVPerKpa(sheet(row.part), row.supplyV) * kPaFrom(10, 'inHg');
    expect(Math.abs(dropV - row.dropV)).toBeLessThan(5e-4);
    expect(dropV >= 1.5 && dropV <= 2.1).toBe(row.holds);
  });

  test('1 to 2 V at idle, 33 to 53 kPa, for a 1 bar part', () => {
    expect(outputAt(sheet('MPXA6115A'), 33, 5)).toBeGreaterThan(1);
    expect(outputAt(sheet('MPXA6115A'), 53, 5)).toBeLessThan(2);
  });
});

describe('the load', () => {
  test('1 kOhm in series with a 51 kOhm pull-down costs an MPXA6115A 1.75 kPa at sea level (divider; load of its data sheet)', () => {
    const outputV = atLoad(4.084625, 5, 1000, { ohm: 51_000, to: 'ground' });
    expect(Math.abs(outputV - 4.006075)).toBeLessThan(1e-4);
    expect(Math.abs(pressureFrom(sheet('MPXA6115A'), outputV, 5) - 99.5794)).toBeLessThan(1e-4);
  });

  test.each([
    { openV: 0.2, supplyV: 5, sourceOhm: 100, ohm: 10_000, to: 'supply', outputV: 0.247525 },
    { openV: 4.5, supplyV: 5, sourceOhm: 100, ohm: 51_000, to: 'ground', outputV: 4.4911937377690805 },
    { openV: 0.5, supplyV: 5, sourceOhm: 100, ohm: 51_000, to: 'supply', outputV: 0.5088062622309197 },
    { openV: 3.1875, supplyV: 5.1, sourceOhm: 252, ohm: 10_000, to: 'ground', outputV: 3.1091494342567305 },
  ] as const)(
    '$openV V behind $sourceOhm Ohm with $ohm Ohm to $to reads $outputV V (independent computation)',
    (row) => {
      const outputV = atLoad(row.openV, row.supplyV, row.sourceOhm, { ohm: row.ohm, to: row.to });
      expect(Math.abs(outputV - row.outputV)).toBeLessThan(1e-6);
    },
  );
});

describe('the normalised output', () => {
  const supply = fc.double({ min: 4.5, max: 16, noNaN: true });
  const kPa = fc.double({ min: 20, max: 105, noNaN: true });
  const parts = fc.constantFrom(...published, regulated);

  test('a perfect part reads its nominal value at any supply and any pressure near the point', () => {
    fc.assert(
      fc.property(parts, supply, kPa, kPa, (transfer, supplyV, referenceKpaAbs, pointKpaAbs) => {
        const outputV = outputAt(transfer, referenceKpaAbs, supplyV);
        const reading = { outputV, supplyV, nominalV: 5, referenceKpaAbs, pointKpaAbs };
        expect(normalisedOutput(transfer, reading)).toBeCloseTo(outputAt(transfer, pointKpaAbs, 5), 9);
      }),
    );
  });

  test('a part that reads 1 kPa high still does after normalising', () => {
    fc.assert(
      fc.property(parts, supply, kPa, kPa, (transfer, supplyV, referenceKpaAbs, pointKpaAbs) => {
        const outputV = outputAt(transfer, referenceKpaAbs + 1, supplyV);
        const reading = { outputV, supplyV, nominalV: 5, referenceKpaAbs, pointKpaAbs };
        const errorV = normalisedOutput(transfer, reading) - outputAt(transfer, pointKpaAbs, 5);
        expect(errorV).toBeCloseTo(slopeVPerKpa(transfer, 5), 9);
      }),
    );
  });
});
