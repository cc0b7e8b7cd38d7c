import { readFileSync } from 'node:fs';
import { linearRegression, linearRegressionLine, mean, sampleStandardDeviation } from 'simple-statistics';
import { describe, expect, test } from 'vitest';
import { errorOf } from '../../../../server/audit/evidence.ts';
import { characteristicsOf } from '../../../../server/audit/evaluation/characteristics.ts';
import type { AuditPoint, AuditReading, EvaluationInput } from '../../../../server/audit/evaluation/contract.ts';
import { evaluate } from '../../../../server/audit/evaluation/evaluate.ts';
import { hashOf } from '../../../../station/hash.ts';
import { checkContent } from '../../../../station/profile/checks.ts';
import type { ProfileRevision } from '../../../../station/profile/schema.ts';
import { pointOfStep, takenPoints } from '../../../../station/profile/audit-points.ts';
import { slopeVPerKpa } from '../../../../station/profile/transfer.ts';
import { middlePart, partModelOf } from '../../../../station/rig/simulated/part.ts';
import type { PartTruth } from '../../../../station/rig/simulated/part.ts';
import { givenAudit, STAGES } from '../../../support/audit-population.ts';
import { profileNamed, runOn, stationFor } from '../../../support/simulated-plant.ts';

const AMBIENT = STAGES.slice(1, 2);
const STAGE = AMBIENT[0]?.stage ?? 0;

interface Taken {
  readonly step: string;
  readonly kPaAbs: number;
  readonly branch: AuditPoint['branch'];
  readonly again?: AuditPoint['again'];
  /** Error of each part, kPa. */
  readonly errors: readonly number[];
}

/** An audit at ambient of parts with given errors at given points. */
function auditOf(points: readonly Taken[], lags: readonly number[] = []): EvaluationInput {
  const serial = (k: number): string => `AQ1105-26B-${String(k + 1).padStart(5, '0')}`;
  const readings = points.flatMap(({ step, kPaAbs, errors }) =>
    errors.map(
      (errorKpa, k): AuditReading => ({
        ...{ serial: serial(k), nest: k + 1, stage: STAGE, step, pointKpaAbs: kPaAbs, errorKpa },
        ...{ uKpa: 0.02, allowedKpa: 1.5, partC: 23 },
      }),
    ),
  );
  return {
    ...givenAudit([[[0]]], AMBIENT),
    points: points.map(({ step, kPaAbs, branch, again = null }) => ({ step, kPaAbs, branch, again })),
    readings,
    lags: lags.map((lagMs, k) => ({ serial: serial(k), nest: k + 1, stage: STAGE, lagMs, uMs: 0.3, limitMs: 20 })),
    spanKpa: 100,
  };
}

const there = (kPaAbs: number, errors: readonly number[]): Taken => ({
  ...{ step: `${kPaAbs}-kpa`, kPaAbs, branch: 'falling', errors },
});
const back = (kPaAbs: number, errors: readonly number[]): Taken => ({
  ...{ step: `${kPaAbs}-kpa:rising`, kPaAbs, branch: 'rising', errors },
  again: { of: `${kPaAbs}-kpa`, supplyV: null },
});

describe('by hand', () => {
  const input = auditOf([
    there(60, [0.2, 0.1]),
    there(40, [0.1, 0.1]),
    there(20, [0, 0.1]),
    back(40, [0, 0.06]),
    back(60, [0.1, 0.07]),
  ]);
  const found = characteristicsOf(input);

  test('hysteresis is rising less falling: -0.1 and -0.04 at 40 kPa, mean -0.07, s 0.0424, largest that of the first part', () => {
    expect(found.hysteresis.map(({ step }) => step)).toEqual(['40-kpa', '60-kpa']);
    const [at40, at60] = found.hysteresis;
    expect(at40).toMatchObject({ stage: STAGE, n: 2, serial: 'AQ1105-26B-00001' });
    expect(at40?.mean).toBeCloseTo(-0.07, 12);
    expect(at40?.sd).toBeCloseTo(0.06 / Math.SQRT2, 12);
    expect(at40?.largest).toBeCloseTo(-0.1, 12);
    expect(at60?.parts.map(({ value }) => value)).toEqual([expect.closeTo(-0.1, 12), expect.closeTo(-0.03, 12)]);
  });

  test('the mean of both ways is straight where errors 0, 0.05 and 0.15 at 20, 40 and 60 kPa are not', () => {
    // Least squares through (20, 0), (40, 0.1), (40, 0), (60, 0.2), (60, 0.1), with a general library.
    const line = linearRegressionLine(
      linearRegression([
        [20, 0],
        [40, 0.1],
        [40, 0],
        [60, 0.2],
        [60, 0.1],
      ]),
    );
    const off = [0 - line(20), 0.05 - line(40), 0.15 - line(60)].reduce((a, b) => (Math.abs(b) > Math.abs(a) ? b : a));
    expect(found.linearity).toHaveLength(1);
    expect(found.linearity[0]?.parts[0]?.value).toBeCloseTo(off, 12);
  });

  test('no way back, no hysteresis and no linearity; one part has no spread', () => {
    const once = characteristicsOf(auditOf([there(60, [0.2]), there(40, [0.1])], [3]));
    expect(once).toMatchObject({ hysteresis: [], linearity: [], supply: [] });
    expect(once.response).toMatchObject([{ n: 1, mean: 3, sd: null, largest: 3, limitMs: 20 }]);
  });

  test('two pressures leave nothing to depart from', () => {
    const two = characteristicsOf(auditOf([there(60, [0.2]), there(20, [0.1]), back(60, [0.1])]));
    expect(two.linearity).toEqual([]);
  });

  test('a supply is held against the reading before it, and a part without that reading is left out', () => {
    const low = {
      step: '60-kpa:low-supply',
      kPaAbs: 60,
      branch: 'rising',
      again: { of: '60-kpa:rising', supplyV: 4.85 },
    } as const;
    const parts = auditOf([there(60, [0.2, 0.1]), back(60, [0.15]), { ...low, errors: [0.05, 0.4] }]);
    const [found, ...others] = characteristicsOf(parts).supply;
    expect(others).toEqual([]);
    expect(found).toMatchObject({ step: '60-kpa:low-supply', supplyV: 4.85, n: 1, serial: 'AQ1105-26B-00001' });
    expect(found?.mean).toBeCloseTo(-0.1, 12);
  });

  test('response over the sample: mean and s as a general library has them', () => {
    const lags = [0.5, 1.25, -0.3, 2];
    const [response] = characteristicsOf(auditOf([there(60, [0, 0, 0, 0])], lags)).response;
    expect(response).toMatchObject({ n: 4, largest: 2, serial: 'AQ1105-26B-00004' });
    expect(response?.mean).toBeCloseTo(mean(lags), 12);
    expect(response?.sd).toBeCloseTo(sampleStandardDeviation(lags), 12);
  });
});

interface ReferenceCase {
  readonly id: string;
  readonly input: {
    readonly a: number;
    readonly vs_nominal: number;
    readonly cycles: readonly Record<'up' | 'down', readonly { p: number }[]>[];
  };
  readonly expected: {
    readonly hysteresis: { readonly pressures: readonly number[]; readonly up_minus_down_v: readonly number[] };
    readonly linearity_best_fit: { readonly deviation_v: readonly number[] };
    readonly total_error_band: { readonly error_kpa: readonly number[] };
  };
}

test('a sweep that was worked out with 40 digits elsewhere (reference set sensor-fit, one-cycle)', () => {
  const set = JSON.parse(readFileSync('tests/reference/quality/sensor-fit.json', 'utf8')) as { cases: ReferenceCase[] };
  const { input, expected } = set.cases.find(({ id }) => id === 'one-cycle')!;
  const [cycle] = input.cycles;
  const up = cycle?.up ?? [];
  const errors = expected.total_error_band.error_kpa;
  const vPerKpa = input.a * input.vs_nominal;
  const points = [
    ...(cycle?.down ?? []).map(({ p }, k) => there(p, [errors[up.length + k] ?? NaN])),
    ...up.map(({ p }, k) => back(p, [errors[k] ?? NaN])),
  ];
  const { hysteresis, linearity } = characteristicsOf(auditOf(points));
  for (const [k, p] of expected.hysteresis.pressures.entries()) {
    const here = hysteresis.find(({ step }) => step === `${p}-kpa`);
    expect(here?.mean).toBeCloseTo((expected.hysteresis.up_minus_down_v[k] ?? NaN) / vPerKpa, 9);
  }
  const largest = Math.max(...expected.linearity_best_fit.deviation_v.map(Math.abs));
  expect(Math.abs(linearity[0]?.largest ?? NaN)).toBeCloseTo(largest / vPerKpa, 9);
});

describe('points that only audits take', () => {
  const line = [there(100, [0.1, 0.3]), there(60, [0.1, 0.2]), there(20, [0.1, 0.25])];
  const bare = evaluate(auditOf(line));
  const more = evaluate(auditOf([...line, back(60, [0.1, 1.4])]));

  test('leave the cells of the line and their Ppk as they were, and are cells of their own', () => {
    const numbers = (cells: typeof bare.cells) => cells.map(({ normality: _, ...cell }) => cell);
    expect(numbers(more.cells).slice(0, 3)).toEqual(numbers(bare.cells));
    expect(more.cells.map(({ step }) => step)).toEqual(['100-kpa', '60-kpa', '20-kpa', '60-kpa:rising']);
  });

  test('are seen by the proposal when they are the weakest', () => {
    expect(bare.weakest).not.toEqual(more.weakest);
    expect(more.weakest).toEqual({ stage: STAGE, step: '60-kpa:rising' });
  });
});

/** The readings of simulated parts in one audit cycle, by the product's own way from volts to kPa. */
async function audited(
  partNumber: string,
  changes: readonly Partial<PartTruth>[],
  profile: ProfileRevision = profileNamed(partNumber),
) {
  const station = await stationFor(partNumber, { kind: 'audit', profile });
  const part = middlePart(partModelOf(profile.content));
  const { measurement } = await runOn(
    station,
    changes.map((change) => ({ ...part, ...change })),
    { seed: 7 },
  );
  const { content } = profile;
  const slope = slopeVPerKpa(content.transfer, content.supply.nominalV);
  const readings = measurement.judgements.flatMap((judgement): AuditReading[] => {
    const error = errorOf(judgement, slope);
    const read = measurement.readings.find(
      (each) => each.kind === 'output' && each.nest === judgement.nest && each.step === judgement.step,
    );
    const at = pointOfStep(content, judgement.step)?.at;
    if (error === null || at === undefined || read?.kind !== 'output') return [];
    const pointKpaAbs = at.kind === 'absolute' ? at.kPaAbs : read.barometerKpaAbs.value;
    return [
      {
        ...error,
        serial: `T-${judgement.nest}`,
        nest: judgement.nest + 1,
        stage: STAGE,
        step: judgement.step,
        pointKpaAbs,
        partC: 23,
      },
    ];
  });
  const points = takenPoints(content, 'audit').map(({ id, at, branch, of, step }) => ({
    ...{ step: id, kPaAbs: at.kind === 'absolute' ? at.kPaAbs : null, branch },
    again: of === null ? null : { of, supplyV: step?.setV ?? null },
  }));
  const supplyV = (step: string, nest: number): number =>
    measurement.readings.flatMap((each) =>
      each.kind === 'output' && each.step === step && each.nest === nest ? [each.supplyV.value] : [],
    )[0] ?? NaN;
  return { found: characteristicsOf({ ...auditOf([]), points, readings }), supplyV, readings };
}

/** Scatter of the difference of two readings, kPa: 2.2e-4 of the span in single samples, a hundred of them, and the meters. */
const SCATTER_KPA = 0.012;

/** A relative change of the supply as far as it goes beyond the 1 % that a part is trimmed for. */
const beyondTrim = (off: number): number => Math.sign(off) * (Math.abs(off) - 0.01);

describe('simulated parts of known size', () => {
  /**
   * Play operators in closed form: falling from 150 to 20 kPa all stand their radius above the pressure; after the turn each
   * has moved by twice its radius at most. Radii 2, 10 and 30 kPa, weights 0.002, 0.002, 0.001.
   */
  const hysteresisKpa = (kPaAbs: number): number =>
    [
      [2, 0.002],
      [10, 0.002],
      [30, 0.001],
    ].reduce((sum, [radius = 0, weight = 0]) => sum - weight * Math.min(2 * radius, kPaAbs - 20), 0);

  test('hysteresis of one and five times the usual size', async () => {
    const { found } = await audited('AQ-1105', [{ hysteresis: 1 }, { hysteresis: 5 }]);
    for (const kPaAbs of [40, 60, 80]) {
      const here = found.hysteresis.find(({ step }) => step === `${kPaAbs}-kpa`);
      const [one, five] = here?.parts ?? [];
      expect(Math.abs((one?.value ?? NaN) - hysteresisKpa(kPaAbs))).toBeLessThan(SCATTER_KPA);
      expect(Math.abs((five?.value ?? NaN) - 5 * hysteresisKpa(kPaAbs))).toBeLessThan(SCATTER_KPA + 0.03 * 5 * 0.108);
    }
  });

  test('a bow of 0.6 kPa departs from the straight line as a general library says', async () => {
    const { found, readings } = await audited('AQ-1105', [
      { bowKpa: 0.6, hysteresis: 0 },
      { bowKpa: 0, hysteresis: 0 },
    ]);
    const bow = (kPaAbs: number): number => 0.6 * 4 * ((kPaAbs - 15) / 100) * (1 - (kPaAbs - 15) / 100);
    const pressures = readings
      .filter(({ nest, step }) => nest === 1 && !step.endsWith('supply'))
      .map(({ pointKpaAbs }) => pointKpaAbs);
    const line = linearRegressionLine(linearRegression(pressures.map((p) => [p, bow(p)])));
    const off = pressures.map((p) => bow(p) - line(p)).reduce((a, b) => (Math.abs(b) > Math.abs(a) ? b : a));
    const [bent, straight] = found.linearity[0]?.parts ?? [];
    expect(Math.abs(off)).toBeGreaterThan(0.2);
    expect(Math.abs((bent?.value ?? NaN) - off)).toBeLessThan(SCATTER_KPA);
    expect(Math.abs(straight?.value ?? NaN)).toBeLessThan(SCATTER_KPA);
  });

  test('a ratiometric output that is off by half of the change of supply, where it was trimmed for 1 %', async () => {
    const { found, supplyV } = await audited('AQ-1105', [{ supplyEffect: 0.5 }, { supplyEffect: 0 }]);
    expect(found.supply.map((each) => each.supplyV)).toEqual([4.85, 5.15]);
    for (const { step, parts } of found.supply) {
      // At 60 kPa the output is 0.445 of the supply, and 0.009 of it is 1 kPa.
      const wanted = (0.5 * beyondTrim(supplyV(step, 0) / 5 - 1) * (0.009 * 60 - 0.095)) / 0.009;
      expect(Math.abs(wanted)).toBeGreaterThan(0.2);
      expect(Math.abs((parts[0]?.value ?? NaN) - wanted)).toBeLessThan(SCATTER_KPA);
      expect(Math.abs(parts[1]?.value ?? NaN)).toBeLessThan(SCATTER_KPA);
    }
  });

  test('a regulated output that follows a tenth of its supply, and one that does not', async () => {
    const { content: plain } = profileNamed('AQ-1112');
    const method = { name: 'supply-step', version: 1 } as const;
    const supply = { method, at: '20-kpa', lowV: 9, highV: 15, settleMs: 60, apertureMs: 100 };
    const content = { ...plain, auditPoints: { supply } };
    expect(checkContent(content)).toEqual([]);
    const profile = { revision: 9, content, hash: hashOf(content) };
    const { found, supplyV } = await audited('AQ-1112', [{ supplyEffect: 0.1 }, { supplyEffect: 0 }], profile);
    expect(found.supply.map((each) => each.supplyV)).toEqual([9, 15]);
    for (const { step, parts } of found.supply) {
      // At 20 kPa the output is 0.7 V, and 40 mV of it are 1 kPa.
      const wanted = (0.1 * beyondTrim(supplyV(step, 0) / 12 - 1) * (0.04 * 20 - 0.1)) / 0.04;
      expect(Math.abs(wanted)).toBeGreaterThan(0.3);
      expect(Math.abs((parts[0]?.value ?? NaN) - wanted)).toBeLessThan(SCATTER_KPA);
      expect(Math.abs(parts[1]?.value ?? NaN)).toBeLessThan(SCATTER_KPA);
    }
  });
});
