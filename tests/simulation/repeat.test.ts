import { expect, test } from 'vitest';
import { canonicalJson } from '../../station/hash.ts';
import type { PartTruth } from '../../station/rig/simulated/part.ts';
import { goodPart, runOn, stationFor } from '../support/simulated-plant.ts';

const PAIRS = 1000;

test(`the same seed gives the same measurement bytes in ${PAIRS} pairs, whether anyone looks at the samples or not`, async () => {
  const bytes = new Set<string>();
  for (let pair = 0; pair < PAIRS; pair += 1) {
    const runs = await Promise.all(
      [true, false].map(async (looking) => {
        const station = await stationFor('AQ-1105');
        const parts: PartTruth[] = [0, 1].map((nest) => ({
          ...goodPart(station.profile, 2 * pair + nest),
          ...(pair % 5 === 0 && nest === 0 ? { leakStdCm3PerMin: 3 } : {}),
        }));
        let samples = 0;
        const { measurement } = await runOn(station, parts, {
          seed: pair,
          ...(looking ? { onlooker: (block) => void (samples += block.count) } : {}),
        });
        if (looking) expect(samples).toBeGreaterThan(8000);
        return canonicalJson(measurement);
      }),
    );
    expect(runs[0]).toBe(runs[1]);
    bytes.add(runs[0] ?? '');
  }
  // Different seeds do differ: the comparison above could not pass on a constant.
  expect(bytes.size).toBe(PAIRS);
}, 120_000);
