import { mean, sampleStandardDeviation } from 'simple-statistics';
import { describe, expect, test } from 'vitest';
import type { AuditReading, Cell, EvaluationInput } from '../../../../server/audit/evaluation/contract.ts';
import { evaluate } from '../../../../server/audit/evaluation/evaluate.ts';
import { overallBounds } from '../../../../server/quality/capability/capability-bounds.ts';
import { individualsCapability } from '../../../../server/quality/capability/capability.ts';
import { GOOD, POINTS_KPA, STAGES, drawnAudit, givenAudit, truthAt } from '../../../support/audit-population.ts';

const AMBIENT = STAGES.slice(1, 2);

/** Errors of one point at ambient, where 1.5 kPa is allowed. */
const atOnePoint = (errors: readonly number[]): EvaluationInput =>
  givenAudit(
    errors.map((each) => [[each]]),
    AMBIENT,
  );

function onlyCell(input: EvaluationInput): Cell {
  const { cells } = evaluate(input);
  const [cell] = cells;
  if (cell === undefined || cells.length > 1) throw new Error(`${cells.length} cells`);
  return cell;
}

const allowing = (input: EvaluationInput, allowed: (reading: AuditReading, k: number) => number): EvaluationInput => ({
  ...input,
  readings: input.readings.map((each, k) => ({ ...each, allowedKpa: allowed(each, k) })),
});

/** Half of them as much below the mean as the other half is above: an exact mean and standard deviation. */
function valuesWith(n: number, centre: number, sd: number): number[] {
  const off = sd * Math.sqrt((n - 1) / n);
  return Array.from({ length: n }, (_, k) => centre + (k % 2 === 0 ? off : -off));
}

describe('by hand', () => {
  test('two parts 0.1 and 0.3 kPa off of 1.5 allowed: mean 0.2, sd 0.1414, Ppk 1.3/(3 x 0.1414) = 3.064, margin 0.8', () => {
    const cell = onlyCell(atOnePoint([0.1, 0.3]));
    expect(cell).toMatchObject({ stage: 2, step: '20-kpa', pointKpaAbs: 20, n: 2, worstSerial: 'AQ1105-26B-00002' });
    expect(cell.meanKpa).toBeCloseTo(0.2, 12);
    expect(cell.sdKpa).toBeCloseTo(0.1414214, 6);
    expect(cell.allowedKpa).toBeCloseTo(1.5, 12);
    expect(cell.ppk).toBeCloseTo(3.064129, 5);
    expect(cell.margin).toBeCloseTo(0.8, 12);
  });

  test('limits move with the part: 1.5 of 3 and 0.5 of 1 kPa are the same share, and shares without spread have no Ppk', () => {
    const cell = onlyCell(allowing(atOnePoint([1.5, 0.5]), (_, k) => (k === 0 ? 3 : 1)));
    expect(cell).toMatchObject({ ppk: null, atLeast: null, allowedKpa: 2, meanKpa: 1, margin: 0.5 });
    expect(cell.sdKpa).toBeCloseTo(Math.SQRT1_2, 12);
  });

  test('shares -0.2, 0 and 0.5 of 1, 2 and 4 kPa: mean 0.1, sd 0.3606, Ppk 0.9/(3 x 0.3606) = 0.832', () => {
    const cell = onlyCell(allowing(atOnePoint([-0.2, 0, 2]), (_, k) => [1, 2, 4][k] ?? 1));
    expect(cell.meanKpa).toBeCloseTo(0.6, 12);
    expect(cell.ppk).toBeCloseTo(0.9 / (3 * Math.sqrt(0.13)), 12);
    expect(cell.worstSerial).toBe('AQ1105-26B-00003');
  });

  test('a part that failed counts: what is outside pulls Ppk below 1/3 of what is left without it', () => {
    const good = [0.1, -0.1, 0.2, -0.2, 0];
    const all = onlyCell(atOnePoint([...good, 2]));
    expect(all.n).toBe(6);
    expect(all.margin).toBeCloseTo(1 - 2 / 1.5, 12);
    expect(all.ppk ?? 0).toBeLessThan((onlyCell(atOnePoint(good)).ppk ?? 0) / 3);
  });

  test('one part: a mean and a margin, nothing of spread', () => {
    expect(onlyCell(atOnePoint([0.3]))).toMatchObject({
      n: 1,
      meanKpa: 0.3,
      sdKpa: null,
      ppk: null,
      atLeast: null,
      margin: 0.8,
      normality: { p: null, adjusted: null },
      tolerance: null,
    });
  });

  test('a stage without readings has no cells, and no readings nothing at all', () => {
    const half = evaluate(givenAudit([[[0.1, 0.2], null, null]]));
    expect(half.cells.map(({ stage, step }) => [stage, step])).toEqual([
      [1, '20-kpa'],
      [1, '40-kpa'],
    ]);
    expect(evaluate(givenAudit([]))).toMatchObject({
      cells: [],
      weakest: null,
      normality: { tests: 0, smallest: null, isNormal: null },
      drifts: [],
      lineAgainstLab: null,
      findings: [],
      bad: 0,
      notJudged: 0,
      ppkToProve: null,
    });
  });

  test('the weakest has the smallest Ppk; without any, the smallest margin', () => {
    // At 20 kPa Ppk 0.50 and margin 0.33; at 40 kPa Ppk 13.9 and margin 0.19.
    const two = [[[0.1, 1.2]], [[1, 1.21]]];
    expect(evaluate(givenAudit(two, AMBIENT)).weakest).toEqual({ stage: 2, step: '20-kpa' });
    expect(evaluate(givenAudit([[[-0.4, 0.3]]], AMBIENT)).weakest).toEqual({ stage: 2, step: '20-kpa' });
  });
});

describe('published', () => {
  // A one-sided tolerance factor k1 is three times the index that just proves the normal quantile of p over 3.
  test('10 parts 2.911 sd from the nearer limit prove 1.645 sd at 95 % (Odeh & Owen 1980, ISO 16269-6; from memory)', () => {
    const sd = 0.1;
    const input = atOnePoint(valuesWith(10, 1.5 * (1 - 2.911 * sd), 1.5 * sd));
    const cell = onlyCell(input);
    expect(3 * (cell.ppk ?? 0)).toBeCloseTo(2.911, 9);
    expect(3 * (cell.atLeast ?? 0)).toBeCloseTo(1.644854, 3);
    expect(3 * (evaluate({ ...input, wantedPpk: 1.644854 / 3 }).ppkToProve ?? 0)).toBeCloseTo(2.911, 3);
  });

  test.each([
    { n: 5, factor: 6.6 },
    { n: 10, factor: 4.44 },
    { n: 12, factor: 4.16 },
    { n: 15, factor: 3.89 },
    { n: 30, factor: 3.35 },
  ])(
    '0.99 of parts, 0.95 sure: $n parts reach $factor sd (Berthouex & Brown, "Statistics for Environmental Engineers", table 21.1)',
    ({ n, factor }) => {
      const cell = onlyCell(atOnePoint(Array.from({ length: n }, (_, k) => 0.01 * k * k)));
      const { lowKpa, highKpa } = cell.tolerance ?? { lowKpa: 0, highKpa: 0 };
      expect((lowKpa + highKpa) / 2).toBeCloseTo(cell.meanKpa, 9);
      // The table is rounded, and by an approximation that is 0.01 off at most.
      expect(Math.abs((highKpa - lowKpa) / 2 / (cell.sdKpa ?? 0) - factor)).toBeLessThan(0.02);
    },
  );

  // Weights of 11 men: W 0.79, p 0.0067 (Shapiro & Wilk, Biometrika 52 (1965) 591-611; p by Royston's approximation; from memory).
  test('weights of 11 men are not normal with p 0.0067, among two such cells twice that', () => {
    const men = [148, 154, 158, 160, 161, 162, 166, 170, 182, 195, 236].map((each) => (each - 172) / 100);
    const one = evaluate(atOnePoint(men));
    expect(one.cells[0]?.normality.p).toBeCloseTo(0.0067, 4);
    expect(one.cells[0]?.normality.adjusted).toBe(one.cells[0]?.normality.p);
    const two = evaluate(
      givenAudit(
        men.map((each) => [[each, -each]]),
        AMBIENT,
      ),
    );
    expect(two.normality).toMatchObject({ tests: 2, isNormal: false });
    expect(two.normality.smallest).toBeCloseTo(0.0134, 4);
    expect(two.findings.map(({ code }) => code)).toEqual(['not-normal', 'not-normal']);
  });
});

describe('a known population', () => {
  const population = { ...GOOD, parts: 1000, offsetPerK: 0.004, spanPerK: -0.006 };
  const input = drawnAudit(population, 7);
  const { cells } = evaluate(input);

  test('means, spreads and Ppk of 1000 parts are those of the population within four standard errors', () => {
    expect(cells).toHaveLength(STAGES.length * POINTS_KPA.length);
    for (const cell of cells) {
      const targetC = STAGES.find(({ stage }) => stage === cell.stage)?.targetC ?? 0;
      const truth = truthAt(population, targetC, cell.pointKpaAbs);
      const ppk = (cell.allowedKpa - Math.abs(truth.mean)) / (3 * truth.sd);
      expect(Math.abs(cell.meanKpa - truth.mean)).toBeLessThan((4 * truth.sd) / Math.sqrt(cell.n));
      expect(Math.abs((cell.sdKpa ?? 0) / truth.sd - 1)).toBeLessThan(4 / Math.sqrt(2 * cell.n));
      expect(Math.abs((cell.ppk ?? 0) / ppk - 1)).toBeLessThan(4 / Math.sqrt(2 * cell.n) + 0.01);
      expect(cell.atLeast ?? 0).toBeLessThan(cell.ppk ?? 0);
      expect(cell.atLeast ?? 0).toBeGreaterThan(0.93 * (cell.ppk ?? 0));
    }
  });

  test('mean, spread and Ppk as a general library has them', () => {
    for (const { stage, step, meanKpa, sdKpa, ppk } of cells) {
      const here = input.readings.filter((each) => each.stage === stage && each.step === step);
      const shares = here.map(({ errorKpa, allowedKpa }) => errorKpa / allowedKpa);
      expect(meanKpa).toBeCloseTo(mean(here.map(({ errorKpa }) => errorKpa)), 12);
      expect(sdKpa).toBeCloseTo(sampleStandardDeviation(here.map(({ errorKpa }) => errorKpa)), 12);
      expect(ppk).toBeCloseTo((1 - Math.abs(mean(shares))) / (3 * sampleStandardDeviation(shares)), 9);
    }
  });

  test('the bound is that of the nearer side among all bounds of the shares', () => {
    for (const { stage, step, atLeast } of cells) {
      const here = input.readings.filter((each) => each.stage === stage && each.step === step);
      const shares = here.map(({ errorKpa, allowedKpa }) => errorKpa / allowedKpa);
      expect(atLeast).toBe(overallBounds(individualsCapability(shares, { lsl: -1, usl: 1 }))?.nearerAtLeast);
    }
  });

  test('the weakest point is where the population has it: the highest pressure, hot', () => {
    const worst = STAGES.flatMap(({ stage, condition, targetC }) =>
      POINTS_KPA.map((kPaAbs) => {
        const { mean: centre, sd } = truthAt(population, targetC, kPaAbs);
        const allowed = condition === 'ambient' ? 1.5 : 4.5;
        return { stage, step: `${kPaAbs}-kpa`, ppk: (allowed - Math.abs(centre)) / (3 * sd) };
      }),
    ).reduce((least, each) => (each.ppk < least.ppk ? each : least));
    expect(evaluate(input).weakest).toEqual({ stage: worst.stage, step: worst.step });
  });
});
