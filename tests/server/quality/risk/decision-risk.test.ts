import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { decisionRisk } from '../../../../server/quality/risk/decision-risk.ts';
import type { Decision, DecisionRisk } from '../../../../server/quality/risk/decision-risk.ts';
import {
  guardBandForConsumerRisk,
  guardBandForProcess,
  guardBandForResult,
  guardBandsForResultWithPrior,
} from '../../../../server/quality/risk/guard-band.ts';
import { conformance, conformanceWithPrior } from '../../../../server/quality/risk/conformance.ts';
import { refusal } from '../../../support/quality-refusal.ts';

const decision = (
  given: Partial<{ mean: number; sd: number; u: number; lower: number | null; upper: number | null }> = {},
): Decision => {
  const { mean, sd, u, lower, upper } = { mean: 0.2, sd: 0.5, u: 0.2, lower: -1, upper: 1, ...given };
  return { process: { mean, sd }, u, tolerance: { lower, upper } };
};

const near = (got: number | null, expected: number, relative = 1e-11): void => {
  expect(got).not.toBeNull();
  expect(Math.abs(got! - expected)).toBeLessThanOrEqual(relative * Math.abs(expected) + 1e-300);
};

/** Integrals over the true value by tanh-sinh quadrature in scaled panels, mpmath 1.3.0 with 22 digits. */
const INTEGRALS = [
  {
    mean: 0.02970630267686462,
    sd: 0.04605167916877003,
    u: 2.277696517768828e-8,
    lower: null,
    upper: 0.08781621927616318,
    guard: -4.555393035537656e-8,
    consumer: 1.78763395928927e-7,
    producer: 7.557059294126091e-10,
  },
  {
    mean: 3.301171034706999,
    sd: 2.862598379065222,
    u: 8.804389585463156e-6,
    lower: 0.0,
    upper: 2.8233769728186693,
    guard: 1.760877917092631e-5,
    consumer: 1.5632180112991762e-8,
    producer: 3.6978249609677338e-6,
  },
  {
    mean: 3.6498753378104025,
    sd: 7.178981617861283,
    u: 0.0005358866464001654,
    lower: 0.0,
    upper: null,
    guard: -0.001071773292800331,
    consumer: 5.2558241761571775e-5,
    producer: 2.2219829691458296e-7,
  },
  {
    mean: 0.0019056634311313402,
    sd: 0.01908921143353448,
    u: 0.00262007598843001,
    lower: 0.0,
    upper: 0.007973487645639292,
    guard: 0.0007973487645639292,
    consumer: 0.027562906361265002,
    producer: 0.061317189408214685,
  },
  {
    mean: 1.8960268229549055,
    sd: 1.0195685625338873,
    u: 0.1427769071132583,
    lower: 0.0,
    upper: 6.478422614367237,
    guard: 0.6478422614367237,
    consumer: 5.444927913625282e-9,
    producer: 0.08127427970956952,
  },
  {
    mean: 2.119388316284471,
    sd: 0.10621049147387608,
    u: 0.022703437896940466,
    lower: 0.0,
    upper: 1.4882946016896217,
    guard: 0,
    consumer: 2.0932633849200732e-9,
    producer: 3.901955211040037e-10,
  },
  {
    mean: 0.2374244286283804,
    sd: 0.018751312002211973,
    u: 0.036213109802304966,
    lower: 0.0,
    upper: 0.3187097051605923,
    guard: -0.018106554901152483,
    consumer: 4.748920087133668e-6,
    producer: 0.007396679743709848,
  },
  {
    mean: 34.44827213835501,
    sd: 5.362056831164966,
    u: 11.23317987090557,
    lower: 0.0,
    upper: 70.76187735617948,
    guard: 3.369953961271671,
    consumer: 2.5796241678967323e-11,
    producer: 0.010330963938909568,
  },
  {
    mean: 0.2134279105155882,
    sd: 0.01523047940318287,
    u: 0.07097470016805148,
    lower: 0.0,
    upper: 0.3572105523678443,
    guard: -0.14194940033610295,
    consumer: 1.8112853338192143e-21,
    producer: 4.1877453689907304e-5,
  },
  {
    mean: 45.83578343034461,
    sd: 1.0664019060031145,
    u: 5.334534978657178,
    lower: 0.0,
    upper: 79.9650399266332,
    guard: -10.669069957314356,
    consumer: 4.6673929909982544e-225,
    producer: 8.988046313842848e-17,
  },
  {
    mean: -0.14327002392644925,
    sd: 0.11651781411332268,
    u: 0.8865218864151134,
    lower: null,
    upper: 2.253224225637621,
    guard: -0.4432609432075567,
    consumer: 1.8446200083604895e-94,
    producer: 0.0007467578700938722,
  },
  {
    mean: 8.778445658628035,
    sd: 0.3285938210092634,
    u: 12.360890903255504,
    lower: 0.0,
    upper: 18.621778646899532,
    guard: -24.721781806511007,
    consumer: 1.5316751156491125e-157,
    producer: 0.005964308372477376,
  },
  {
    mean: -615.329051814847,
    sd: 0.028363689167423017,
    u: 72610.52433066638,
    lower: 0.0,
    upper: 18462.918320950994,
    guard: 0,
    consumer: 0.1002467235432657,
    producer: 0.0,
  },
  {
    mean: -70.61019527577407,
    sd: 0.04406507792892558,
    u: 23985.646375311175,
    lower: 0.0,
    upper: 3781.203611244992,
    guard: -47971.29275062235,
    consumer: 0.9617268794438035,
    producer: 0.0,
  },
];

describe('global risks', () => {
  test.each([1e-12, 1e-6, 1e-3, 0.1, 1, 10, 1e3, 1e6, 1e12])(
    'u = %d sd, limit at the process mean: W. F. Sheppard 1899, quadrant probability of a bivariate normal, atan(u / sd) / (2 pi)',
    (ratio) => {
      const expected = Math.atan(ratio) / (2 * Math.PI);
      for (const limits of [
        { lower: null, upper: 7 },
        { lower: 7, upper: null },
      ]) {
        const risk = decisionRisk(decision({ mean: 7, sd: 1, u: ratio, ...limits }), 0);
        near(risk.consumerRisk, expected, 1e-13);
        near(risk.producerRisk, expected, 1e-13);
        expect(risk.accepted).toBe(0.5);
        expect(risk.nonconforming).toBe(0.5);
      }
    },
  );

  test.each(INTEGRALS)(
    'mean $mean, sd $sd, u $u, guard band $guard (mpmath)',
    ({ guard, consumer, producer, ...given }) => {
      const risk = decisionRisk(decision(given), guard);
      near(risk.consumerRisk, consumer);
      near(risk.producerRisk, producer);
    },
  );

  const arbitrary = fc.record({
    mean: fc.double({ min: -3, max: 3, noNaN: true }),
    sd: fc.double({ min: 1e-3, max: 5, noNaN: true }),
    u: fc.double({ min: 1e-3, max: 5, noNaN: true }),
    lower: fc.constantFrom(-1, null),
  });
  const guards = fc.double({ min: -2, max: 0.99, noNaN: true });

  test('every probability lies in 0 to 1, and the accepted are the good ones less the rejected good, plus the accepted bad', () => {
    fc.assert(
      fc.property(arbitrary, guards, (given, guard) => {
        const risk = decisionRisk(decision(given), guard);
        for (const each of probabilities(risk)) {
          expect(each).toBeGreaterThanOrEqual(0);
          expect(each).toBeLessThanOrEqual(1);
        }
        const { accepted, nonconforming, consumerRisk, producerRisk } = risk;
        expect(Math.abs(accepted - (consumerRisk + (1 - nonconforming) - producerRisk))).toBeLessThan(1e-11);
      }),
      { numRuns: 60 },
    );
  });

  test("a wider guard band lowers the consumer's risk and raises the producer's", () => {
    fc.assert(
      fc.property(arbitrary, guards, fc.double({ min: 0, max: 0.5, noNaN: true }), (given, guard, more) => {
        const loose = decisionRisk(decision(given), guard);
        const tight = decisionRisk(decision(given), guard + more);
        expect(tight.consumerRisk).toBeLessThanOrEqual(loose.consumerRisk * (1 + 1e-10));
        expect(tight.producerRisk).toBeGreaterThanOrEqual(loose.producerRisk * (1 - 1e-10));
      }),
      { numRuns: 60 },
    );
  });

  test('the mirror image, another unit and another zero change no probability', () => {
    fc.assert(
      fc.property(arbitrary, guards, (given, guard) => {
        const { mean, sd, u, lower } = given;
        const plain = probabilities(decisionRisk(decision(given), guard));
        const mirrored = decision({ mean: -mean, sd, u, lower: -1, upper: lower === null ? null : 1 });
        const scaled = decision({ mean: mean * 1024, sd: sd * 1024, u: u * 1024, lower: lower && -1024, upper: 1024 });
        for (const [other, w] of [
          [mirrored, guard],
          [scaled, guard * 1024],
        ] as const) {
          const got = probabilities(decisionRisk(other, w));
          for (const [i, each] of plain.entries())
            expect(Math.abs(got[i]! - each)).toBeLessThanOrEqual(1e-10 * each + 1e-300);
        }
      }),
      { numRuns: 40 },
    );
    const here = decisionRisk(decision(), 0.25);
    const there = decisionRisk(decision({ mean: 64.2, lower: 63, upper: 65 }), 0.25);
    near(there.consumerRisk, here.consumerRisk);
    near(there.producerRisk, here.producerRisk);
  });

  test('without uncertainty only a guard band can err, and by the share of the process in it', () => {
    const outward = decisionRisk(decision({ u: 0 }), -0.3);
    const tiny = decisionRisk(decision({ u: 1e-9 }), -0.3);
    near(tiny.consumerRisk, outward.consumerRisk, 1e-8);
    expect(outward.producerRisk).toBe(0);
    const inward = decisionRisk(decision({ u: 0 }), 0.3);
    near(decisionRisk(decision({ u: 1e-9 }), 0.3).producerRisk, inward.producerRisk, 1e-8);
    expect(inward.consumerRisk).toBe(0);
    expect(decisionRisk(decision({ u: 0 }), 0)).toMatchObject({
      consumerRisk: 0,
      producerRisk: 0,
      conformingGivenRejected: 0,
    });
  });

  test('a process without spread is its mean: the measurement alone decides', () => {
    const good = decisionRisk(decision({ sd: 0 }), 0.1);
    const narrow = decisionRisk(decision({ sd: 1e-9 }), 0.1);
    near(narrow.producerRisk, good.producerRisk, 1e-8);
    expect(good).toMatchObject({ consumerRisk: 0, nonconforming: 0, acceptedGivenNonconforming: null });
    const bad = decisionRisk(decision({ sd: 0, mean: 1.2 }), 0.1);
    near(decisionRisk(decision({ sd: 1e-9, mean: 1.2 }), 0.1).consumerRisk, bad.consumerRisk, 1e-8);
    expect(bad).toMatchObject({ producerRisk: 0, nonconforming: 1, nonconformingGivenAccepted: 1 });
  });

  test('spreads that no double can compare count as none beside each other', () => {
    expect(decisionRisk(decision({ u: 1e-300, sd: 1e30 }), 0)).toMatchObject({ consumerRisk: 0, producerRisk: 0 });
    expect(decisionRisk(decision({ u: 0.2, sd: 1e-300 }), 0.1)).toEqual(decisionRisk(decision({ u: 0.2, sd: 0 }), 0.1));
  });

  test.each([1, 1.5, 100])('a guard band of %d leaves nothing to accept: all good parts are rejected', (guard) => {
    const risk = decisionRisk(decision(), guard);
    expect(risk).toMatchObject({ accepted: 0, consumerRisk: 0, nonconformingGivenAccepted: null });
    expect(risk.acceptedGivenNonconforming).toBe(0);
    expect(risk.acceptance).toEqual({ lower: -1 + guard, upper: 1 - guard });
    near(risk.producerRisk, 1 - risk.nonconforming);
    near(risk.conformingGivenRejected, 1 - risk.nonconforming);
  });

  test('where nobody is, no share of it is defined', () => {
    const sure = decisionRisk(decision({ sd: 0, u: 0, mean: 0 }), 0);
    expect(sure).toMatchObject({ accepted: 1, acceptedGivenNonconforming: null, conformingGivenRejected: null });
    expect(decisionRisk(decision({ mean: 1e6 }), 0).nonconformingGivenAccepted).toBeNull();
  });

  test.each([
    { what: 'NaN mean', code: 'not-finite', key: 'mu0', run: () => decisionRisk(decision({ mean: Number.NaN }), 0) },
    { what: 'negative sd', code: 'out-of-range', key: 'sigma0', run: () => decisionRisk(decision({ sd: -1 }), 0) },
    { what: 'infinite u', code: 'not-finite', key: 'u', run: () => decisionRisk(decision({ u: Infinity }), 0) },
    { what: 'NaN guard band', code: 'not-finite', key: 'w', run: () => decisionRisk(decision(), Number.NaN) },
    { what: 'crossed limits', code: 'crossed-limits', key: 'L', run: () => decisionRisk(decision({ lower: 2 }), 0) },
    {
      what: 'no limit',
      code: 'no-limit',
      key: 'L',
      run: () => decisionRisk(decision({ lower: null, upper: null }), 0),
    },
    {
      what: 'a risk of 0',
      code: 'out-of-range',
      key: 'max_probability',
      run: () => guardBandForResult(1, { lower: 0, upper: 1 }, 0),
    },
    {
      what: 'a risk of 1',
      code: 'out-of-range',
      key: 'max_probability',
      run: () => guardBandForProcess(decision(), 1),
    },
    {
      what: 'NaN u for guard bands',
      code: 'not-finite',
      key: 'u',
      run: () => guardBandsForResultWithPrior(decision({ u: Number.NaN }), 0.05),
    },
  ])('refuses $what', ({ code, key, run }) => {
    expect(refusal(run)).toEqual({ code, key });
  });
});

function probabilities(risk: DecisionRisk): number[] {
  const { acceptance: _, ...rest } = risk;
  return Object.values(rest).filter((each) => each !== null);
}

describe('guard bands', () => {
  test('one limit, 5 %: 1.645 u, any table of the normal distribution', () => {
    expect(guardBandForResult(1, { lower: null, upper: 0 }, 0.05)).toBeCloseTo(1.645, 3);
  });

  test('one limit, 2.5 %: 1.96 u, any table of the normal distribution', () => {
    expect(guardBandForResult(2, { lower: 5, upper: null }, 0.025)).toBeCloseTo(2 * 1.95996, 4);
  });

  test.each([1e-12, 0.001, 0.05, 0.3])(
    'at a risk of %d a value on each acceptance limit carries just that risk',
    (most) => {
      const given = decision({ sd: 1.5, u: 0.12 });
      const { tolerance } = given;
      const outside = (split: { below: number; above: number }): number => split.below + split.above;
      const single = guardBandForResult(given.u, tolerance, most)!;
      near(outside(conformance({ value: 1 - single, u: given.u }, tolerance)), most, 1e-9);
      const { lower, upper } = guardBandsForResultWithPrior(given, most);
      near(outside(conformanceWithPrior({ value: 1 - upper!, u: given.u }, given.process, tolerance)!), most, 1e-9);
      near(outside(conformanceWithPrior({ value: -1 + lower!, u: given.u }, given.process, tolerance)!), most, 1e-9);
      const whole = guardBandForProcess(given, most)!;
      expect(whole).toBeGreaterThanOrEqual(0);
      const share = decisionRisk(given, whole).nonconformingGivenAccepted!;
      if (whole > 0) near(share, most, 1e-9);
      else expect(share).toBeLessThanOrEqual(most);
    },
  );

  test('a smaller risk takes a wider guard band', () => {
    const given = decision({ sd: 1, u: 0.2 });
    const bands = [0.2, 0.05, 0.01, 0.001].map((most) => [
      guardBandForResult(given.u, given.tolerance, most)!,
      guardBandsForResultWithPrior(given, most).upper!,
      guardBandForProcess(given, most)!,
    ]);
    for (let i = 1; i < bands.length; i += 1) {
      for (const [kind, band] of bands[i]!.entries()) expect(band).toBeGreaterThanOrEqual(bands[i - 1]![kind]!);
    }
    expect(bands[3]![2]).toBeGreaterThan(0);
  });

  test('the mirror image exchanges the limits', () => {
    const here = guardBandsForResultWithPrior(decision({ mean: 0.4 }), 0.05);
    const mirrored = guardBandsForResultWithPrior(decision({ mean: -0.4 }), 0.05);
    near(mirrored.lower, here.upper!);
    near(mirrored.upper, here.lower!);
    near(guardBandForProcess(decision({ mean: -0.9 }), 0.05), guardBandForProcess(decision({ mean: 0.9 }), 0.05)!);
  });

  test('none needed is 0', () => {
    expect(guardBandForResult(1, { lower: null, upper: 0 }, 0.5)).toBe(0);
    expect(guardBandForResult(0, { lower: -1, upper: 1 }, 0.05)).toBe(0);
    expect(guardBandForProcess(decision({ sd: 0.1 }), 0.05)).toBe(0);
    expect(guardBandsForResultWithPrior(decision({ sd: 0.1, u: 1 }), 0.05)).toEqual({ lower: 0, upper: 0 });
    expect(guardBandsForResultWithPrior(decision({ sd: 0 }), 0.05)).toEqual({ lower: 0, upper: 0 });
    expect(guardBandForProcess(decision({ u: 0, sd: 5 }), 0.05)).toBe(0);
  });

  test('none is enough is null: an uncertainty as wide as the tolerance, a process outside it', () => {
    expect(guardBandForResult(1, { lower: -1, upper: 1 }, 0.05)).toBeNull();
    expect(guardBandsForResultWithPrior(decision({ sd: 5, u: 1 }), 0.05)).toEqual({ lower: null, upper: null });
    expect(guardBandForProcess(decision({ sd: 5, u: 1 }), 0.05)).toBeNull();
    expect(guardBandsForResultWithPrior(decision({ sd: 0, mean: 2 }), 0.05)).toEqual({ lower: null, upper: null });
    expect(guardBandForProcess(decision({ mean: 1e6 }), 0.05)).toBeNull();
  });

  test('a missing limit has no guard band; the other may lie as far inside as it must', () => {
    const given = decision({ lower: null, mean: 5 });
    const { lower, upper } = guardBandsForResultWithPrior(given, 0.05);
    expect(lower).toBeNull();
    const at = conformanceWithPrior({ value: 1 - upper!, u: given.u }, given.process, given.tolerance);
    near(at!.above, 0.05, 1e-9);
    const whole = guardBandForProcess(given, 0.05)!;
    near(decisionRisk(given, whole).nonconformingGivenAccepted, 0.05, 1e-9);
  });
});

describe("guard band for the consumer's risk of a process", () => {
  test.each([0.001, 0.005, 0.01])('%d of all parts are bad and accepted with just that band', (most) => {
    const given = decision({ sd: 0.5 });
    const w = guardBandForConsumerRisk(given, most);
    if (w === 0) expect(decisionRisk(given, 0).consumerRisk).toBeLessThanOrEqual(most);
    else expect(decisionRisk(given, w ?? 0).consumerRisk).toBeCloseTo(most, 10);
  });

  test('a risk that is kept without one needs none', () => {
    expect(guardBandForConsumerRisk(decision({ sd: 0.01 }), 0.02)).toBe(0);
  });

  test.each([0, 1, Number.NaN])('a wanted risk of %d is refused', (most) => {
    expect(() => guardBandForConsumerRisk(decision(), most)).toThrow(
      expect.objectContaining({ key: 'max_probability' }) as Error,
    );
  });
});
