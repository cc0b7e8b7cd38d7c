import { describe, expect, test } from 'vitest';
import type { SampleBlock } from '../../../../station/rig/port.ts';
import { drawPart, middlePart } from '../../../../station/rig/simulated/part.ts';
import { SimulatedRig } from '../../../../station/rig/simulated/rig.ts';
import { defaultRig, drawRig } from '../../../../station/rig/simulated/truth.ts';
import { oneBar, regulated } from '../../../support/parts.ts';
import { clamped, meanOf, pass } from '../../../support/rig-contract.ts';
import { held, meansOf, never, poweredRig, scatterOf } from '../../../support/rig-run.ts';

/** A short cycle with everything in it; every block that was taken. */
async function shortCycle(rig: SimulatedRig): Promise<SampleBlock[]> {
  const blocks: SampleBlock[] = [];
  const keep = async (ms: number): Promise<void> => {
    for (let passed = 0; passed < ms; passed += 20) blocks.push(await pass(rig, 20));
  };
  await rig.clamp(never);
  await keep(700);
  for (let n = 0; n < rig.abilities.nests; n++) await rig.supply(n, 5, never);
  await rig.setPressure(150, never);
  await keep(600);
  for (let n = 0; n < rig.abilities.nests; n++) await rig.isolate(n, true, never);
  await rig.vent(never);
  await keep(1000);
  for (let n = 0; n < rig.abilities.nests; n++) await rig.isolate(n, false, never);
  await rig.setPressure(40, never);
  await keep(600);
  await rig.safe();
  await rig.release(never);
  await keep(100);
  return blocks;
}

const drawn = (seed: number): SimulatedRig => {
  const rig = new SimulatedRig(drawRig(seed, { nests: 2 }));
  rig.loadParts([drawPart(seed, 0, oneBar), drawPart(seed, 1, oneBar)]);
  return rig;
};

const withoutTimes = (blocks: readonly SampleBlock[]): unknown[] => blocks.map((block) => ({ ...block, fromMs: 0 }));

describe('repeating a simulated cycle', () => {
  test('the same seed gives the same bits, another seed others', async () => {
    const first = await shortCycle(drawn(5));
    expect(await shortCycle(drawn(5))).toEqual(first);
    expect(await shortCycle(drawn(6))).not.toEqual(first);
  });

  test('the same parts and seed give the same bits on a rig that has run before', async () => {
    const rig = drawn(5);
    await shortCycle(rig);
    const parts = [drawPart(9, 0, oneBar), null];
    rig.loadParts(parts, 77);
    const second = await shortCycle(rig);
    rig.loadParts(parts, 78);
    const other = await shortCycle(rig);
    rig.loadParts(parts, 77);
    expect(withoutTimes(await shortCycle(rig))).toEqual(withoutTimes(second));
    expect(withoutTimes(other)).not.toEqual(withoutTimes(second));
  });

  test('one nest does not shift the noise of another', async () => {
    const readings = async (nests: number): Promise<Float64Array> => {
      const rig = new SimulatedRig(defaultRig({ nests }));
      await pass(rig, 40);
      return (await pass(rig, 20)).nests[0]!.referenceKpaAbs;
    };
    expect(await readings(1)).toEqual(await readings(5));
  });

  test('parts are not changed with the clamps closed', async () => {
    const rig = await poweredRig();
    expect(() => rig.loadParts([])).toThrow('broken premise');
  });
});

describe('instruments of the simulated rig', () => {
  test('scatter as the parameters say, and a reference reads whole pascals', async () => {
    const rig = await poweredRig();
    await rig.setPressure(101, never);
    await pass(rig, 3000);
    const blocks: SampleBlock[] = [];
    for (let k = 0; k < 50; k++) blocks.push(await pass(rig, 20));
    const typical = (of: (block: SampleBlock) => Float64Array): number =>
      Math.sqrt(blocks.reduce((sum, block) => sum + scatterOf(of(block)) ** 2, 0) / blocks.length);
    const ambient = typical(({ nests }) => nests[0]!.referenceKpaAbs);
    expect(ambient).toBeGreaterThan(0.0035);
    expect(ambient).toBeLessThan(0.0055);
    expect(typical(({ controllerKpaAbs }) => controllerKpaAbs)).toBeCloseTo(0.005, 3);
    // Output noise of the part (1 mV) and of the meter (0.2 mV) add by squares.
    expect(typical(({ nests }) => nests[0]!.outputV) / Math.hypot(2.2e-4 * 4.5, 2e-4)).toBeCloseTo(1, 1);
    // The supply is averaged over the 20 samples of a block: its noise shows between blocks.
    const supplies = Float64Array.from(blocks, ({ nests }) => nests[0]!.supplyV);
    expect((scatterOf(supplies) * Math.sqrt(20)) / 2e-4).toBeCloseTo(1, 0);
    for (const kPa of blocks[0]!.nests[0]!.referenceKpaAbs)
      expect(Math.abs(kPa * 1000 - Math.round(kPa * 1000))).toBeLessThan(1e-6);
  });

  test('a drawn rig errs by as much as its truth says', async () => {
    const truth = drawRig(8, { nests: 2 });
    const rig = new SimulatedRig(truth);
    const blocks: SampleBlock[] = [];
    for (let k = 0; k < 100; k++) blocks.push(await pass(rig, 20));
    const mean = (of: (block: SampleBlock) => number): number =>
      blocks.reduce((sum, block) => sum + of(block), 0) / blocks.length;
    const ambient = truth.ambientPa;
    truth.nests.forEach((nest, n) => {
      const kPa = mean(({ nests }) => meanOf(nests[n]!.referenceKpaAbs));
      expect(kPa).toBeCloseTo((ambient + nest.referenceOffsetPa) / 1000, 2);
      expect(mean(({ nests }) => nests[n]!.partC)).toBeCloseTo(truth.roomK - 273.15 + nest.thermometerOffsetK, 1);
    });
    const controller = mean(({ controllerKpaAbs }) => meanOf(controllerKpaAbs));
    expect(controller).toBeCloseTo((ambient + truth.controllerOffsetPa) / 1000, 2);
    expect(mean(({ barometerKpaAbs }) => barometerKpaAbs)).toBeCloseTo((ambient + truth.barometerOffsetPa) / 1000, 2);
  });

  test('an output comes up within 20 ms of its supply', async () => {
    const rig = await poweredRig();
    await rig.supply(0, 0, never);
    await pass(rig, 100);
    expect(meansOf(await pass(rig, 20)).output[0]).toBeCloseTo(0, 2);
    await rig.supply(0, 5, never);
    const { outputV } = (await pass(rig, 20)).nests[0]!;
    expect(outputV[0]!).toBeLessThan(0.1);
    expect(outputV[19]! / meansOf(await pass(rig, 20)).output[0]!).toBeGreaterThan(0.98);
  });

  test('an output sampled late after its reference shows the skew while pressure moves, and only then', async () => {
    const nest = { ...defaultRig({ nests: 2 }).nests[0]!, skewMs: 0.5 };
    const rig = await poweredRig({ truth: { nests: [nest, defaultRig({ nests: 2 }).nests[0]!] } });
    const difference = (block: SampleBlock): number =>
      (meanOf(block.nests[0]!.outputV) - meanOf(block.nests[1]!.outputV)) / 5 / 0.009;
    expect(difference(await pass(rig, 20))).toBeCloseTo(0, 1);
    await rig.setPressure(40, never);
    const block = await pass(rig, 20);
    const { referenceKpaAbs } = block.nests[0]!;
    const perMs = (referenceKpaAbs[19]! - referenceKpaAbs[0]!) / 19;
    expect(perMs).toBeLessThan(-0.1);
    expect(difference(block) / (-0.5 * perMs)).toBeCloseTo(1, 0);
  });

  test('a regulated part gives its volts whatever the supply', async () => {
    const rig = await poweredRig({ model: regulated, parts: [middlePart(regulated), middlePart(regulated)] });
    await rig.supply(1, 11, never);
    const { output, supply } = await held(rig, 150);
    expect(supply[0]).toBeCloseTo(12, 2);
    expect(supply[1]).toBeCloseTo(11, 2);
    for (const volts of output) expect(volts).toBeCloseTo(1 + 0.0175 * 150, 2);
  });
});

describe('temperatures', () => {
  test('gas shut in at -40 °C loses pressure as it cools', async () => {
    const rig = new SimulatedRig(defaultRig({ nests: 1, chamber: true }));
    // A small part, so that the soak is over when the air has arrived.
    rig.loadParts([{ ...middlePart(oneBar), shellTauS: 3, coreTauS: 10 }]);
    await rig.setChamber(-40, never);
    await pass(rig, 23 * 60_000);
    const soaked = await pass(rig, 20);
    expect(soaked.chamberC).toBeCloseTo(-40, 0);
    expect(soaked.nests[0]!.partC).toBeCloseTo(-40, 0);
    await clamped(rig);
    await rig.setPressure(150, never);
    await pass(rig, 200);
    await rig.isolate(0, true, never);
    const before = {
      kPa: meanOf((await pass(rig, 20)).nests[0]!.referenceKpaAbs),
      kelvin: rig.inside.gasC[0]! + 273.15,
    };
    const after = {
      kPa: meanOf((await pass(rig, 10_000)).nests[0]!.referenceKpaAbs),
      kelvin: rig.inside.gasC[0]! + 273.15,
    };
    expect(before.kelvin).toBeGreaterThan(250);
    expect(after.kelvin).toBeCloseTo(233.15, 0);
    // Gay-Lussac: at constant volume and mass, pressure goes with temperature.
    expect(after.kPa / before.kPa).toBeCloseTo(after.kelvin / before.kelvin, 2);
  });

  test('an opened guard takes the heat off the chamber', async () => {
    const rig = new SimulatedRig(defaultRig({ nests: 1, chamber: true }));
    await rig.setChamber(125, never);
    expect((await pass(rig, 5 * 60_000)).chamberC).toBeCloseTo(38, 0);
    rig.strike({ where: {}, what: 'guard-open', size: 0 });
    rig.mend();
    await rig.rearm(never);
    expect((await pass(rig, 2 * 60_000)).chamberC).toBeCloseTo(32, 0);
  });
});
