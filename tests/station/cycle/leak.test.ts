import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { LagByAreas } from '../../../station/cycle/lag.ts';
import { fallOfRatedLeak, flowFrom, ratedLeak, SlopeFit, slopeSigma, volumeFrom } from '../../../station/cycle/leak.ts';
import { leakByShapes, leakSignaturePa } from '../../../station/cycle/leak-model.ts';
import { paM3PerSFrom, stdFlowFrom } from '../../../station/units.ts';
import { casesOf, checkCase } from '../../reference/physics-cases.ts';
import { acceptanceProbability } from '../../support/acceptance.ts';

const exact = (value: number) => ({ value, u: 0 });

describe('estimators against the rig physics reference set', () => {
  test.each(casesOf('ols_slope_sigma'))('$id: $about', (given) => {
    const { sigma_Pa, dt_s, n } = given.inputs;
    checkCase(given, () => slopeSigma(Number(sigma_Pa), Number(dt_s), Number(n)));
  });

  test.each(casesOf('lag_by_areas'))('$id: $about', (given) => {
    const { tau_s, u0, rate_per_s, tRamp_s, tEnd_s, dt_s } = given.inputs as Record<string, number>;
    // The exact response of a first-order lag to a ramp and then a hold.
    const input = (t: number): number => u0! + rate_per_s! * Math.min(t, tRamp_s!);
    const ramp = (t: number): number => u0! + rate_per_s! * (t - tau_s! + tau_s! * Math.exp(-t / tau_s!));
    const output = (t: number): number =>
      t <= tRamp_s! ? ramp(t) : input(t) + (ramp(tRamp_s!) - input(t)) * Math.exp(-(t - tRamp_s!) / tau_s!);
    const lag = new LagByAreas(u0!, dt_s! * 1000);
    for (let t = 0; t < tEnd_s! - dt_s! / 2; t += dt_s!) lag.add(input(t), output(t));
    const { lagMs } = lag.finish(output(tEnd_s!), output(tEnd_s!) - input(tEnd_s!));
    checkCase(given, () => lagMs / 1000);
  });

  test.each(casesOf('thermal_apparent_leak'))('$id: $about', (given) => {
    const { V_m3, T_K, amplitude_Pa, tau_s, stabilise_s, measure_s } = given.inputs as Record<string, number>;
    const left = (t: number): number => amplitude_Pa! * Math.exp(-t / tau_s!);
    const slope = (left(stabilise_s! + measure_s!) - left(stabilise_s!)) / measure_s!;
    const flow = flowFrom(exact(slope), exact(0), exact(V_m3!));
    checkCase(given, () => stdFlowFrom(flow.value, T_K! - 273.15));
  });

  test.each(casesOf('rated_leak_conversion'))('$id: $about', (given) => {
    const { V_m3, T_K, slope_Pa_per_s, p_Pa, pAmb_Pa, ratedUpstream_Pa, ratedDownstream_Pa } = given.inputs as Record<
      string,
      number
    >;
    expect(ratedDownstream_Pa).toBe(101_325);
    const flowPaM3PerS = flowFrom(exact(slope_Pa_per_s!), exact(0), exact(V_m3!));
    const rated = ratedLeak(
      {
        flowPaM3PerS,
        testKpaAbs: exact(p_Pa! / 1000),
        ambientKpaAbs: exact(pAmb_Pa! / 1000),
        gasC: exact(T_K! - 273.15),
      },
      { testKpaAbs: ratedUpstream_Pa! / 1000 },
    );
    checkCase(given, (name) => (name.startsWith('rated') ? rated.stdCm3PerMin.value : rated.flowStdCm3PerMin));
  });

  test.each(casesOf('leak_signature'))('$id: $about', (given) => {
    const { V_m3, T_K, leak_stdcm3_per_min, tauGas_s } = given.inputs as Record<string, number>;
    const nest = { volumeM3: V_m3!, gasC: T_K! - 273.15, tauGasS: tauGas_s! };
    checkCase(given, (_name, at) => leak_stdcm3_per_min! * leakSignaturePa(at['t_s']!, nest));
  });

  test.each(casesOf('gls_leak_estimate'))('$id: $about', (given) => {
    const { t_s, y_Pa, shapeTau_s, priorSd } = given.inputs as Record<string, number[]>;
    const { noise_Pa, signature_Pa_per_s_per_stdcm3min } = given.inputs as Record<string, number>;
    const shapes = [...shapeTau_s!.map((tau) => t_s!.map((t) => Math.exp(-t / tau))), t_s!, t_s!.map(() => 1)];
    const signature = t_s!.map((t) => signature_Pa_per_s_per_stdcm3min! * t);
    const leak = leakByShapes(y_Pa!, shapes, priorSd!, signature, noise_Pa!);
    checkCase(given, (name) => (name.startsWith('sigma') ? leak.u : leak.value));
  });

  test.each(casesOf('acceptance_probability'))('$id: $about', (given) => {
    const { threshold, sigma, true: trueValue } = given.inputs as Record<string, number>;
    checkCase(given, () => acceptanceProbability(threshold!, sigma!, trueValue!));
  });
});

describe('pressure decay', () => {
  test('20 cm³ that fall 10 Pa in 5 s leak 4.000e-5 Pa·m³/s (isothermal pressure decay, computed)', () => {
    expect(flowFrom(exact(-2), exact(0), exact(20e-6)).value).toBeCloseTo(4e-5, 9);
  });

  test('a calibrated leak of 1e-4 Pa·m³/s, 45 Pa against 20 Pa in 5 s, makes 20 cm³ (computed)', () => {
    expect(volumeFrom(exact(1e-4), exact(-45 / 5), exact(-20 / 5)).value * 1e6).toBeCloseTo(20, 9);
  });

  test('the fall of a rated leak turns back into that leak', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.01, max: 50, noNaN: true }),
        fc.double({ min: 105, max: 300, noNaN: true }),
        fc.double({ min: 85, max: 104, noNaN: true }),
        fc.double({ min: -40, max: 125, noNaN: true }),
        (leak, test, ambient, gasC) => {
          const volumeM3 = 10e-6;
          const fall = fallOfRatedLeak(leak, {
            ratedKpaAbs: 150,
            testKpaAbs: test,
            ambientKpaAbs: ambient,
            gasC,
            volumeM3,
          });
          const back = ratedLeak(
            {
              flowPaM3PerS: flowFrom(exact(-fall), exact(0), exact(volumeM3)),
              testKpaAbs: exact(test),
              ambientKpaAbs: exact(ambient),
              gasC: exact(gasC),
            },
            { testKpaAbs: 150 },
          );
          expect(back.stdCm3PerMin.value).toBeCloseTo(leak, 6);
        },
      ),
    );
  });

  test('uncertainty follows JCGM 100: each input alone, and all together as their root sum of squares', () => {
    const slope = -100;
    const flow = (uSlope: number, uSealed: number, uVolume: number) =>
      flowFrom({ value: slope, u: uSlope }, { value: -20, u: uSealed }, { value: 1e-5, u: uVolume }).u;
    expect(flow(2, 0, 0)).toBeCloseTo(2e-5, 12);
    expect(flow(0, 3, 0)).toBeCloseTo(3e-5, 12);
    expect(flow(0, 0, 1e-7)).toBeCloseTo(80e-7, 12);
    expect(flow(2, 3, 1e-7)).toBeCloseTo(Math.hypot(2e-5, 3e-5, 8e-6), 12);
    expect(paM3PerSFrom(stdFlowFrom(1e-3, 23), 23)).toBeCloseTo(1e-3, 12);
  });

  test('a line gives its own slope and mean whatever its offset', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -500, max: 500, noNaN: true }),
        fc.double({ min: 1, max: 400, noNaN: true }),
        (slope, offset) => {
          const fit = new SlopeFit();
          for (let i = 0; i < 500; i += 1) fit.add(3 + i / 1000, offset + (slope * i) / 1000);
          expect(fit.slope).toBeCloseTo(slope, 6);
          expect(fit.mean).toBeCloseTo(offset + slope * 0.2495, 6);
          expect(fit.squares).toBeLessThan(1e-6);
        },
      ),
    );
  });
});
