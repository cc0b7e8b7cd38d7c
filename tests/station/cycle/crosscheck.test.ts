import { describe, expect, test } from 'vitest';
import { smallestFound } from '../../../station/cycle/crosscheck.ts';
import type { RigFaultKind } from '../../../station/rig/simulated/rig-fault.ts';
import { goodPart, runOn, stationFor } from '../../support/simulated-plant.ts';

const { plan } = await stationFor('AQ-1105');
const found = smallestFound(plan.rig.revision.instruments, plan.profile.content);
const sizeOf = (instrument: string): number => found.find((each) => each.instrument === instrument)?.size ?? Number.NaN;

const FAULTS: readonly { what: RigFaultKind; instrument: string }[] = [
  { what: 'reference-offset', instrument: 'reference' },
  { what: 'controller-offset', instrument: 'controller' },
  { what: 'barometer-offset', instrument: 'barometer' },
  { what: 'output-offset', instrument: 'output meter zero' },
  { what: 'supply-readback-offset', instrument: 'supply readback' },
];

describe('an instrument error of the size that is stated is found in any cycle', () => {
  const cases = FAULTS.flatMap((fault) =>
    [1, -1].flatMap((sign) => ['ready', 'fill', 'point:40-kpa'].map((phase) => ({ ...fault, sign, phase }))),
  );
  test.each(cases)(
    '$what, sign $sign, from $phase on, over ten drawn rigs',
    async ({ what, instrument, sign, phase }) => {
      for (let rigSeed = 1; rigSeed <= 10; rigSeed += 1) {
        const station = await stationFor('AQ-1105', { rigSeed });
        const nest = rigSeed % 2;
        const where = what.startsWith('controller') || what.startsWith('barometer') ? {} : { nest };
        const { measurement } = await runOn(station, [goodPart(station.profile, 1), goodPart(station.profile, 2)], {
          seed: rigSeed,
          faults: [{ phase, fault: { where, what, size: sign * sizeOf(instrument) } }],
        });
        expect(measurement.results.map(({ verdict }) => verdict)).toEqual(['none', 'none']);
      }
    },
  );

  test('a tenth of that size passes unseen: the statement is not an idle one', async () => {
    const station = await stationFor('AQ-1105');
    for (const { what, instrument } of FAULTS) {
      const fresh = await stationFor('AQ-1105');
      const { measurement } = await runOn(fresh, [goodPart(station.profile, 1), goodPart(station.profile, 2)], {
        faults: [{ phase: 'ready', fault: { where: {}, what, size: sizeOf(instrument) / 10 } }],
      });
      expect(measurement.faults).toEqual([]);
    }
  });
});
