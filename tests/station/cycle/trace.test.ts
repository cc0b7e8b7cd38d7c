import fc from 'fast-check';
import { expect, test } from 'vitest';
import { readTrace, Trace } from '../../../station/cycle/trace.ts';
import { goodPart, runOn, stationFor } from '../../support/simulated-plant.ts';

/** A block of a rig without nests. */
const BLOCK = {
  fromMs: 0,
  count: 1,
  controllerKpaAbs: Float64Array.of(100),
  barometerKpaAbs: 100,
  roomC: 23,
  chamberC: 23,
  nests: [],
};

test('a trace read back is the block means of the cycle, to the pascal and ten microvolt', async () => {
  const station = await stationFor('AQ-1105');
  const trace = new Trace(2);
  const seen: { atMs: number; controllerKpaAbs: number; kPaAbs: number; outputV: number; supplyV: number }[] = [];
  await runOn(station, [goodPart(station.profile, 1), goodPart(station.profile, 2)], {
    onlooker: (block, atMs) => {
      trace.add(block, atMs);
      const mean = (samples: Float64Array): number => samples.reduce((sum, value) => sum + value, 0) / samples.length;
      seen.push({
        atMs,
        controllerKpaAbs: mean(block.controllerKpaAbs),
        kPaAbs: mean(block.nests[1]!.referenceKpaAbs),
        outputV: mean(block.nests[1]!.outputV),
        supplyV: block.nests[1]!.supplyV,
      });
    },
  });
  const bytes = trace.bytes();
  const rows = readTrace(bytes);
  expect(rows).toHaveLength(seen.length);
  // Seven channels: little more than a byte a value.
  expect(bytes.length / (7 * rows.length)).toBeLessThan(1.3);
  rows.forEach((row, i) => {
    expect(row.atMs).toBe(seen[i]?.atMs);
    expect(Math.abs(row.controllerKpaAbs - seen[i]!.controllerKpaAbs)).toBeLessThan(0.501e-3);
    expect(row.nests).toHaveLength(2);
    const [, second] = row.nests;
    expect(Math.abs(second!.referenceKpaAbs - seen[i]!.kPaAbs)).toBeLessThan(0.501e-3);
    expect(Math.abs(second!.outputV - seen[i]!.outputV)).toBeLessThan(0.501e-5);
    expect(Math.abs(second!.supplyV - seen[i]!.supplyV)).toBeLessThan(0.501e-5);
  });
});

test('instants of any spacing are read back', () => {
  fc.assert(
    fc.property(fc.array(fc.integer({ min: 1, max: 3 })), (spacings) => {
      const trace = new Trace(0);
      const ends: number[] = [];
      for (const spacing of spacings) {
        ends.push((ends.at(-1) ?? 0) + 10 * spacing);
        trace.add({ ...BLOCK, controllerKpaAbs: Float64Array.of(ends.length) }, ends.at(-1)!);
      }
      const rows = readTrace(trace.bytes());
      expect(rows.map(({ atMs }) => atMs)).toEqual(ends);
      expect(rows.map(({ controllerKpaAbs }) => Math.round(controllerKpaAbs))).toEqual(ends.map((_, i) => i + 1));
    }),
  );
});

test('bytes that are no trace are refused', () => {
  expect(() => readTrace(new Uint8Array([7, 2, 0]))).toThrow('format 1');
  expect(() => readTrace(new Uint8Array([]))).toThrow(RangeError);
  const bytes = new Trace(2).bytes();
  expect(readTrace(bytes)).toEqual([]);
  expect(() => readTrace(new Uint8Array([...bytes, 0]))).toThrow('ends with its last row');
  expect(() => readTrace(new Uint8Array([1, 2, 255, 255, 3]))).toThrow('as many rows as it says');
  expect(() => readTrace(new Uint8Array([1, 0, 2, 40, 3, 0, 0]))).toThrow('as many instants as rows');
  expect(() => readTrace(new Uint8Array([1, 0, 2, 40, 0, 0, 0]))).toThrow('as many instants as rows');
  expect(() => readTrace(new Uint8Array([1, ...Array.from({ length: 20 }, () => 255)]))).toThrow('too long');
});

test('whatever bytes come, reading them ends with rows or a RangeError', () => {
  fc.assert(
    fc.property(fc.uint8Array({ maxLength: 300 }), (bytes) => {
      try {
        readTrace(new Uint8Array([1, 2, ...bytes]));
      } catch (error) {
        expect(error).toBeInstanceOf(RangeError);
      }
    }),
  );
});
