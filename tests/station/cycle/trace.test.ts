import { expect, test } from 'vitest';
import { readTrace, Trace } from '../../../station/cycle/trace.ts';
import { goodPart, runOn, stationFor } from '../../support/simulated-plant.ts';

test('a trace read back is the block means of the cycle, to the digits of 32-bit floats', async () => {
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
    expect(row.controllerKpaAbs).toBeCloseTo(seen[i]!.controllerKpaAbs, 3);
    expect(row.nests[0]?.referenceKpaAbs).toBeCloseTo(seen[i]!.firstKpaAbs, 3);
    expect(row.nests).toHaveLength(2);
  });
});

test('bytes that are no trace are refused', () => {
  expect(() => readTrace(new Uint8Array(3))).toThrow(RangeError);
  expect(() => readTrace(new Uint8Array(64))).toThrow('format 1');
  const bytes = new Trace(2).bytes();
  expect(readTrace(bytes)).toEqual([]);
  expect(() => readTrace(new Uint8Array([...bytes, 0, 0, 0, 0]))).toThrow('whole rows');
});
