import { describe, expect, test } from 'vitest';
import { stdFlowFrom } from '../../../../station/units.ts';
import { middlePart } from '../../../../station/rig/simulated/part.ts';
import { PART_FAULTS, spoilPart, spoilParts } from '../../../../station/rig/simulated/part-fault.ts';
import type { PartFault, PartFaultKind } from '../../../../station/rig/simulated/part-fault.ts';
import type { SimulatedRig } from '../../../../station/rig/simulated/rig.ts';
import { oneBar, threeBar } from '../../../support/parts.ts';
import { pass } from '../../../support/rig-contract.ts';
import { held, meansOf, never, poweredRig, scatterOf } from '../../../support/rig-run.ts';

const near = (value: number, expected: number, within: number): void =>
  expect(Math.abs(value - expected)).toBeLessThanOrEqual(within);

/** The pressure that an output of a 1 bar part stands for, kPa. */
const kPaOf = (means: { output: readonly number[]; supply: readonly number[] }, nest: number): number =>
  (means.output[nest]! / means.supply[nest]! + 0.095) / 0.009;

/** Flow in std cm³/min between two pressures of a shut nest of 10 cm³ at 23 °C, referred to 150 kPa. */
async function leakOf(rig: SimulatedRig): Promise<number[]> {
  await held(rig, 150, 3000);
  for (const nest of [0, 1]) await rig.isolate(nest, true, never);
  const from = meansOf(await pass(rig, 5000)).reference;
  const to = meansOf(await pass(rig, 2000)).reference;
  return from.map((kPa, nest) => {
    const mean = (kPa + to[nest]!) / 2;
    const flow = stdFlowFrom((((kPa - to[nest]!) * 1000) / 2) * 10e-6, 23);
    return (flow * (150 ** 2 - 101.325 ** 2)) / (mean ** 2 - 101.325 ** 2);
  });
}

const stands = (volts: number, mA: number) => async (rig: SimulatedRig) => {
  const ambient = meansOf(await pass(rig, 20));
  const vacuum = await held(rig, 40);
  for (const means of [ambient, vacuum]) {
    near(means.output[0]!, volts, 0.02);
    near(means.mA[0]!, mA, 0.1);
    near(kPaOf(means, 1), means.reference[1]!, 0.1);
  }
};

interface Proof {
  readonly fault: PartFault;
  /** The faulty part is in nest 0, a middle part in nest 1. */
  readonly seen: (rig: SimulatedRig) => Promise<void>;
}

const nest0 = { nest: 0 };

const proofs: Record<PartFaultKind, Proof> = {
  leak: {
    fault: { where: nest0, what: 'leak', size: 2 },
    seen: async (rig) => {
      const [faulty, good] = await leakOf(rig);
      near(good!, 0, 0.05);
      near(faulty!, 2, 0.06);
    },
  },
  offset: {
    fault: { where: nest0, what: 'offset', size: -3 },
    seen: async (rig) => near(kPaOf(meansOf(await pass(rig, 20)), 0), 98.325, 0.05),
  },
  span: {
    fault: { where: nest0, what: 'span', size: 4 },
    seen: async (rig) => {
      near(kPaOf(meansOf(await pass(rig, 20)), 0), 1.04 * 101.325, 0.06);
      near(kPaOf(await held(rig, 40), 0), 1.04 * 40, 0.06);
    },
  },
  'span-drift': {
    // Nothing at 25 °C, and a hundredth of the pressure for each hundred kelvin away from it.
    fault: { where: nest0, what: 'span-drift', size: -1 },
    seen: async (rig) => near(kPaOf(meansOf(await pass(rig, 20)), 0), 101.325 * (1 + 0.0001 * 2), 0.06),
  },
  slow: {
    fault: { where: nest0, what: 'slow', size: 0.5 },
    seen: async (rig) => {
      const early = await held(rig, 40, 500);
      expect(kPaOf(early, 0)).toBeGreaterThan(50);
      near(kPaOf(early, 1), early.reference[1]!, 0.1);
      const late = await held(rig, 40, 4000);
      near(kPaOf(late, 0), late.reference[0]!, 0.1);
    },
  },
  noise: {
    fault: { where: nest0, what: 'noise', size: 0.02 },
    seen: async (rig) => {
      const scatter = async (): Promise<number[]> =>
        (await pass(rig, 20)).nests.map(({ outputV }) => scatterOf(outputV));
      let [noisy, quiet] = [0, 0];
      for (let k = 0; k < 20; k++) {
        const [first, second] = await scatter();
        noisy += first! / 20;
        quiet += second! / 20;
      }
      near(noisy, 0.02, 0.002);
      near(quiet, 0.001, 0.0002);
    },
  },
  stuck: { fault: { where: nest0, what: 'stuck', size: 0.5 }, seen: stands(2.5, 7.05) },
  current: {
    fault: { where: nest0, what: 'current', size: 18 },
    seen: async (rig) => {
      const means = meansOf(await pass(rig, 20));
      near(means.mA[0]!, 18.08, 0.05);
      near(kPaOf(means, 0), 101.325, 0.05);
    },
  },
  'output-open': { fault: { where: nest0, what: 'output-open', size: 0 }, seen: stands(0, 7) },
  'output-short-to-ground': { fault: { where: nest0, what: 'output-short-to-ground', size: 0 }, seen: stands(0, 7.5) },
  'output-short-to-supply': { fault: { where: nest0, what: 'output-short-to-supply', size: 0 }, seen: stands(5, 7.6) },
  'supply-open': { fault: { where: nest0, what: 'supply-open', size: 0 }, seen: stands(0, 0) },
  'ground-open': { fault: { where: nest0, what: 'ground-open', size: 0 }, seen: stands(4.99, 0.1) },
  'other-class': {
    fault: { where: nest0, what: 'other-class', model: threeBar },
    seen: async (rig) => near(meansOf(await pass(rig, 20)).output[0]!, 5 * (0.00318 * 101.325 - 0.00353), 0.05),
  },
  'no-part': {
    fault: { where: nest0, what: 'no-part', size: 0 },
    seen: async (rig) => {
      const means = meansOf(await pass(rig, 20));
      near(means.output[0]!, 0, 0.001);
      near(means.mA[0]!, 0, 0.05);
      // Nothing seals the nest: shut off, it is back at ambient at once, and its neighbour can be filled.
      await rig.isolate(0, true, never);
      const { reference } = await held(rig, 150);
      near(reference[0]!, 101.325, 0.05);
      near(reference[1]!, 150, 0.1);
    },
  },
};

describe('faults of simulated parts', () => {
  test.each(Object.entries(PART_FAULTS))('%s: %o', async (what) => {
    const { fault, seen } = proofs[what as PartFaultKind];
    expect(fault.what).toBe(what);
    const good = [middlePart(oneBar), middlePart(oneBar)];
    await seen(await poweredRig({ parts: spoilParts(good, [fault]) }));
  });

  test('a fault stays in its nest, and several can meet in one', () => {
    const good = [middlePart(oneBar), middlePart(oneBar)];
    const spoilt = spoilParts(good, [
      { where: { nest: 1 }, what: 'leak', size: 1 },
      { where: { nest: 1 }, what: 'offset', size: 2 },
    ]);
    expect(spoilt).toEqual([good[0], { ...good[1], leakStdCm3PerMin: 1, offsetKpa: 2 }]);
  });

  test('no part is no part, whatever else is said of it', () => {
    const good = middlePart(oneBar);
    expect(spoilPart(good, { where: nest0, what: 'no-part', size: 0 })).toBeNull();
    const both: PartFault[] = [
      { where: nest0, what: 'no-part', size: 0 },
      { where: nest0, what: 'leak', size: 1 },
    ];
    expect(spoilParts([good, null], both)).toEqual([null, null]);
  });

  test('a gross leak is a hole that the fill cannot overcome and that empties a nest within a second', async () => {
    const parts = spoilParts([middlePart(oneBar), middlePart(oneBar)], [{ where: nest0, what: 'leak', size: 500 }]);
    const rig = await poweredRig({ parts });
    const { reference } = await held(rig, 150);
    near(reference[1]!, 150, 1);
    await rig.isolate(0, true, never);
    near(meansOf(await pass(rig, 2000)).reference[0]!, 101.325, 0.5);
  });
});
