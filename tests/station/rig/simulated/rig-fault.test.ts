import { describe, expect, test } from 'vitest';
import type { FaultCode } from '../../../../station/faults.ts';
import { RIG_FAULTS } from '../../../../station/rig/simulated/rig-fault.ts';
import type { RigFaultKind } from '../../../../station/rig/simulated/rig-fault.ts';
import type { SimulatedRig } from '../../../../station/rig/simulated/rig.ts';
import { clamped, pass } from '../../../support/rig-contract.ts';
import { held, meansOf, never, poweredRig } from '../../../support/rig-run.ts';

const near = (value: number, expected: number, within: number): void =>
  expect(Math.abs(value - expected)).toBeLessThanOrEqual(within);

const strike = (rig: SimulatedRig, what: RigFaultKind, size = 0, nest?: number): void =>
  rig.strike({ where: nest === undefined ? {} : { nest }, what, size });

const trips = (code: FaultCode) => async (rig: SimulatedRig, what: RigFaultKind) => {
  strike(rig, what);
  expect(rig.trip.reason).toMatchObject({ code });
};

const isSilent = (instrument: string, nest?: number) => async (rig: SimulatedRig, what: RigFaultKind) => {
  strike(rig, what, 0, nest);
  await expect(rig.acquire(20, never)).rejects.toMatchObject({
    code: 'instrument-silent',
    nest: nest ?? null,
    facts: { instrument },
  });
};

/** One proof a fault: a rig at ambient with supplies on, and what must be seen of the fault. */
const proofs: Record<RigFaultKind, (rig: SimulatedRig, what: RigFaultKind) => Promise<void>> = {
  'guard-open': trips('guard-open'),
  'stop-chain-open': trips('stop-chain-open'),
  'air-lost': async (rig, what) => {
    await held(rig, 150);
    await trips('air-lost')(rig, what);
    // Nothing flows back into the supply: the rig keeps its pressure until somebody vents it.
    near(meansOf(await pass(rig, 200)).reference[0]!, 150, 1);
  },
  'vacuum-lost': trips('vacuum-lost'),
  'clamp-jammed': async (rig, what) => {
    await rig.safe();
    await rig.release(never);
    strike(rig, what);
    await rig.clamp(never);
    await pass(rig, 5000);
    expect((await rig.interlocks(never)).clamped).toBe(false);
  },
  'supply-lost': async (rig, what) => {
    strike(rig, what, 0, 1);
    const { supply, mA, output } = meansOf(await pass(rig, 20));
    near(supply[0]!, 5, 0.001);
    near(supply[1]!, 0, 0.001);
    near(mA[1]!, 0, 0.05);
    near(output[1]!, 0, 0.001);
    strike(rig, what);
    near(meansOf(await pass(rig, 20)).supply[0]!, 0, 0.001);
  },
  'supply-readback-offset': async (rig, what) => {
    const before = meansOf(await pass(rig, 20));
    strike(rig, what, 0.2, 0);
    const { supply, output } = meansOf(await pass(rig, 20));
    near(supply[0]!, 5.2, 0.001);
    near(supply[1]!, 5, 0.001);
    near(output[0]!, before.output[0]!, 0.002);
  },
  'reference-silent': isSilent('reference', 1),
  'reference-stuck': async (rig, what) => {
    strike(rig, what, 0, 0);
    const stuckAt = meansOf(await pass(rig, 20)).reference[0]!;
    near(stuckAt, 101.325, 0.03);
    const { reference } = await held(rig, 150);
    expect(reference[0]).toBe(stuckAt);
    near(reference[1]!, 150, 0.1);
  },
  'reference-drift': async (rig, what) => {
    strike(rig, what, 500, 0);
    const { reference } = meansOf(await pass(rig, 2000));
    near(reference[0]! - reference[1]!, 1, 0.02);
  },
  'reference-offset': async (rig, what) => {
    strike(rig, what, -0.8, 0);
    const { reference } = meansOf(await pass(rig, 20));
    near(reference[0]! - reference[1]!, -0.8, 0.01);
  },
  'controller-silent': async (rig, what) => {
    await isSilent('controller')(rig, what);
    await expect(rig.setPressure(120, never)).rejects.toMatchObject({ code: 'instrument-silent' });
    await expect(rig.vent(never)).rejects.toMatchObject({ code: 'instrument-silent' });
  },
  'controller-stuck': async (rig, what) => {
    strike(rig, what);
    await rig.setPressure(150, never);
    // Blind to what it does, it fills until the pressure switch vents the rig.
    await pass(rig, 3000);
    expect(rig.trip.reason).toMatchObject({ code: 'over-pressure' });
  },
  'controller-drift': async (rig, what) => {
    strike(rig, what, -500);
    const { controller, reference } = await held(rig, 120, 2000);
    near(controller, 120, 0.1);
    near(reference[0]!, 121, 0.1);
  },
  'controller-offset': async (rig, what) => {
    strike(rig, what, 2);
    const { controller, reference } = await held(rig, 150);
    near(controller, 150, 0.1);
    near(reference[0]!, 148, 0.1);
  },
  'barometer-silent': isSilent('barometer'),
  'barometer-offset': async (rig, what) => {
    strike(rig, what, 1.5);
    near(meansOf(await pass(rig, 20)).barometer, 102.825, 0.02);
  },
  'output-silent': isSilent('output', 0),
  'output-stuck': async (rig, what) => {
    const before = meansOf(await pass(rig, 20)).output;
    strike(rig, what, 0, 0);
    const { output } = await held(rig, 60);
    near(output[0]!, before[0]!, 0.01);
    near(output[1]!, 5 * (0.009 * 60 - 0.095), 0.01);
  },
  'output-offset': async (rig, what) => {
    strike(rig, what, 0.05, 0);
    const { output } = meansOf(await pass(rig, 20));
    near(output[0]! - output[1]!, 0.05, 0.001);
  },
  'output-drift': async (rig, what) => {
    strike(rig, what, 0.02, 0);
    const { output } = meansOf(await pass(rig, 2000));
    near(output[0]! - output[1]!, 0.04, 0.001);
  },
  'isolation-stuck-open': async (rig, what) => {
    await held(rig, 150);
    await rig.isolate(0, true, never);
    await rig.isolate(1, true, never);
    strike(rig, what, 0, 0);
    const { reference } = await held(rig, 60);
    near(reference[0]!, 60, 0.5);
    expect(reference[1]).toBeGreaterThan(130);
  },
  'isolation-stuck-shut': async (rig, what) => {
    strike(rig, what, 0, 0);
    await rig.isolate(0, false, never);
    const { reference } = await held(rig, 150);
    near(reference[0]!, 101.325, 1);
    near(reference[1]!, 150, 0.5);
  },
  'isolation-silent': async (rig, what) => {
    await held(rig, 150);
    await rig.isolate(0, true, never);
    strike(rig, what, 0, 0);
    await expect(rig.isolate(0, false, never)).rejects.toMatchObject({ code: 'valve-no-answer', nest: 0 });
    await rig.isolate(1, true, never);
    expect(await rig.safe()).toMatchObject({ vented: false });
    expect(rig.inside.valveOpen).toEqual([false, true]);
  },
  'supply-valve-stuck-open': async (rig, what) => {
    await held(rig, 150);
    for (const nest of [0, 1]) await rig.isolate(nest, true, never);
    strike(rig, what);
    // The controller lets air out but cannot hold its pressure; vented, the exhaust leaves the rig above ambient.
    expect((await held(rig, 150)).controller).toBeGreaterThan(170);
    expect(await rig.safe()).toMatchObject({ vented: false });
    expect(rig.inside.manifoldKpaAbs).toBeGreaterThan(105);
  },
  'exhaust-stuck-shut': async (rig, what) => {
    await held(rig, 150);
    strike(rig, what);
    const state = await rig.safe();
    expect(state.vented).toBe(false);
    expect(state.nestKpaAbs[0]).toBeGreaterThan(140);
    await expect(rig.release(never)).rejects.toMatchObject({ code: 'release-refused' });
  },
  'inlet-blocked': async (rig, what) => {
    strike(rig, what);
    near((await held(rig, 150)).reference[0]!, 101.325, 0.5);
    near((await held(rig, 60)).reference[0]!, 60, 0.5);
  },
  'vacuum-valve-stuck-shut': async (rig, what) => {
    strike(rig, what);
    near((await held(rig, 60)).reference[0]!, 101.325, 0.5);
    near((await held(rig, 150)).reference[0]!, 150, 0.5);
  },
};

describe('faults of the simulated rig', () => {
  test.each(Object.entries(RIG_FAULTS))('%s: %o', async (what) => {
    const rig = await poweredRig();
    await proofs[what as RigFaultKind](rig, what as RigFaultKind);
    rig.mend();
    await rig.safe();
    await rig.rearm(never);
    await rig.release(never);
    await pass(rig, 20);
    rig.loadParts([]);
    await clamped(rig);
  });

  test('a fault strikes when its time has come, not before', async () => {
    const rig = await poweredRig();
    rig.strike({ where: { nest: 0 }, what: 'reference-offset', size: 5 }, 100);
    near(meansOf(await pass(rig, 100)).reference[0]!, 101.325, 0.05);
    near(meansOf(await pass(rig, 20)).reference[0]!, 106.325, 0.05);
  });

  test('two faults due together both strike', async () => {
    const rig = await poweredRig();
    rig.strike({ where: { nest: 0 }, what: 'reference-offset', size: 5 }, 40);
    rig.strike({ where: {}, what: 'guard-open', size: 0 }, 40);
    await pass(rig, 60);
    expect(rig.trip.reason).toMatchObject({ code: 'guard-open' });
    near(meansOf(await pass(rig, 20)).reference[0]!, 106.325, 0.05);
  });

  test('a fault without a nest strikes every nest', async () => {
    const rig = await poweredRig();
    strike(rig, 'output-offset', 0.1);
    const { output } = meansOf(await pass(rig, 20));
    for (const volts of output) near(volts, 5 * (0.009 * 101.325 - 0.095) + 0.1, 0.002);
  });

  test('too much pressure in the manifold vents the rig within milliseconds, before the program knows', async () => {
    const rig = await poweredRig({ truth: { overPressurePa: 200e3 } });
    await rig.setPressure(250, never);
    let highest = 0;
    while (!rig.trip.aborted) {
      await pass(rig, 20);
      highest = Math.max(highest, ...rig.inside.nestKpaAbs, rig.inside.manifoldKpaAbs);
    }
    expect(rig.trip.reason).toMatchObject({ code: 'over-pressure' });
    expect(highest).toBeLessThan(206);
    const { reference } = meansOf(await pass(rig, 1500));
    for (const kPa of reference) near(kPa, 101.325, 0.5);
    await rig.rearm(never);
    expect(rig.trip.aborted).toBe(false);
  });

  test('an opened guard stops clamps on their way', async () => {
    const rig = await poweredRig();
    await rig.safe();
    await rig.release(never);
    await pass(rig, 1000);
    await rig.clamp(never);
    await pass(rig, 300);
    strike(rig, 'guard-open');
    await pass(rig, 1000);
    rig.mend();
    expect((await rig.interlocks(never)).clamped).toBe(false);
    await rig.rearm(never);
    await clamped(rig);
  });
});
