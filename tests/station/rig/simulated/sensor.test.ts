import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { circuitOf } from '../../../../station/rig/simulated/circuit.ts';
import { lagged } from '../../../../station/rig/simulated/lag.ts';
import { drawPart, middlePart } from '../../../../station/rig/simulated/part.ts';
import type { PartModel, PartTruth } from '../../../../station/rig/simulated/part.ts';
import { characteristicOf, loaded, Membrane, PLAY, trueErrorKpa } from '../../../../station/rig/simulated/sensor.ts';
import { checkCase, inputsOf, named } from '../../../reference/physics-cases.ts';
import { oneBar, regulated, threeBar } from '../../../support/parts.ts';

describe('first-order lag', () => {
  test.each(named('first_order_step'))('%s', (_name, given) => {
    const { tau_s: tau, y0, u } = inputsOf(given, 'tau_s', 'y0', 'u');
    checkCase(given, (_quantity, at) => lagged(y0, u, u, Math.exp(-at['t_s']! / tau), tau / at['t_s']!));
  });

  test.each(named('first_order_ramp'))('%s', (_name, given) => {
    const { tau_s: tau, y0, u0, rate_per_s: rate } = inputsOf(given, 'tau_s', 'y0', 'u0', 'rate_per_s');
    checkCase(given, (_quantity, at) => {
      const t = at['t_s']!;
      return lagged(y0, u0, u0 + rate * t, Math.exp(-t / tau), tau / t);
    });
  });

  test('is the same in one step or in a hundred, whatever the time constant', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 1e-4, max: 3, noNaN: true }),
        fc.double({ min: -9, max: 9, noNaN: true }),
        (tau, rate) => {
          let y = 1;
          for (let k = 0; k < 100; k++) y = lagged(y, rate * k, rate * (k + 1), Math.exp(-0.001 / tau), tau / 0.001);
          expect(y).toBeCloseTo(lagged(1, 0, 100 * rate, Math.exp(-0.1 / tau), tau / 0.1), 6);
        },
      ),
    );
  });
});

describe('characteristic, hysteresis and load', () => {
  test.each(named('sensor_static'))('%s', (_name, given) => {
    const i = inputsOf(given, 'a_per_kPa', 'b', 'pMin_kPa', 'pMax_kPa', 'clampLow', 'clampHigh', 'p_kPa', 'T_C');
    const e = inputsOf(given, 'dOffset', 'dSpan', 'tco1_per_K', 'tco2_per_K2', 'tcs1_per_K', 'tcs2_per_K2', 'nonlin');
    const model: PartModel = {
      ...oneBar,
      transfer: { kind: 'ratiometric', slopePerKpa: i.a_per_kPa, offsetRatio: i.b },
      ratedKpaAbs: { low: i.pMin_kPa, high: i.pMax_kPa },
      clamps: { low: i.clampLow, high: i.clampHigh },
    };
    const part: PartTruth = {
      ...middlePart(model),
      offsetKpa: e.dOffset / i.a_per_kPa,
      span: e.dSpan,
      bowKpa: e.nonlin / i.a_per_kPa,
      offsetKpaPerK: e.tco1_per_K / i.a_per_kPa,
      offsetKpaPerK2: e.tco2_per_K2 / i.a_per_kPa,
      spanPerK: e.tcs1_per_K,
      spanPerK2: e.tcs2_per_K2,
    };
    const { c0, c1, c2 } = characteristicOf(part, i.T_C);
    const ratio = c0 + c1 * i.p_kPa + c2 * i.p_kPa ** 2;
    const { low, high } = circuitOf(part, atNominal(model), i.T_C);
    checkCase(given, (name) => (name === 'ratio' ? Math.max(low, Math.min(high, ratio)) : ratio));
  });

  test.each(named('play_hysteresis'))('%s', (_name, given) => {
    const { radii_kPa, weights, pressures_kPa } = given.inputs as Record<string, number[]>;
    expect([PLAY.radiiKpa, PLAY.weights]).toEqual([radii_kPa, weights]);
    const membrane = new Membrane({ ...middlePart(oneBar), lagS: 0 }, pressures_kPa![0]!);
    const felt = new Float64Array(1);
    const shifts = pressures_kPa!.map((kPa, k) => {
      const before = pressures_kPa![Math.max(0, k - 1)]!;
      // The first millisecond takes the port to the pressure, the second reads it there.
      membrane.feel(Float64Array.of(before * 1000, kPa * 1000), 0, 1, 0, felt);
      membrane.feel(Float64Array.of(kPa * 1000, kPa * 1000), 0, 1, 0, felt);
      return felt[0]! - kPa;
    });
    checkCase(given, (_quantity, at) => shifts[at['index']!]!);
  });

  test.each(named('output_divider'))('%s', (_name, given) => {
    const i = inputsOf(given, 'Vs_V', 'ratio', 'Rout_ohm', 'Rload_ohm', 'Rcontact_ohm');
    const topology = String(given.inputs['topology']);
    const load = { ohm: i.Rload_ohm, to: topology.endsWith('pullup') ? ('supply' as const) : ('ground' as const) };
    checkCase(given, () => {
      if (!topology.startsWith('open')) return loaded(i.Vs_V * i.ratio, i.Rout_ohm + i.Rcontact_ohm, load, i.Vs_V);
      const part: PartTruth = { ...middlePart(oneBar), wiring: 'output-open' };
      return circuitOf(part, { supplyV: i.Vs_V, touching: true, contactOhm: 0, load }, 23).shift;
    });
  });

  test.each([
    { name: '1 bar, ratiometric, pull-down', model: oneBar },
    { name: '3 bar, ratiometric, pull-up', model: threeBar },
    { name: 'regulated from 12 V', model: regulated },
  ])('a middle part gives its characteristic at its own load: $name', ({ model }) => {
    fc.assert(
      fc.property(
        fc.double({ min: 0, max: 1, noNaN: true }),
        fc.double({ min: 0.97, max: 1.03, noNaN: true }),
        (x, supply) => {
          const kPa = model.ratedKpaAbs.low + x * (model.ratedKpaAbs.high - model.ratedKpaAbs.low);
          const supplyV = model.nominalV * supply;
          const expected =
            model.transfer.kind === 'ratiometric'
              ? supplyV * (model.transfer.slopePerKpa * kPa + model.transfer.offsetRatio)
              : model.transfer.slopeVPerKpa * kPa + model.transfer.offsetV;
          expect(voltsOf(middlePart(model), { ...atNominal(model), supplyV }, kPa)).toBeCloseTo(expected, 10);
        },
      ),
    );
  });

  test('a lighter load than its own makes a part read high, by the divider', () => {
    const part = middlePart(oneBar);
    const heavy = voltsOf(part, { ...atNominal(oneBar), load: { ohm: 10_000, to: 'ground' } }, 100);
    // 100 ohm on 10 kohm instead of 51 kohm: -0.79 % of the reading.
    expect(heavy / voltsOf(part, atNominal(oneBar), 100)).toBeCloseTo((10_000 / 10_100) * (51_100 / 51_000), 12);
  });

  test('the output stays between its clamps', () => {
    const part = middlePart(oneBar);
    expect(voltsOf(part, atNominal(oneBar), 150)).toBeCloseTo(4.9, 10);
    expect(voltsOf(part, atNominal(oneBar), 5)).toBeCloseTo(0.1, 10);
  });
});

describe('broken wiring', () => {
  const ground = { ohm: 51_000, to: 'ground' } as const;
  const supply = { ohm: 51_000, to: 'supply' } as const;
  const source = 'circuit theory';
  test.each([
    { wiring: 'output-open', load: ground, volts: 0, mA: 7, source },
    { wiring: 'output-open', load: supply, volts: 5, mA: 7, source },
    { wiring: 'supply-open', load: ground, volts: 0, mA: 0, source },
    { wiring: 'supply-open', load: supply, volts: 5, mA: 0, source },
    { wiring: 'ground-open', load: ground, volts: 5 * (51_000 / 51_100), mA: 0, source },
    { wiring: 'ground-open', load: supply, volts: 5, mA: 0, source },
    { wiring: 'output-short-to-ground', load: ground, volts: 0, mA: 7.5, source },
    { wiring: 'output-short-to-supply', load: supply, volts: 5, mA: 7.5, source },
  ] as const)(
    '$wiring with the load to $load.to gives $volts V and $mA mA ($source)',
    ({ wiring, load, volts, mA }) => {
      const contacts = { ...atNominal(oneBar), load };
      const circuit = circuitOf({ ...middlePart(oneBar), wiring }, contacts, 23);
      expect([circuit.gain, circuit.supplyMa]).toEqual([0, mA]);
      expect(circuit.shift).toBeCloseTo(volts, 12);
    },
  );

  test('without a part, without contact or without supply the output lies at the side of the load', () => {
    const part = middlePart(oneBar);
    expect(circuitOf(null, { ...atNominal(oneBar), load: supply }, 23).shift).toBe(5);
    expect(circuitOf(part, { ...atNominal(oneBar), touching: false }, 23)).toMatchObject({ shift: 0, supplyMa: 0 });
    expect(circuitOf(part, { ...atNominal(oneBar), supplyV: 0 }, 23)).toMatchObject({ gain: 0, shift: 0, supplyMa: 0 });
  });

  test('a stuck output stands at its fraction of the supply whatever the pressure', () => {
    for (const model of [oneBar, threeBar, regulated]) {
      const part = { ...middlePart(model), stuckAt: 0.4 };
      const volts = [20, 60, 100].map((kPa) => voltsOf(part, atNominal(model), kPa));
      expect(new Set(volts).size).toBe(1);
      expect(volts[0]).toBeCloseTo(0.4 * model.nominalV, 1);
    }
  });
});

describe('good parts as drawn', () => {
  test.each([
    { name: '1 bar', model: oneBar, at: [20, 40, 60, 80, 101] },
    { name: '3 bar', model: threeBar, at: [20, 101, 200, 300] },
    { name: 'regulated', model: regulated, at: [20, 101, 190] },
  ])('err by a third of the band or less, one standard deviation: $name', ({ model, at }) => {
    const parts = Array.from({ length: 2000 }, (_, index) => drawPart(1, index, model));
    for (const kPa of at) {
      const errors = parts.map((part) => trueErrorKpa(part, kPa, 23));
      const sd = Math.sqrt(errors.reduce((sum, error) => sum + error * error, 0) / errors.length);
      expect(model.errorBandKpa / sd).toBeGreaterThan(3);
      expect(model.errorBandKpa / sd).toBeLessThan(5);
    }
  });

  test('are the same parts for the same seed and index, and others otherwise', () => {
    expect(drawPart(1, 5, oneBar)).toEqual(drawPart(1, 5, oneBar));
    expect(drawPart(1, 5, oneBar)).not.toEqual(drawPart(1, 6, oneBar));
    expect(drawPart(1, 5, oneBar)).not.toEqual(drawPart(2, 5, oneBar));
  });
});

function atNominal(model: PartModel): Parameters<typeof circuitOf>[1] {
  return { supplyV: model.nominalV, touching: true, contactOhm: 0, load: model.load };
}

function voltsOf(part: PartTruth, contacts: Parameters<typeof circuitOf>[1], kPa: number): number {
  const { c0, c1, c2, low, high, gain, shift } = circuitOf(part, contacts, 23);
  return gain * Math.max(low, Math.min(high, c0 + c1 * kPa + c2 * kPa * kPa)) + shift;
}
