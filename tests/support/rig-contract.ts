import { describe, expect, test } from 'vitest';
import { StationFault } from '../../station/faults.ts';
import type { FaultCode } from '../../station/faults.ts';
import type { Rig, SampleBlock } from '../../station/rig/port.ts';

/** A rig with what a test must be able to do to it from outside: hands on the guard, the valves of the building. */
export interface RigUnderTest {
  readonly rig: Rig;
  /** Makes a wired input false, and true again. */
  break(input: WiredInput): void;
  restore(): void;
  /** Lets the reference of a nest stop answering. */
  silenceReference(nest: number): void;
}

export type WiredInput = 'guard' | 'stop chain' | 'air' | 'vacuum';

const TRIPS = [
  { input: 'guard', code: 'guard-open' },
  { input: 'stop chain', code: 'stop-chain-open' },
  { input: 'air', code: 'air-lost' },
  { input: 'vacuum', code: 'vacuum-lost' },
] as const satisfies readonly { input: WiredInput; code: FaultCode }[];

const never = new AbortController().signal;

/** Lets time pass with the dead-man renewed; gives the last block. */
export async function pass(rig: Rig, ms: number, stop: AbortSignal = never): Promise<SampleBlock> {
  let block: SampleBlock | null = null;
  for (let passed = 0; passed < ms; passed += 20) {
    rig.renewDeadMan();
    block = await rig.acquire(Math.min(20, ms - passed), stop);
  }
  if (block === null) throw new Error('no time passed');
  return block;
}

/** Clamps and waits until the rig says so. */
export async function clamped(rig: Rig): Promise<void> {
  await rig.clamp(never);
  for (let ms = 0; ms < 5000; ms += 20) {
    await pass(rig, 20);
    if ((await rig.interlocks(never)).clamped) return;
  }
  throw new Error('the clamps did not close within 5 s');
}

export const meanOf = (values: Float64Array): number => values.reduce((sum, value) => sum + value, 0) / values.length;

const nestKpa = (block: SampleBlock): number[] => block.nests.map(({ referenceKpaAbs }) => meanOf(referenceKpaAbs));

async function faultOf(promise: Promise<unknown>): Promise<StationFault> {
  const reason: unknown = await promise.then(
    () => new Error('it resolved'),
    (rejected: unknown) => rejected,
  );
  expect(reason).toBeInstanceOf(StationFault);
  return reason as StationFault;
}

/** Each waiting command of the port. */
const commands: Record<string, (rig: Rig, stop: AbortSignal) => Promise<unknown>> = {
  rearm: (rig, stop) => rig.rearm(stop),
  interlocks: (rig, stop) => rig.interlocks(stop),
  setPressure: (rig, stop) => rig.setPressure(120, stop),
  vent: (rig, stop) => rig.vent(stop),
  isolate: (rig, stop) => rig.isolate(0, true, stop),
  supply: (rig, stop) => rig.supply(0, 5, stop),
  connectLoad: (rig, stop) => rig.connectLoad(rig.abilities.loads[0]!, stop),
  clamp: (rig, stop) => rig.clamp(stop),
  release: (rig, stop) => rig.release(stop),
  setChamber: (rig, stop) => rig.setChamber(25, stop),
  acquire: (rig, stop) => rig.acquire(20, stop),
};

/** States that `safe` must work from; each leaves the rig in it. */
const states: Record<string, (under: RigUnderTest) => Promise<void>> = {
  fresh: async () => {},
  clamping: async ({ rig }) => {
    await rig.clamp(never);
    await pass(rig, 100);
  },
  'under pressure with supplies on': async ({ rig }) => {
    await clamped(rig);
    for (let n = 0; n < rig.abilities.nests; n++) await rig.supply(n, 5, never);
    await rig.setPressure(200, never);
    await pass(rig, 1000);
  },
  filling: async ({ rig }) => {
    await clamped(rig);
    await rig.setPressure(300, never);
    await pass(rig, 40);
  },
  'shut off under pressure': async ({ rig }) => {
    await clamped(rig);
    await rig.setPressure(200, never);
    await pass(rig, 1000);
    for (let n = 0; n < rig.abilities.nests; n++) await rig.isolate(n, true, never);
    await rig.setPressure(110, never);
    await pass(rig, 500);
  },
  'under vacuum': async ({ rig }) => {
    await clamped(rig);
    await rig.setPressure(20, never);
    await pass(rig, 1500);
  },
  'tripped under pressure': async (under) => {
    await clamped(under.rig);
    await under.rig.setPressure(200, never);
    await pass(under.rig, 1000);
    under.break('air');
  },
  'safe already': async ({ rig }) => {
    await rig.safe();
  },
};

/** The sentences of station/rig/port.ts, for every implementation. `makeRig` gives a fresh rig at rest, clamps open. */
export function describeRigContract(name: string, makeRig: (nests: number) => RigUnderTest): void {
  describe(`${name} keeps the rig's contract`, () => {
    describe.each([1, 2, 16])('with %i nests', (nests) => {
      test('samples come in blocks of all channels at the same instants, back to back', async () => {
        const { rig } = makeRig(nests);
        expect(rig.abilities.nests).toBe(nests);
        let nextMs: number | null = null;
        for (const forMs of [1, 7, 20, 20, 3]) {
          const block = await rig.acquire(forMs, never);
          expect(block.count).toBe((forMs * rig.abilities.sampleHz) / 1000);
          expect(block.nests).toHaveLength(nests);
          if (nextMs !== null) expect(block.fromMs).toBe(nextMs);
          nextMs = block.fromMs + forMs;
          const rows = block.nests.flatMap((nest) => [nest.referenceKpaAbs, nest.outputV]);
          for (const row of [block.controllerKpaAbs, ...rows]) {
            expect(row).toHaveLength(block.count);
            expect(row.every(Number.isFinite)).toBe(true);
          }
          const slow = block.nests.flatMap(({ supplyMa, partC }) => [supplyMa, partC]);
          const all = [block.barometerKpaAbs, block.roomC, block.chamberC, ...slow];
          expect(all.every(Number.isFinite)).toBe(true);
          expect(structuredClone(block)).toEqual(block);
        }
      });

      test('a pressure is accepted at once and reached in time, in every nest and at the controller', async () => {
        const { rig } = makeRig(nests);
        await clamped(rig);
        const before = nestKpa(await pass(rig, 20));
        for (const kPaAbs of [150, 80, 20]) {
          await rig.setPressure(kPaAbs, never);
          const after = await pass(rig, 2000);
          expect(meanOf(after.controllerKpaAbs)).toBeCloseTo(kPaAbs, 0);
          for (const kPa of nestKpa(after)) expect(Math.abs(kPa - kPaAbs)).toBeLessThan(0.5);
        }
        await rig.vent(never);
        await rig.vent(never);
        const vented = await pass(rig, 1500);
        nestKpa(vented).forEach((kPa, n) => expect(Math.abs(kPa - before[n]!)).toBeLessThan(0.3));
      });

      test('safe vents every nest and says so, and a second time is the same', async () => {
        const { rig } = makeRig(nests);
        await clamped(rig);
        await rig.setPressure(200, never);
        await pass(rig, 1500);
        for (let again = 0; again < 2; again++) {
          const state = await rig.safe();
          expect(state.vented).toBe(true);
          expect(state.nestKpaAbs).toHaveLength(nests);
        }
      });
    });

    test('time passes in acquire only', async () => {
      const { rig } = makeRig(2);
      await clamped(rig);
      const block = await pass(rig, 20);
      await rig.interlocks(never);
      await rig.setPressure(150, never);
      await rig.isolate(0, true, never);
      await rig.supply(1, 5, never);
      await rig.connectLoad(rig.abilities.loads[0]!, never);
      await rig.isolate(0, false, never);
      await rig.vent(never);
      rig.renewDeadMan();
      const next = await rig.acquire(1, never);
      expect(next.fromMs).toBe(block.fromMs + block.count);
      expect(Math.abs(nestKpa(next)[0]! - next.barometerKpaAbs)).toBeLessThan(0.2);
    });

    test('a block belongs to the caller and is not written again', async () => {
      const { rig } = makeRig(2);
      const block = await rig.acquire(20, never);
      const copy = structuredClone(block);
      await rig.clamp(never);
      await pass(rig, 1000);
      await rig.setPressure(150, never);
      await pass(rig, 500);
      expect(block).toEqual(copy);
    });

    test.each([0, 21, 1.5, -1, Number.NaN])('a block of %f ms is a mistake', async (forMs) => {
      const { rig } = makeRig(2);
      await expect(rig.acquire(forMs, never)).rejects.toThrow('broken premise');
    });

    test.each([-1, 2, 0.5])('nest %f of two is a mistake', async (nest) => {
      const { rig } = makeRig(2);
      await expect(rig.isolate(nest, true, never)).rejects.toThrow('broken premise');
      await expect(rig.supply(nest, 5, never)).rejects.toThrow('broken premise');
    });

    test.each(Object.keys(commands))('%s rejects with the reason of a stop that has been given', async (command) => {
      const { rig } = makeRig(2);
      const reason = new StationFault('operator-stop');
      await expect(commands[command]!(rig, AbortSignal.abort(reason))).rejects.toBe(reason);
    });

    test('a nest that is shut off keeps its gas while the manifold goes elsewhere', async () => {
      const { rig } = makeRig(2);
      await clamped(rig);
      await rig.setPressure(150, never);
      await pass(rig, 1500);
      await rig.isolate(0, true, never);
      await rig.isolate(0, true, never);
      await rig.setPressure(60, never);
      const [shut, open] = nestKpa(await pass(rig, 2000));
      expect(shut).toBeGreaterThan(130);
      expect(Math.abs(open! - 60)).toBeLessThan(0.5);
      await rig.isolate(0, false, never);
      const [joined] = nestKpa(await pass(rig, 2000));
      expect(Math.abs(joined! - 60)).toBeLessThan(0.5);
    });

    test('a supply is near what was set, in that nest only, and 0 takes it off', async () => {
      const { rig } = makeRig(2);
      await clamped(rig);
      await rig.supply(1, 5, never);
      const [off, on] = (await pass(rig, 40)).nests.map(({ supplyV }) => supplyV);
      expect(Math.abs(off!)).toBeLessThan(0.01);
      expect(Math.abs(on! - 5)).toBeLessThan(0.1);
      await rig.supply(1, 0, never);
      expect(Math.abs((await pass(rig, 40)).nests[1]!.supplyV)).toBeLessThan(0.01);
    });

    test('what the rig cannot do is refused as not testable', async () => {
      const { rig } = makeRig(2);
      const { low, high } = rig.abilities.pressureKpaAbs;
      expect(await faultOf(rig.setPressure(low - 1, never))).toMatchObject({ code: 'not-testable' });
      expect(await faultOf(rig.setPressure(high + 1, never))).toMatchObject({ code: 'not-testable' });
      expect(await faultOf(rig.setPressure(Number.NaN, never))).toMatchObject({ code: 'not-testable' });
      expect(await faultOf(rig.connectLoad({ ohm: 1, to: 'ground' }, never))).toMatchObject({ code: 'not-testable' });
      if (!rig.abilities.chamber) {
        expect(await faultOf(rig.setChamber(25, never))).toMatchObject({ code: 'not-testable' });
      }
    });

    test('the clamps open again only with the guard shut and every nest measured at ambient', async () => {
      const under = makeRig(2);
      const { rig } = under;
      await clamped(rig);
      await rig.setPressure(150, never);
      await pass(rig, 1000);
      expect(await faultOf(rig.release(never))).toMatchObject({ code: 'release-refused' });
      await rig.isolate(0, true, never);
      await rig.vent(never);
      await pass(rig, 1000);
      expect(await faultOf(rig.release(never))).toMatchObject({ code: 'release-refused' });
      expect((await rig.interlocks(never)).clamped).toBe(true);
      await rig.isolate(0, false, never);
      await pass(rig, 1500);
      under.break('guard');
      expect(await faultOf(rig.release(never))).toMatchObject({ code: 'release-refused' });
      under.restore();
      await pass(rig, 20);
      await rig.release(never);
      expect((await rig.interlocks(never)).clamped).toBe(false);
    });

    test.each(TRIPS)('without $input the rig trips with $code until it is put right', async ({ input, code }) => {
      const under = makeRig(2);
      const { rig } = under;
      await clamped(rig);
      await rig.setPressure(150, never);
      await rig.supply(0, 5, never);
      await pass(rig, 500);
      const { trip } = rig;
      const stop = AbortSignal.any([trip, never]);
      under.break(input);
      const reason: unknown = await pass(rig, 500, stop).catch((rejected: unknown) => rejected);
      expect(reason).toBe(trip.reason);
      expect(reason).toBeInstanceOf(StationFault);
      expect(reason).toMatchObject({ code });

      // It still measures, vents, opens and takes off; it does not energise.
      await pass(rig, 20);
      await rig.vent(never);
      await rig.isolate(0, false, never);
      await rig.supply(0, 0, never);
      for (const energising of ['setPressure', 'isolate', 'supply', 'clamp', 'setChamber']) {
        await expect(commands[energising]!(rig, never)).rejects.toBe(reason);
      }
      expect(await faultOf(rig.rearm(never))).toMatchObject({ code });
      expect(rig.trip.aborted).toBe(true);
      under.restore();
      await pass(rig, 20);
      expect(rig.trip).toBe(trip);
      await rig.rearm(never);
      expect(rig.trip.aborted).toBe(false);
      expect(trip.aborted).toBe(true);
      await rig.setPressure(150, never);
      expect(Math.abs(nestKpa(await pass(rig, 2000))[0]! - 150)).toBeLessThan(0.5);
    });

    test('rearm leaves a rig alone that has not tripped', async () => {
      const { rig } = makeRig(2);
      const { trip } = rig;
      await rig.rearm(never);
      expect(rig.trip).toBe(trip);
    });

    test('a rig under pressure that is left alone vents itself and trips', async () => {
      const { rig } = makeRig(2);
      await clamped(rig);
      await rig.setPressure(150, never);
      await rig.supply(0, 5, never);
      await pass(rig, 500);
      let alone = 0;
      for (; !rig.trip.aborted && alone < 2000; alone += 10) await rig.acquire(10, never);
      expect(rig.trip.reason).toMatchObject({ code: 'dead-man' });
      expect(alone).toBeGreaterThanOrEqual(rig.abilities.deadManMs - 20);
      expect(alone).toBeLessThanOrEqual(rig.abilities.deadManMs + 50);
      let block = await rig.acquire(20, never);
      for (let ms = 0; ms < 1500; ms += 20) block = await rig.acquire(20, never);
      for (const kPa of nestKpa(block)) expect(Math.abs(kPa - block.barometerKpaAbs)).toBeLessThan(0.5);
      expect(Math.abs(block.nests[0]!.supplyV)).toBeLessThan(0.01);
      await rig.rearm(never);
      expect(rig.trip.aborted).toBe(false);
    });

    test('a rig at rest may be left alone', async () => {
      const { rig } = makeRig(2);
      for (let ms = 0; ms < 1000; ms += 20) await rig.acquire(20, never);
      expect(rig.trip.aborted).toBe(false);
    });

    test.each(Object.keys(states))('safe works from the state: %s', async (state) => {
      const under = makeRig(2);
      const { rig } = under;
      await states[state]!(under);
      const wasClamped = (await rig.interlocks(never)).clamped;
      const fromMs = (await rig.acquire(1, never)).fromMs;
      const reached = await rig.safe();
      const block = await rig.acquire(1, never);
      expect(reached.vented).toBe(true);
      for (const kPa of reached.nestKpaAbs) expect(Math.abs(kPa! - block.barometerKpaAbs)).toBeLessThan(2);
      for (const { supplyV } of block.nests) expect(Math.abs(supplyV)).toBeLessThan(0.01);
      expect(block.fromMs - fromMs).toBeLessThanOrEqual(rig.abilities.safeMs + 21);
      expect((await rig.interlocks(never)).clamped).toBe(wasClamped);
    });

    test('a reference that does not answer is a fault of its nest; safe still vents and does not claim it', async () => {
      const under = makeRig(2);
      const { rig } = under;
      await clamped(rig);
      await rig.setPressure(150, never);
      await pass(rig, 500);
      under.silenceReference(1);
      const fault = await faultOf(rig.acquire(20, never));
      expect(fault).toMatchObject({ code: 'instrument-silent', nest: 1, facts: { instrument: 'reference' } });
      const state = await rig.safe();
      expect(state).toMatchObject({ vented: false, nestKpaAbs: [expect.any(Number), null] });
      expect(await faultOf(rig.release(never))).toMatchObject({ code: 'release-refused' });
    });
  });
}
