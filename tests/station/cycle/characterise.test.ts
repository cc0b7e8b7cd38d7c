import { describe, expect, test } from 'vitest';
import { firstRevision, nextRevision, simulatedRig, stationName } from '../../../station/host/simulated-station.ts';
import { characterise } from '../../../station/cycle/characterise.ts';
import { makePlan } from '../../../station/profile/plan.ts';
import { StationFault } from '../../../station/faults.ts';
import { goodPart, never, shipped } from '../../support/simulated-plant.ts';

const choice = (nests: number, rigSeed: number) => ({ nests, rigSeed, barometerKpaAbs: null });

describe('a characterised nest', () => {
  const cases = shipped.flatMap((profile) =>
    [1, 2, 3].map((rigSeed) => ({ profile, rigSeed, name: profile.content.partNumber })),
  );

  test.each(cases)(
    'of $name on rig $rigSeed: the volume is right within its uncertainty, never having been told',
    async ({ profile, rigSeed }) => {
      const rig = simulatedRig(choice(2, rigSeed));
      const revision = await nextRevision(rig, firstRevision(rig, stationName(choice(2, rigSeed))), profile, never);
      const own = revision.characters.filter(({ partNumber }) => partNumber === profile.content.partNumber);
      expect(own).toHaveLength(2);
      for (const { nest, volumeM3, sealedPaPerS, sealedCurvePa, sealedCurveSdPa } of own) {
        const truth = rig.truth.nests[nest]!.m3;
        expect(Math.abs(volumeM3.value - truth)).toBeLessThan(3.5 * volumeM3.u);
        expect(volumeM3.u / volumeM3.value).toBeLessThan(0.025);
        expect(sealedPaPerS.holds).toBe(20);
        expect(sealedPaPerS.mean).toBeLessThan(0);
        const { stabiliseMs, measureMs } = profile.content.leakHold;
        expect(sealedCurvePa).toHaveLength((stabiliseMs + measureMs) / 20);
        expect(sealedCurveSdPa).toHaveLength(sealedCurvePa.length);
        expect(sealedCurvePa[0]).toBe(0);
      }
    },
  );

  test('what was known of other part numbers stays known', async () => {
    const rig = simulatedRig(choice(1, 4));
    const [first, second] = shipped;
    const one = await nextRevision(rig, firstRevision(rig, 'S'), first!, never);
    const two = await nextRevision(rig, one, second!, never);
    expect(two.issue).toBe(one.issue + 1);
    expect(two.characters.map(({ partNumber }) => partNumber)).toEqual([
      first!.content.partNumber,
      second!.content.partNumber,
    ]);
    const again = await nextRevision(rig, two, first!, never);
    expect(again.characters).toHaveLength(2);
  });

  test('a master that leaks is not characterised: the nest is named', async () => {
    const rig = simulatedRig(choice(2, 6));
    const part = { ...goodPart(shipped[0]!, 1), leakStdCm3PerMin: 20_000 };
    const plan = makePlan({
      profile: shipped[0]!,
      rig: firstRevision(rig, 'S'),
      kind: 'study',
      condition: 'ambient',
      plant: [],
    });
    const how = {
      sealedHolds: 1,
      leakHolds: 0,
      leakStdCm3PerMin: { value: 1, u: 0.01 },
      fit: () => {
        rig.loadParts([goodPart(shipped[0]!, 2), part]);
        return Promise.resolve();
      },
    };
    await expect(characterise(rig, plan, how, never)).rejects.toMatchObject({ code: 'pressure-not-reached', nest: 1 });
  });

  test('a trip ends the characterisation with its fault, the rig safe', async () => {
    const rig = simulatedRig(choice(2, 5));
    rig.strike({ where: {}, what: 'air-lost', size: 0 }, 30_000);
    await expect(nextRevision(rig, firstRevision(rig, 'S'), shipped[0]!, never)).rejects.toMatchObject({
      code: 'air-lost',
    });
    expect((await rig.safe()).vented).toBe(true);
  });

  test('a stop ends it as well', async () => {
    const rig = simulatedRig(choice(2, 5));
    const stop = AbortSignal.abort(new StationFault('operator-stop'));
    await expect(nextRevision(rig, firstRevision(rig, 'S'), shipped[0]!, stop)).rejects.toMatchObject({
      code: 'operator-stop',
    });
  });
});
