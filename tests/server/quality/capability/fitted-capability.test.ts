import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { individualsCapability } from '../../../../server/quality/capability/capability.ts';
import { lognormalCapability, weibullCapability } from '../../../../server/quality/capability/fitted-capability.ts';
import { stream } from '../../../../station/random.ts';

/** Millions of revolutions to failure: Lieblein & Zelen, Journal of Research of the NBS 57 (1956) 273-316, 23 bearings. */
const BEARINGS = [
  17.88, 28.92, 33, 41.52, 42.12, 45.6, 48.48, 51.84, 51.96, 54.12, 55.56, 67.8, 68.64, 68.64, 68.88, 84.12, 93.12,
  98.64, 105.12, 105.84, 127.92, 128.04, 173.4,
];
const LIMITS = { lsl: 10, usl: 300 };

describe('the bearings of Lieblein & Zelen (data and estimates from memory)', () => {
  test('Weibull shape 2.102 and scale 81.88 (Lawless, "Statistical Models and Methods for Lifetime Data", 2nd ed., chapter 5)', () => {
    const fit = weibullCapability(BEARINGS, LIMITS);
    expect(fit?.shape).toBeCloseTo(2.102, 3);
    expect(fit?.scale).toBeCloseTo(81.88, 2);
    expect(fit?.logLikelihood).toBeCloseTo(-113.691, 3);
  });

  test('lognormal mean 4.150 and standard deviation 0.522 of the logarithms (the same)', () => {
    const fit = lognormalCapability(BEARINGS, LIMITS);
    expect(fit?.meanLog).toBeCloseTo(4.15, 3);
    expect(fit?.sdLog).toBeCloseTo(0.522, 3);
    expect(fit?.logLikelihood).toBeCloseTo(-113.129, 3);
  });
});

/** ln of the densities as any textbook has them, to compare with what the fit says of itself. */
const logLikelihoods = {
  lognormal: (x: readonly number[], [mean, sd]: readonly [number, number]) =>
    x.reduce(
      (sum, v) => sum - Math.log(v * sd * Math.sqrt(2 * Math.PI)) - (Math.log(v) - mean) ** 2 / (2 * sd * sd),
      0,
    ),
  weibull: (x: readonly number[], [shape, scale]: readonly [number, number]) =>
    x.reduce((sum, v) => sum + Math.log(shape / scale) + (shape - 1) * Math.log(v / scale) - (v / scale) ** shape, 0),
};

function parameters(kind: keyof typeof logLikelihoods, x: readonly number[]) {
  const lognormal = lognormalCapability(x, LIMITS);
  const weibull = weibullCapability(x, LIMITS);
  return kind === 'lognormal'
    ? { at: [lognormal?.meanLog ?? 0, lognormal?.sdLog ?? 0] as const, fit: lognormal }
    : { at: [weibull?.shape ?? 0, weibull?.scale ?? 0] as const, fit: weibull };
}

const skewed = fc
  .array(fc.double({ min: -3, max: 3, noNaN: true }), { minLength: 2, maxLength: 60 })
  .map((x) => x.map(Math.exp))
  .filter((x) => Math.max(...x) / Math.min(...x) > 1.001);

describe.each(['lognormal', 'weibull'] as const)('%s by maximum likelihood', (kind) => {
  test('no neighbor is likelier, and the likelihood is that of the density', () => {
    fc.assert(
      fc.property(skewed, (x) => {
        const { at, fit } = parameters(kind, x);
        const likelihood = (a: number, b: number) => logLikelihoods[kind](x, [a, b]);
        const best = likelihood(at[0], at[1]);
        const size = 1e-7 * Math.max(1, Math.abs(best));
        expect(Math.abs((fit?.logLikelihood ?? 0) - best)).toBeLessThan(size);
        for (const [da, db] of [
          [1.01, 1],
          [0.99, 1],
          [1, 1.01],
          [1, 0.99],
        ] as const) {
          expect(likelihood(at[0] * da, at[1] * db)).toBeLessThanOrEqual(best + size);
        }
      }),
    );
  });

  test('percentiles leave 0.135 %, half and 99.865 % below, and the fractions beyond them say the same', () => {
    const { fit } = parameters(kind, BEARINGS);
    const low = fit?.x00135 ?? 0;
    const high = fit?.x99865 ?? 0;
    const middle = fit?.x50 ?? 0;
    const fitAt = (lsl: number, usl: number) =>
      (kind === 'lognormal' ? lognormalCapability : weibullCapability)(BEARINGS, { lsl, usl });
    expect(fitAt(low, high)?.fractionOutside.below).toBeCloseTo(0.00135, 12);
    expect(fitAt(low, high)?.fractionOutside.above).toBeCloseTo(0.00135, 12);
    expect(fitAt(middle, high)?.fractionOutside.below).toBeCloseTo(0.5, 12);
    // Limits at the percentiles are just met: every index is 1 (definition, ISO 22514-2).
    const { both, upper, lower, nearer } = fitAt(low, high)?.indices ?? {};
    for (const index of [both, upper, lower, nearer]) expect(index).toBeCloseTo(1, 12);
  });

  test('a change of unit changes no index and no fraction', () => {
    fc.assert(
      fc.property(skewed, fc.double({ min: -20, max: 20, noNaN: true }), (x, exponent) => {
        const unit = Math.exp(exponent);
        const fitted = kind === 'lognormal' ? lognormalCapability : weibullCapability;
        const a = fitted(x, { lsl: 0.01, usl: 40 });
        const b = fitted(
          x.map((v) => v * unit),
          { lsl: 0.01 * unit, usl: 40 * unit },
        );
        const close = (p: number | null | undefined, q: number | null | undefined) =>
          expect(Math.abs((p ?? 0) / (q ?? 1) - 1)).toBeLessThan(1e-7);
        close(b?.indices.nearer, a?.indices.nearer);
        close(b?.x50, (a?.x50 ?? 0) * unit);
        expect(b?.fractionOutside.total).toBeCloseTo(a?.fractionOutside.total ?? 0, 9);
      }),
    );
  });

  test('the order of the rows changes nothing but rounding', () => {
    const { fit } = parameters(kind, BEARINGS);
    const { fit: turned } = parameters(kind, [...BEARINGS].reverse());
    expect(turned?.indices.nearer).toBeCloseTo(fit?.indices.nearer ?? 0, 12);
    expect(turned?.logLikelihood).toBeCloseTo(fit?.logLikelihood ?? 0, 10);
  });

  test.each([
    ['a zero', [1, 2, 0]],
    ['a negative value', [1, 2, -3]],
    ['one value', [2]],
    ['equal values', [0.3, 0.3, 0.3]],
  ])('%s has no fit', (_what, values) => {
    expect(parameters(kind, values).fit).toBeNull();
  });

  test.each([
    ['no values', [], { lsl: 1, usl: 2 }, 'empty', 'values'],
    ['NaN', [1, Number.NaN], { lsl: 1, usl: 2 }, 'not-finite', 'values[1]'],
    ['NaN behind a zero', [0, Number.NaN], { lsl: 1, usl: 2 }, 'not-finite', 'values[1]'],
    ['no limit', [1, 2], { lsl: null, usl: null }, 'no-limit', 'lsl'],
    ['crossed limits', [1, 2], { lsl: 2, usl: 1 }, 'crossed-limits', 'lsl'],
  ])('%s is refused', (_what, values, limits, code, key) => {
    const fitted = kind === 'lognormal' ? lognormalCapability : weibullCapability;
    expect(() => fitted(values, limits)).toThrow(expect.objectContaining({ code, key }) as Error);
  });

  test('nothing lies below a limit of 0, everything above an upper one of 0', () => {
    const fitted = kind === 'lognormal' ? lognormalCapability : weibullCapability;
    expect(fitted(BEARINGS, { lsl: -1, usl: null })?.fractionOutside).toEqual({ below: 0, above: null, total: 0 });
    expect(fitted(BEARINGS, { lsl: null, usl: 0 })?.fractionOutside).toEqual({ below: null, above: 1, total: 1 });
  });

  test('values over six hundred decades, and values that differ in the twelfth digit, have their fit', () => {
    const wide = parameters(kind, [1e-300, 1, 1e300]).fit;
    expect(Number.isFinite(wide?.logLikelihood)).toBe(true);
    const narrow = parameters(kind, [1, 1 + 1e-12, 1 + 3e-12]).fit;
    expect(narrow?.x50).toBeCloseTo(1, 11);
  });
});

describe('known processes', () => {
  test('of a narrow process the lognormal is the normal with divisor n (offset 1e7, sd 1e-3)', () => {
    const draw = stream(7, 'fitted capability', 0);
    const values = Array.from({ length: 60 }, () => 1e7 + 1e-3 * draw.normal());
    const limits = { lsl: 1e7 - 4e-3, usl: 1e7 + 5e-3 };
    const normal = individualsCapability(values, limits).overall?.indices;
    const divisor = Math.sqrt(60 / 59);
    const fit = lognormalCapability(values, limits);
    // 0.135 % rounded is 2.99998 standard deviations; x50 in doubles is known to 2e-9 of 1e-3.
    expect(fit?.indices.upper).toBeCloseTo((normal?.upper ?? 0) * divisor, 4);
    expect(fit?.indices.lower).toBeCloseTo((normal?.lower ?? 0) * divisor, 4);
  });

  test('one value far below many equal ones has a steep shape, which solves the likelihood equation (Lawless, section 5.2)', () => {
    const values = [1, ...Array.from({ length: 50 }, () => 2)];
    const shape = weibullCapability(values, LIMITS)?.shape ?? 0;
    const weights = values.map((x) => (x / 2) ** shape);
    const total = (terms: readonly number[]) => terms.reduce((sum, each) => sum + each, 0);
    const weighted = total(values.map((x, i) => (weights[i] ?? 0) * Math.log(x))) / total(weights);
    expect(weighted - 1 / shape).toBeCloseTo((50 * Math.LN2) / 51, 12);
    expect(shape).toBeGreaterThan(10);
  });

  test('20,000 drawn Weibull values have the shape and scale they were drawn with', () => {
    const draw = stream(8, 'fitted capability', 0);
    const values = Array.from({ length: 20_000 }, () => 3 * (-Math.log(draw.uniform())) ** (1 / 1.5));
    const fit = weibullCapability(values, { lsl: null, usl: 9 });
    // Standard errors of the estimates: 0.78 shape/sqrt n and 1.053 scale/(shape sqrt n) (Lawless, section 5.2); four of them.
    expect(Math.abs((fit?.shape ?? 0) - 1.5)).toBeLessThan((4 * 0.78 * 1.5) / Math.sqrt(20_000));
    expect(Math.abs((fit?.scale ?? 0) - 3)).toBeLessThan((4 * 1.053 * 3) / 1.5 / Math.sqrt(20_000));
  });
});
