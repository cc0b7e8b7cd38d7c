import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { judge, judgeReading } from '../../../station/cycle/judge.ts';
import type { Reading } from '../../../station/cycle/reading.ts';
import { isComplete, resultsOf } from '../../../station/cycle/verdict.ts';
import { outputAt } from '../../../station/profile/transfer.ts';
import { makePlan, type Plan } from '../../../station/profile/plan.ts';
import { goodPart, profileNamed, runOn, stationFor } from '../../support/simulated-plant.ts';

const { plan } = await stationFor('AQ-1105');
const exact = (value: number, u = 0) => ({ value, u });

function outputReading(over: {
  kPaAbs?: number;
  outputV?: number;
  supplyV?: number;
  partC?: number;
  u?: number;
  step?: string;
}): Reading {
  const { kPaAbs = 60, supplyV = 5, partC = 23, u = 0, step = '60-kpa' } = over;
  const outputV = over.outputV ?? outputAt(plan.profile.content.transfer, kPaAbs, supplyV);
  return {
    nest: 0,
    step,
    fromMs: 0,
    toMs: 100,
    kind: 'output',
    outputV: exact(outputV, u),
    supplyV: exact(supplyV),
    referenceKpaAbs: exact(kPaAbs),
    barometerKpaAbs: exact(101.325),
    partC: exact(partC),
  };
}

describe('an output against its limits', () => {
  test('a low supply lowers the output in proportion and fails nobody (ratiometric; check value 22, data sheet formula)', () => {
    // 4.900 V instead of 5.000 V at 100 kPa: 3.9445 V. Read against an assumed 5 V it would be 1.79 kPa low.
    const low = outputReading({ kPaAbs: 100, outputV: 3.9445, supplyV: 4.9, step: 'ambient' });
    const judgement = judgeReading(plan, low);
    expect(judgement.verdict).toBe('pass');
    const errorKpa = judgement.arithmetic.find(([term]) => term === 'error')?.[1];
    expect(errorKpa).toBeCloseTo(0, 9);
  });

  test('the reading is judged at the pressure that was there, 0.4 kPa beside its target', () => {
    const judgement = judgeReading(plan, outputReading({ kPaAbs: 60.4 }));
    expect(judgement.value).toBeCloseTo(5 * (0.009 * 60 - 0.095), 9);
    expect(judgement.margin).toBeCloseTo(1, 9);
  });

  test.each([
    { partC: 23, halfV: 0.0675, source: 'check value 5: 1.5 kPa at 25 °C' },
    { partC: -40, halfV: 0.2025, source: 'check value 6: factor 3 at -40 °C' },
    { partC: -20, halfV: 0.135, source: 'check value 9: factor 2 at -20 °C, linear' },
    { partC: 125, halfV: 0.2025, source: 'check value 12: factor 3 at +125 °C' },
  ])('the band at $partC °C is ±$halfV V ($source, data sheet formula)', ({ partC, halfV }) => {
    const { low, high } = judgeReading(plan, outputReading({ partC }));
    expect(((high ?? 0) - (low ?? 0)) / 2).toBeCloseTo(halfV, 6);
  });

  test('a part of the number whose hot factor differs is judged by its own: ±0.118125 V at 125 °C (check value 7)', async () => {
    const other = (await stationFor('AQ-1107')).plan;
    const { low, high } = judgeReading(other, outputReading({ partC: 125 }));
    expect(((high ?? 0) - (low ?? 0)) / 2).toBeCloseTo(0.118125, 6);
  });

  test('on the line a guard band of 1.645 u comes off once; in the audit nothing does (JCGM 106 8.3, from memory)', () => {
    const edge = judgeReading(plan, outputReading({})).high ?? 0;
    const near = outputReading({ outputV: edge - 1.6e-3, u: 1e-3 });
    const onLine = judgeReading(plan, near);
    expect(onLine).toMatchObject({ verdict: 'fail', inGuardBand: true });
    expect(onLine.guard).toBeCloseTo(1.645 * onLine.u, 12);
    const audit: Plan = { ...plan, kind: 'audit', rule: plan.profile.content.rules.audit };
    expect(judgeReading(audit, near)).toMatchObject({ verdict: 'pass', guard: 0, inGuardBand: false });
  });

  test('margin falls and never turns back as the output leaves its expected value', () => {
    const volts = fc.double({ min: 0, max: 0.5, noNaN: true });
    fc.assert(
      fc.property(volts, volts, (a, b) => {
        const [near, far] = a < b ? [a, b] : [b, a];
        const at = (off: number) => judgeReading(plan, outputReading({ outputV: 2.225 + off }));
        expect(at(far).margin).toBeLessThanOrEqual(at(near).margin);
        if (at(near).verdict === 'fail') expect(at(far).verdict).toBe('fail');
      }),
    );
  });

  test('a larger uncertainty never turns a fail into a pass', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 2, max: 2.5, noNaN: true }),
        fc.double({ min: 0, max: 0.1, noNaN: true }),
        fc.double({ min: 0, max: 0.1, noNaN: true }),
        (outputV, u1, u2) => {
          const [small, large] = u1 < u2 ? [u1, u2] : [u2, u1];
          const sure = judgeReading(plan, outputReading({ outputV, u: small })).verdict;
          if (sure === 'fail') expect(judgeReading(plan, outputReading({ outputV, u: large })).verdict).toBe('fail');
        },
      ),
    );
  });
});

describe('results', () => {
  const run = async () => {
    const station = await stationFor('AQ-1105');
    return runOn(station, [goodPart(station.profile, 1), goodPart(station.profile, 2)], { seed: 8 });
  };

  test('a part passes only with every reading of its plan: take any one away and it does not', async () => {
    const { measurement } = await run();
    const own = measurement.readings.filter(({ nest }) => nest === 0);
    expect(isComplete(plan, own)).toBe(true);
    for (const missing of own) {
      const left = measurement.readings.filter((reading) => reading !== missing);
      expect(() => resultsOf(plan, measurement.load, left, judge(plan, left), [])).toThrow('every reading of its plan');
    }
    const doubled = [...measurement.readings, ...own.slice(0, 1)];
    expect(() => resultsOf(plan, measurement.load, doubled, judge(plan, doubled), [])).toThrow(
      'every reading of its plan',
    );
  });

  test('any fault of the station leaves every nest unjudged, however good the readings', async () => {
    const { measurement } = await run();
    const fault = { code: 'guard-open', phase: 'vent', nest: null, facts: {} } as const;
    const results = resultsOf(plan, measurement.load, measurement.readings, measurement.judgements, [fault]);
    expect(results.map(({ verdict }) => verdict)).toEqual(['none', 'none']);
  });

  test('stored readings can be judged again under another profile', async () => {
    const { measurement } = await run();
    const profile = profileNamed('AQ-1105');
    const content = { ...profile.content, errorBand: { ...profile.content.errorBand, kPa: 0.05 } };
    const strict = makePlan({
      profile: { ...profile, content },
      rig: plan.rig.revision,
      kind: 'line',
      condition: 'ambient',
      plant: [],
    });
    const again = resultsOf(strict, measurement.load, measurement.readings, judge(strict, measurement.readings), []);
    expect(again.map(({ verdict }) => verdict)).toEqual(['fail', 'fail']);
  });
});
