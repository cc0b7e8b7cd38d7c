import { mean, sampleStandardDeviation } from 'simple-statistics';
import { describe, expect, test } from 'vitest';
import { compareAudits } from '../../../../server/audit/comparison/compare.ts';
import type { Comparable } from '../../../../server/audit/comparison/contract.ts';
import type { EvaluationInput } from '../../../../server/audit/evaluation/contract.ts';
import { evaluate } from '../../../../server/audit/evaluation/evaluate.ts';
import { comparisonCsv } from '../../../../server/report/comparison-csv.ts';
import { comparisonEnglish } from '../../../../station/words/comparison-en.ts';
import { comparisonSpanish } from '../../../../station/words/comparison-es.ts';
import { caveatText, comparisonAnswer } from '../../../../station/words/comparison-text.ts';
import { placesOf } from '../../../../station/words/fill.ts';
import { voiceOf } from '../../../../server/report/pdf/voice.ts';
import { BACK, STAGES, drawnAudit, givenAudit } from '../../../support/audit-population.ts';
import { auditView } from '../../../support/audit-view.ts';

const view = auditView();
const { tongue } = voiceOf(view, 'en', 'UTC');
const ENGLISH = [tongue, comparisonEnglish] as const;
const SPANISH = [voiceOf(view, 'es', 'UTC').tongue, comparisonSpanish] as const;
const NAMES = { here: 'K24-3', there: 'K23-2' };

/** An audit of what was measured; serials of another sample unless it is told otherwise. */
function audit(input: EvaluationInput, change: Partial<Comparable> & { readonly sample?: string } = {}): Comparable {
  const { sample = 'A', ...more } = change;
  const serialOf = (serial: string): string => `${sample}-${serial}`;
  const own = {
    ...input,
    parts: input.parts.map((part) => ({ ...part, serial: serialOf(part.serial) })),
    readings: input.readings.map((reading) => ({ ...reading, serial: serialOf(reading.serial) })),
    line: [],
  };
  return { ...view, audit: sample, ...more, input: own, evaluation: evaluate(own) };
}

/** Errors of 2 x pairs parts at ambient, one point: mean and sd as given, exactly. */
const exactly = (centre: number, sd: number, pairs = 6): EvaluationInput => {
  const n = 2 * pairs;
  const off = sd * Math.sqrt((n - 1) / n);
  return givenAudit(
    Array.from({ length: n }, (_, k) => [[centre + (k % 2 === 0 ? off : -off)]]),
    STAGES.slice(1, 2),
  );
};

const compared = (here: EvaluationInput, there: EvaluationInput) =>
  compareAudits(audit(here, { sample: 'A' }), audit(there, { sample: 'B' }));

describe('one cell by hand', () => {
  // 12 parts each, sd 0.1: standard error 0.1 sqrt(2/12) = 0.040825, 22 degrees of freedom, t(0.975) = 2.0739 (tables), so
  // -0.3 +/- 0.08467; F(0.975; 11, 11) = 3.4737 (tables), so 1 / 1.8638 and 1.8638.
  const { cells, tests, differences, standing } = compared(exactly(-0.2, 0.1), exactly(0.1, 0.1));
  const [cell] = cells;

  test('difference, bounds and ratio', () => {
    expect(cells).toHaveLength(1);
    expect(cell?.differenceKpa).toBeCloseTo(-0.3, 12);
    expect(cell?.mean?.low).toBeCloseTo(-0.38467, 4);
    expect(cell?.mean?.high).toBeCloseTo(-0.21533, 4);
    expect(cell?.spread?.value).toBeCloseTo(1, 12);
    expect(cell?.spread?.low).toBeCloseTo(1 / 1.8638, 4);
    expect(cell?.spread?.high).toBeCloseTo(1.8638, 4);
  });

  test('two tests were made, and p of the smaller counts twice (Holm)', () => {
    expect(tests).toBe(2);
    expect(cell?.mean?.adjusted).toBeCloseTo(2 * (cell?.mean?.p ?? 0), 15);
    expect(cell?.spread?.adjusted).toBeCloseTo(1, 12);
    expect([cell?.mean?.isBeyondChance, cell?.spread?.isBeyondChance]).toEqual([true, false]);
  });

  test('what differs is named once', () => {
    expect(standing).toBe('differs');
    expect(differences).toHaveLength(1);
    expect(differences[0]).toMatchObject({ code: 'mean-lower', facts: { stage: 2, step: '20-kpa', points: 1, of: 1 } });
  });
});

describe('populations', () => {
  const sample = (change: Parameters<typeof drawnAudit>[0], seed: number): EvaluationInput =>
    drawnAudit({ parts: 13, line: null, ...change }, seed);

  test('a span that falls at hot: means at hot and (the other way) at cold, nothing at ambient, nothing of spreads', () => {
    const { differences } = compared(sample({ spanPerK: -0.03 }, 3), sample({}, 4));
    expect(differences.map(({ code, facts }) => [code, facts['stage'], facts['step']])).toEqual([
      ['mean-lower', 3, '100-kpa'],
      ['mean-higher', 1, '100-kpa'],
    ]);
    expect(differences[0]?.facts['points']).toBe(4);
  });

  test('three times the spread is found at every condition, and the means are not said to differ', () => {
    const wide = { offset: { mean: 0.05, sd: 0.5 }, perKSd: 0 };
    const { differences } = compared(sample(wide, 5), sample({ perKSd: 0 }, 6));
    expect(differences.map(({ code }) => code)).toEqual(['spread-wider', 'spread-wider', 'spread-wider']);
    const turned = compared(sample({ perKSd: 0 }, 6), sample(wide, 5));
    expect(new Set(turned.differences.map(({ code }) => code))).toEqual(new Set(['spread-narrower']));
  });

  test('of 100 pairs of samples of one population at most one in twenty differs beyond chance, and four standard errors', () => {
    const rounds = 100;
    // An evaluation holds far more than is compared: here only its means and spreads are those of each sample.
    const evaluated = audit(sample({}, 1));
    const again = (seed: number): Comparable => {
      const { readings } = sample({}, seed);
      const cells = evaluated.evaluation.cells.map((cell) => {
        const here = readings.filter(({ stage, step }) => stage === cell.stage && step === cell.step);
        const errors = here.map(({ errorKpa }) => errorKpa);
        return { ...cell, meanKpa: mean(errors), sdKpa: sampleStandardDeviation(errors) };
      });
      return { ...evaluated, evaluation: { ...evaluated.evaluation, cells } };
    };
    let alarms = 0;
    for (let round = 0; round < rounds; round += 1)
      if (compareAudits(again(1000 + round), again(5000 + round)).standing === 'differs') alarms += 1;
    expect(alarms / rounds).toBeLessThanOrEqual(0.05 + 4 * Math.sqrt((0.05 * 0.95) / rounds));
  });
});

describe('what is compared with what', () => {
  test('a return to ambient meets a return to ambient, and no other ambient', () => {
    const stages = [...STAGES, BACK];
    const there = drawnAudit({ stages }, 2);
    const all = compared(drawnAudit({ stages }, 1), there);
    expect(all.cells.map(({ stage, otherStage }) => [stage, otherStage])).toEqual(
      all.cells.map(({ stage }) => [stage, stage]),
    );
    expect(all.cells).toHaveLength(20);
    const { cells, caveats } = compared(drawnAudit({}, 1), there);
    expect(cells.map(({ otherStage }) => otherStage)).not.toContain(4);
    expect(caveats).toEqual([{ code: 'only-one', facts: { which: 'there', cells: 5 } }]);
  });

  test('another order of the conditions is the same conditions', () => {
    const turned = [STAGES[1], STAGES[2], STAGES[0]].map((stage, k) => ({ ...stage!, stage: k + 1 }));
    const { cells } = compared(drawnAudit({}, 1), drawnAudit({ stages: turned }, 2));
    expect(cells.map(({ stage, otherStage }) => `${stage}/${otherStage}`)).toEqual(
      ['1/3', '2/1', '3/2'].flatMap((each) => Array.from({ length: 5 }, () => each)),
    );
  });

  test('another target, or another pressure under the same name, is not compared', () => {
    const there = drawnAudit({}, 2);
    const colder = { ...there, stages: there.stages.map((s) => (s.condition === 'cold' ? { ...s, targetC: -30 } : s)) };
    expect(compared(drawnAudit({}, 1), colder).cells.map(({ stage }) => stage)).not.toContain(1);
    const moved = { ...there, points: there.points.map((p) => (p.step === '60-kpa' ? { ...p, kPaAbs: 65 } : p)) };
    expect(compared(drawnAudit({}, 1), moved).cells.map(({ step }) => step)).not.toContain('60-kpa');
  });

  test('one part has a mean and no test; nothing can be said', () => {
    const one = givenAudit([[[0.1]]], STAGES.slice(1, 2));
    const found = compared(one, exactly(0, 0.1));
    expect(found).toMatchObject({ standing: 'untested', tests: 0, unseen: null });
    expect(found.cells[0]).toMatchObject({ mean: null, spread: null, shownFromKpa: null });
    expect(comparisonCsv(found).split('\r\n')[1]).toMatch(/,0\.1\d*,,,,,,,,,,$/);
  });
});

describe('what else is not alike', () => {
  const input = drawnAudit({}, 1);
  const there = audit(drawnAudit({}, 2), { sample: 'B' });
  const { profile } = view;
  test.each([
    [
      'another profile revision',
      { profile: { ...profile, revision: 3, hash: 'x' } },
      'other-revision',
      'Profile revision 3 here, 2 there.',
    ],
    ['other limits', { profile: { ...profile, errorKpa: 2 } }, 'other-limits', /±2 kPa here and ±1\.5 kPa there/],
    [
      'other factors',
      { profile: { ...profile, factors: profile.factors.slice(1) } },
      'other-factors',
      /different factors/,
    ],
    [
      'another rule',
      { rule: { kind: 'guard-band', factor: 1.645 } },
      'other-rule',
      'Decision rule: guard band of 1.645 standard uncertainties here, no guard band there.',
    ],
    [
      'another rig',
      { station: 'LAB-2', rig: { ...view.rig, hash: 'y', issue: 5 } },
      'other-rig',
      'Rig: LAB-2, rig issue 5 here, lab-1, rig issue 3 there.',
    ],
    ['a real rig', { origin: 'real' }, 'other-origin', /^K23-2 was measured on a simulated rig/],
    ['one that was given up', { phase: 'abandoned' }, 'abandoned', 'K24-3 was given up before its end.'],
  ] as const)('%s is said plainly', (_what, change, code, says) => {
    const comparison = compareAudits(audit(input, change), there);
    expect(comparison.caveats.map((caveat) => caveat.code)).toEqual([code]);
    const text = caveatText(ENGLISH, comparison, NAMES, comparison.caveats[0]!);
    if (typeof says === 'string') expect(text).toBe(says);
    else expect(text).toMatch(says);
    for (const say of [ENGLISH, SPANISH])
      expect(placesOf(caveatText(say, comparison, NAMES, comparison.caveats[0]!))).toEqual([]);
  });

  test('plans, parts in both, an unfinished audit and values that are not normal too', () => {
    const plan = { ...input, plan: { kind: 'fixed', n: 20 } as const };
    expect(compareAudits(audit(plan), there).caveats).toMatchObject([{ code: 'other-plan' }]);
    expect(compareAudits(audit(input, { sample: 'B' }), there).caveats).toEqual([
      { code: 'same-parts', facts: { parts: 13 } },
    ]);
    const half = givenAudit([
      [[0.1], [0.1], [0.1]],
      [[0.2], null, null],
    ]);
    expect(compareAudits(audit(half), there).caveats).toContainEqual({
      code: 'unfinished',
      facts: { which: 'here', parts: 1, of: 2 },
    });
    const men = [148, 154, 158, 160, 161, 162, 166, 170, 182, 195, 236].map((each) => [[(each - 172) / 100]]);
    expect(compareAudits(audit(givenAudit(men, STAGES.slice(1, 2))), there).caveats).toContainEqual({
      code: 'not-normal',
      facts: { which: 'here' },
    });
  });

  test('two that are alike have nothing to be said', () => {
    expect(compareAudits(audit(input), there).caveats).toEqual([]);
  });
});

describe('in words', () => {
  test('one difference: one sentence, counted the way it goes', () => {
    const told = compared(exactly(-2.8, 0.25), exactly(0.1, 0.25));
    const { says, more } = comparisonAnswer(ENGLISH, told, NAMES);
    expect(says).toBe(
      'K24-3 against K23-2: mean at ambient, 20 kPa lower by 2.9 kPa (2.7 to 3.1); nothing else differs beyond chance.',
    );
    expect(more).toEqual([]);
    expect(comparisonAnswer(SPANISH, told, NAMES).says).toBe(
      'K24-3 frente a K23-2: media a temperatura ambiente, 20 kPa más baja en 2,9 kPa (2,7 a 3,1); nada más difiere más que por azar.',
    );
  });

  test('no difference: what could go unseen, with the number of parts', () => {
    const told = compared(exactly(0.1, 0.1), exactly(0.1, 0.1, 5));
    const { says, note } = comparisonAnswer(ENGLISH, told, NAMES);
    expect(says).toBe('K24-3 against K23-2: no difference beyond chance can be shown.');
    expect(note).toMatch(
      /^With 12 and 10 parts a shift of the mean of less than 0\.\d\d kPa at ambient, 20 kPa can go/,
    );
  });

  test('several: the largest first, the others below, and that this is all', () => {
    const told = compared(drawnAudit({ spanPerK: -0.03, parts: 13 }, 3), drawnAudit({ parts: 13 }, 4));
    const { says, more, note } = comparisonAnswer(ENGLISH, told, NAMES);
    expect(says).toMatch(/^K24-3 against K23-2: mean at hot lower at 4 of 5 points, most at 100 kPa: by 3\.\d kPa \(/);
    expect(more[0]).toMatch(/^Mean at cold higher at \d of 5 points, most at 100 kPa: by [12]\.\d kPa \(/);
    expect(more.at(-1)).toBe('Nothing else differs beyond chance.');
    expect(note).toContain('With 13 and 13 parts');
  });

  test('nothing common and nothing to be tested have their sentence', () => {
    const one = givenAudit([[[0.1]]], STAGES.slice(1, 2));
    const apart = givenAudit([[[0.1]], [[0.2]]], STAGES.slice(0, 1));
    expect(comparisonAnswer(ENGLISH, compared(one, one), NAMES)).toMatchObject({
      says: expect.stringContaining('nothing can be said') as string,
      note: '',
    });
    expect(comparisonAnswer(ENGLISH, compared(one, apart), NAMES).says).toContain('no point of any condition');
  });
});
