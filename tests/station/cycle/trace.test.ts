import fc from 'fast-check';
import { expect, test } from 'vitest';
import { readTrace, Trace } from '../../../station/cycle/trace.ts';
import { goodPart, runOn, stationFor } from '../../support/simulated-plant.ts';

test('a trace read back is the block means of the cycle, to the pascal and ten microvolt', async () => {
  const station = await stationFor('AQ-1105');
  const trace = new Trace(2);
  const seen: { atMs: number; controllerKpaAbs: number; firstKpaAbs: number }[] = [];
  await runOn(station, [goodPart(station.profile, 1), goodPart(station.profile, 2)], {
    onlooker: (block, atMs) => {
      trace.add(block, atMs);
      const mean = (samples: Float64Array): number => samples.reduce((sum, value) => sum + value, 0) / samples.length;
      seen.push({
        atMs,
        controllerKpaAbs: mean(block.controllerKpaAbs),
        firstKpaAbs: mean(block.nests[0]!.referenceKpaAbs),
      });
    },
  });
  const rows = readTrace(trace.bytes());
  expect(rows).toHaveLength(seen.length);
  rows.forEach((row, i) => {
    expect(row.atMs).toBe(seen[i]?.atMs);
    expect(Math.abs(row.controllerKpaAbs - seen[i]!.controllerKpaAbs)).toBeLessThan(0.501e-3);
    expect(Math.abs((row.nests[0]?.referenceKpaAbs ?? 0) - seen[i]!.firstKpaAbs)).toBeLessThan(0.501e-3);
    expect(row.nests).toHaveLength(2);
  });
});

test('bytes that are no trace are refused', () => {
  expect(() => readTrace(new Uint8Array([7, 2, 0]))).toThrow('format 1');
  expect(() => readTrace(new Uint8Array([]))).toThrow(RangeError);
  const bytes = new Trace(2).bytes();
  expect(readTrace(bytes)).toEqual([]);
  expect(() => readTrace(new Uint8Array([...bytes, 0]))).toThrow('ends with its last row');
  expect(() => readTrace(new Uint8Array([1, 2, 255, 255, 3]))).toThrow('as many rows as it says');
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
