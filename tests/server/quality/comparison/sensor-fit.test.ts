import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { sensorFit } from '../../../../server/quality/comparison/sensor-fit.ts';
import type { SensorFit } from '../../../../server/quality/comparison/sensor-fit.ts';
import type { SweepCycle, SweepReading, TransferFunction } from '../../../../server/quality/comparison/sensor-sweep.ts';
import { refusal } from '../../../support/quality-refusal.ts';

const IDEAL: TransferFunction = { vsNominalV: 5, a: 0.009, b: -0.095 };
const reading = (pressureKpa: number, outputV: number, supplyV?: number): SweepReading => ({
  pressureKpa,
  outputV,
  supplyV,
});
const ideal = (p: number): number => IDEAL.vsNominalV * (IDEAL.a * p + IDEAL.b);
const sweep = (pressures: number[], v: (p: number) => number): SweepReading[] => pressures.map((p) => reading(p, v(p)));
const cycle = (up: SweepReading[], down: SweepReading[] = []): SweepCycle => ({ up, down });
const PRESSURES = [15, 40, 65, 90, 115];

/** NIST StRD, linear regression, data set Norris (x, y; from memory): ozone monitors against a reference. */
const NORRIS: readonly (readonly [number, number])[] = [
  ...([
    [0.2, 0.1],
    [337.4, 338.8],
    [118.2, 118.1],
    [884.6, 888],
    [10.1, 9.2],
    [226.5, 228.1],
  ] as const),
  ...([
    [666.3, 668.5],
    [996.3, 998.5],
    [448.6, 449.1],
    [777, 778.9],
    [558.2, 559.2],
    [0.4, 0.3],
  ] as const),
  ...([
    [0.6, 0.1],
    [775.5, 778.1],
    [666.9, 668.8],
    [338, 339.3],
    [447.5, 448.9],
    [11.6, 10.8],
  ] as const),
  ...([
    [556, 557.7],
    [228.1, 228.3],
    [995.8, 998],
    [887.6, 888.8],
    [120.2, 119.6],
    [0.3, 0.3],
  ] as const),
  ...([
    [0.3, 0.6],
    [556.8, 557.6],
    [339.1, 339.3],
    [887.2, 888],
    [999, 998.5],
    [779, 778.9],
  ] as const),
  ...([
    [11.1, 10.2],
    [118.3, 117.6],
    [229.2, 228.9],
    [669.1, 668.4],
    [448.9, 449.2],
    [0.5, 0.2],
  ] as const),
];

describe('best-fit line', () => {
  test('NIST StRD Norris: certified slope, intercept and residual standard deviation', () => {
    const { bestFit } = sensorFit(IDEAL, [cycle(NORRIS.map(([p, v]) => reading(p, v)))]);
    expect(Math.abs(bestFit.slopeVPerKpa / 1.00211681802045 - 1)).toBeLessThan(1e-13);
    expect(Math.abs(bestFit.interceptV / -0.262323073774029 - 1)).toBeLessThan(1e-12);
    expect(Math.abs(bestFit.residualSdV! / 0.884796396144373 - 1)).toBeLessThan(1e-12);
  });
});

describe('sensors with one known fault', () => {
  test('a bow of h at three equal steps: terminal deviation h, best fit -h/3, 2h/3, -h/3 (least squares by hand)', () => {
    const h = 0.03;
    const fit = sensorFit(IDEAL, [cycle(sweep([0, 50, 100], (p) => ideal(p) + (p === 50 ? h : 0)))]);
    const fs = 4.5;
    expect(fit.fullScaleOutputV).toBeCloseTo(fs, 12);
    expect(fit.linearityTerminal.signedPercentFs).toBeCloseTo((100 * h) / fs, 10);
    expect(fit.linearityBestFit.deviationV.map((each) => each.toFixed(12))).toEqual([
      '-0.010000000000',
      '0.020000000000',
      '-0.010000000000',
    ]);
    expect(fit.linearityBestFit.maxAbsPercentFs).toBeCloseTo((100 * 0.02) / fs, 10);
    expect(fit.linearityTerminal.deviationV[0]).toBe(0);
    expect(fit.linearityTerminal.deviationV[2]).toBe(0);
  });

  test('an offset and a span error are no fault of straightness, and all of the total error band', () => {
    const fit = sensorFit(IDEAL, [cycle(sweep(PRESSURES, (p) => ideal(p + 0.2 + 0.01 * p)))]);
    expect(fit.linearityBestFit.maxAbsPercentFs).toBeLessThan(1e-12);
    expect(fit.linearityTerminal.maxAbsPercentFs).toBeLessThan(1e-12);
    expect(fit.totalErrorBand.minKpa).toBeCloseTo(0.2 + 0.15, 10);
    expect(fit.totalErrorBand.maxAbsKpa).toBeCloseTo(0.2 + 1.15, 10);
    expect(fit.totalErrorBand.meanKpa).toBeCloseTo(0.2 + 0.65, 10);
  });

  test('pressures that never repeat to the last digit: near ones are one point, and the output is brought there', () => {
    const off = (p: number, by: number, shift: number): SweepReading => reading(p + by, ideal(p + by) + shift);
    const up = PRESSURES.map((p, i) => off(p, 0.01 * (i - 2), 0.001));
    const down = PRESSURES.map((p, i) => off(p, -0.012 * (i - 2), -0.001));
    const { curve, hysteresis, totalErrorBand } = sensorFit(IDEAL, [cycle(up, down)], 0.1);
    expect(curve.pressuresKpa).toHaveLength(5);
    for (const volt of hysteresis?.upMinusDownV ?? []) expect(volt).toBeCloseTo(0.002, 12);
    expect(totalErrorBand.maxAbsKpa).toBeCloseTo(0.001 / (5 * 0.009), 12);
    expect(sensorFit(IDEAL, [cycle(up, down)]).hysteresis?.pressuresKpa).toEqual([65]);
    expect(refusal(() => sensorFit(IDEAL, [cycle(up, down)], -1))).toMatchObject({ code: 'out-of-range' });
  });

  test('a lag of 2 mV between up and down is hysteresis only', () => {
    const fit = sensorFit(IDEAL, [
      cycle(
        sweep(PRESSURES, (p) => ideal(p) - 0.001),
        sweep([...PRESSURES].reverse(), (p) => ideal(p) + 0.001),
      ),
    ]);
    for (const each of fit.hysteresis!.upMinusDownV) expect(each).toBeCloseTo(-0.002, 12);
    expect(fit.hysteresis!.maxAbsPercentFs).toBeCloseTo(0.2 / 4.5, 10);
    expect(fit.linearityBestFit.maxAbsPercentFs).toBeLessThan(1e-12);
  });

  test('cycles that differ by 1 mV each: range 2 mV, sd 1 mV, no hysteresis', () => {
    const cycles = [-0.001, 0, 0.001].map((shift) => {
      const up = sweep(PRESSURES, (p) => ideal(p) + shift);
      return cycle(up, [...up].reverse());
    });
    const { repeatability, hysteresis } = sensorFit(IDEAL, cycles);
    expect(repeatability!.maxRangeV).toBeCloseTo(0.002, 12);
    expect(repeatability!.maxSdV).toBeCloseTo(0.001, 12);
    expect(repeatability!.pooledSdV).toBeCloseTo(0.001, 12);
    expect(repeatability!.pooledSdPercentFs).toBeCloseTo(0.1 / 4.5, 10);
    expect(hysteresis!.maxAbsPercentFs).toBe(0);
  });

  test('of equal deviations up and down the first gives the sign', () => {
    // Deviations from the end-point line: 0, +d, -d, 0.
    const fit = sensorFit(IDEAL, [cycle([reading(0, 0), reading(1, 1.1), reading(2, 1.9), reading(3, 3)])]);
    expect(fit.linearityTerminal.signedPercentFs).toBeCloseTo(10 / 3, 10);
    const mirrored = sensorFit(IDEAL, [cycle([reading(0, 0), reading(1, 0.9), reading(2, 2.1), reading(3, 3)])]);
    expect(mirrored.linearityTerminal.signedPercentFs).toBeCloseTo(-10 / 3, 10);
  });
});

describe('properties', () => {
  const noise = fc.array(fc.double({ min: -0.01, max: 0.01, noNaN: true }), { minLength: 20, maxLength: 20 });
  const noisy = (errors: number[], supply: (i: number) => number): SweepCycle[] => {
    let i = 0;
    const read = (p: number): SweepReading => {
      const vs = supply(i);
      const v = (ideal(p) + errors[i]!) * (vs / IDEAL.vsNominalV);
      i += 1;
      return reading(p, v, vs);
    };
    return [0, 1].map(() => cycle(PRESSURES.map(read), [...PRESSURES].reverse().map(read)));
  };
  const statistics = ({
    curve,
    bestFit,
    terminal,
    linearityBestFit,
    hysteresis,
    repeatability,
    totalErrorBand,
  }: SensorFit): number[] => [
    ...curve.meanV,
    ...[bestFit.slopeVPerKpa, bestFit.interceptV, bestFit.residualSdV!, terminal.slopeVPerKpa],
    ...[
      linearityBestFit.maxAbsPercentFs!,
      hysteresis!.maxAbsPercentFs!,
      repeatability!.maxRangeV,
      repeatability!.pooledSdV,
    ],
    ...[totalErrorBand.minKpa, totalErrorBand.maxKpa, totalErrorBand.meanKpa],
  ];
  const expectSame = (got: number[], wanted: number[]): void => {
    expect(got).toHaveLength(wanted.length);
    for (const [i, each] of wanted.entries()) expect(Math.abs(got[i]! - each)).toBeLessThan(1e-10);
  };

  test('a supply that wanders is taken out', () => {
    fc.assert(
      fc.property(noise, (errors) => {
        const steady = sensorFit(
          IDEAL,
          noisy(errors, () => 5),
        );
        const wandering = sensorFit(
          IDEAL,
          noisy(errors, (i) => 4.8 + 0.02 * i),
        );
        expectSame(statistics(wandering), statistics(steady));
      }),
    );
  });

  test('the order of cycles and of the readings in a sweep changes no statistic', () => {
    fc.assert(
      fc.property(noise, (errors) => {
        const cycles = noisy(errors, () => 5);
        const turned = [...cycles].reverse().map(({ up, down }) => cycle([...up].reverse(), [...down].reverse()));
        expectSame(statistics(sensorFit(IDEAL, turned)), statistics(sensorFit(IDEAL, cycles)));
      }),
    );
  });

  test('a falling characteristic mirrors the rising one: same percentages, negative full-scale output', () => {
    fc.assert(
      fc.property(noise, (errors) => {
        const rising = sensorFit(
          IDEAL,
          noisy(errors, () => 5),
        );
        const falling = sensorFit(
          { vsNominalV: 5, a: -IDEAL.a, b: 1 - IDEAL.b },
          noisy(errors, () => 5).map(({ up, down }) => {
            const turn = (each: SweepReading): SweepReading => ({ ...each, outputV: 5 - each.outputV });
            return cycle(up.map(turn), down.map(turn));
          }),
        );
        expect(falling.fullScaleOutputV).toBeCloseTo(-rising.fullScaleOutputV, 12);
        expect(falling.linearityBestFit.maxAbsPercentFs).toBeCloseTo(rising.linearityBestFit.maxAbsPercentFs!, 9);
        expect(falling.hysteresis!.maxAbsPercentFs).toBeCloseTo(rising.hysteresis!.maxAbsPercentFs!, 9);
        expect(falling.totalErrorBand.maxAbsKpa).toBeCloseTo(rising.totalErrorBand.maxAbsKpa, 9);
      }),
    );
  });

  test('errors come in the order taken: cycle by cycle, up before down', () => {
    const cycles = [cycle([reading(0, 0)], [reading(2, 0), reading(1, 0)]), cycle([reading(3, 0)], [reading(0, 0)])];
    const { errorKpa, perPressure } = sensorFit({ vsNominalV: 5, a: 1, b: 0 }, cycles).totalErrorBand;
    expect(errorKpa).toEqual([0, -2, -1, -3, 0]);
    expect(perPressure.map(({ pressureKpa }) => pressureKpa)).toEqual([0, 1, 2, 3]);
  });
});

describe('where something is undefined', () => {
  test('a dead output has exact zeros and no percentages', () => {
    const dead = sweep(PRESSURES, () => 0.1);
    const fit = sensorFit({ ...IDEAL, vsNominalV: 3.3 }, [cycle(dead, dead), cycle(dead, dead)]);
    expect(fit).toMatchObject({
      fullScaleOutputV: 0,
      bestFit: { slopeVPerKpa: 0, interceptV: 0.1, residualSdV: 0 },
      terminal: { slopeVPerKpa: 0, interceptV: 0.1 },
      linearityBestFit: { deviationV: [0, 0, 0, 0, 0], maxAbsPercentFs: null, signedPercentFs: null },
      linearityTerminal: { deviationV: [0, 0, 0, 0, 0], maxAbsPercentFs: null, signedPercentFs: null },
      hysteresis: { upMinusDownV: [0, 0, 0, 0, 0], maxAbsPercentFs: null },
      repeatability: { maxRangeV: 0, maxRangePercentFs: null, maxSdV: 0, pooledSdV: 0, pooledSdPercentFs: null },
    });
  });

  test('one cycle has no repeatability, a sweep up only no hysteresis', () => {
    const fit = sensorFit(IDEAL, [cycle(sweep(PRESSURES, ideal))]);
    expect(fit.repeatability).toBeNull();
    expect(fit.hysteresis).toBeNull();
    expect(fit.curve.meanDownV).toEqual([null, null, null, null, null]);
  });

  test('cycles that never meet the same pressure from the same side have neither', () => {
    const fit = sensorFit(IDEAL, [
      cycle([reading(20, 1)], [reading(40, 2)]),
      cycle([reading(60, 3)], [reading(80, 4)]),
    ]);
    expect(fit.repeatability).toBeNull();
    expect(fit.hysteresis).toBeNull();
    expect(fit.fullScaleOutputV).toBe(3);
  });

  test('hysteresis counts only pressures met in both directions', () => {
    const fit = sensorFit(IDEAL, [cycle([reading(20, 1), reading(40, 2), reading(60, 3)], [reading(40, 2.01)])]);
    expect(fit.hysteresis!.pressuresKpa).toEqual([40]);
    expect(fit.curve.meanV[1]).toBeCloseTo(2.005, 12);
  });

  test('two readings leave no residual standard deviation', () => {
    expect(sensorFit(IDEAL, [cycle([reading(20, 1), reading(40, 2)])]).bestFit.residualSdV).toBeNull();
  });

  const two = [reading(20, 1), reading(40, 2)];
  test.each([
    { what: 'no cycle', code: 'empty', key: 'cycles', run: () => sensorFit(IDEAL, []) },
    { what: 'empty sweeps', code: 'empty', key: 'cycles', run: () => sensorFit(IDEAL, [cycle([])]) },
    {
      what: 'a single pressure',
      code: 'too-few',
      key: 'cycles',
      run: () => sensorFit(IDEAL, [cycle([reading(20, 1)], [reading(20, 1.1)])]),
    },
    {
      what: 'a NaN output',
      code: 'not-finite',
      key: 'cycles[0].up[1].outputV',
      run: () => sensorFit(IDEAL, [cycle([two[0]!, reading(40, Number.NaN)])]),
    },
    {
      what: 'an infinite pressure',
      code: 'not-finite',
      key: 'cycles[1].down[0].pressureKpa',
      run: () => sensorFit(IDEAL, [cycle(two), cycle([], [reading(Infinity, 1)])]),
    },
    {
      what: 'a supply of 0',
      code: 'out-of-range',
      key: 'cycles[0].up[0].supplyV',
      run: () => sensorFit(IDEAL, [cycle([reading(20, 1, 0), two[1]!])]),
    },
    {
      what: 'a negative supply',
      code: 'out-of-range',
      key: 'cycles[0].up[0].supplyV',
      run: () => sensorFit(IDEAL, [cycle([reading(20, 1, -5), two[1]!])]),
    },
    {
      what: 'a nominal supply of 0',
      code: 'out-of-range',
      key: 'vsNominalV',
      run: () => sensorFit({ ...IDEAL, vsNominalV: 0 }, [cycle(two)]),
    },
    {
      what: 'a characteristic without slope',
      code: 'out-of-range',
      key: 'a',
      run: () => sensorFit({ ...IDEAL, a: 0 }, [cycle(two)]),
    },
    {
      what: 'a NaN slope',
      code: 'not-finite',
      key: 'a',
      run: () => sensorFit({ ...IDEAL, a: Number.NaN }, [cycle(two)]),
    },
    {
      what: 'a NaN offset',
      code: 'not-finite',
      key: 'b',
      run: () => sensorFit({ ...IDEAL, b: Number.NaN }, [cycle(two)]),
    },
    {
      what: 'sizes beyond squares',
      code: 'out-of-range',
      key: 'cycles[0].up[0].outputV',
      run: () => sensorFit(IDEAL, [cycle([reading(20, 1e200), two[1]!])]),
    },
  ])('refuses $what', ({ code, key, run }) => {
    expect(refusal(run)).toEqual({ code, key });
  });
});
