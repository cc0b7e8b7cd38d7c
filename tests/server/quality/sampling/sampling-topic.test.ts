import { describe, expect, test } from 'vitest';
import { answer } from '../../../../server/cli/calc/answer.ts';
import { samplingTopic } from '../../../../server/cli/calc/sampling.ts';

const result = (input: object): object => {
  const answered = answer(samplingTopic, input);
  if ('problem' in answered) throw new Error(answered.problem.detail);
  return answered.result;
};

describe('switching', () => {
  const lot = { bad: 0, Ac: 2, Ac_one_step_tighter: 1 };

  test('no lot yet: normal inspection, score 0', () => {
    expect(result({ kind: 'switching', lots: [] })).toEqual({
      severity: 'normal',
      score: 0,
      reduced_eligible: false,
      lots: [],
    });
  });

  test('says after each lot where the series stands (ISO 2859-1:1999 9.3)', () => {
    const lots = [lot, { ...lot, bad: 3 }, { ...lot, bad: 3, original: false }, { ...lot, bad: 4 }, { ...lot, bad: 0 }];
    const found = result({ kind: 'switching', lots }) as { lots: { severity: string; score: number }[] };
    expect(found).toMatchObject({ severity: 'tightened', score: 0 });
    expect(found.lots.map(({ severity, score }) => [severity, score])).toEqual([
      ['normal', 3],
      ['normal', 0],
      ['normal', 0],
      ['tightened', 0],
      ['tightened', 0],
    ]);
  });

  test('resumes after action on tightened inspection', () => {
    const lots = new Array<object>(7).fill({ ...lot, bad: 9 });
    expect(result({ kind: 'switching', lots })).toMatchObject({ severity: 'discontinued' });
    const again = [...lots, { ...lot, after_action: true }];
    expect(result({ kind: 'switching', lots: again })).toMatchObject({ severity: 'tightened' });
    expect(result({ kind: 'switching', lots: [...lots, lot] })).toMatchObject({ severity: 'discontinued' });
  });

  test('a missing tighter acceptance number is named by its place', () => {
    expect(answer(samplingTopic, { kind: 'switching', lots: [lot, { bad: 0, Ac: 3 }] })).toMatchObject({
      problem: { code: 'empty', key: 'lots[1].Ac_one_step_tighter' },
    });
  });
});

describe('draw', () => {
  test('of a lot size and of as many serials agree', () => {
    const serials = ['P4', 'P2', 'P1', 'P3', 'P5'];
    const byLot = result({ kind: 'draw', N: 5, n: 3, seed: 'x' }) as { places: number[] };
    const bySerial = result({ kind: 'draw', serials, n: 3, seed: 'x' }) as { places: number[]; serials: string[] };
    expect(bySerial.places).toEqual(byLot.places);
    expect(bySerial.serials).toEqual(byLot.places.map((place) => `P${place}`));
  });

  test.each([
    [{ n: 3, seed: 'x' }, 'empty', 'N'],
    [{ N: 4, serials: ['a', 'b'], n: 1, seed: 'x' }, 'unequal-sizes', 'N'],
    [{ N: 4, n: 5, seed: 'x' }, 'beyond-lot', 'n'],
    [{ N: 4, n: 2, seed: '' }, 'invalid', 'seed'],
  ])('%j is refused', (input, code, key) => {
    expect(answer(samplingTopic, { kind: 'draw', ...input })).toMatchObject({ problem: { code, key } });
  });
});

describe('plans', () => {
  test.each([
    [{ kind: 'plan', N: 10, n: 11, c: 0 }, 'beyond-lot', 'n'],
    [{ kind: 'plan', N: 10, n: 5, c: 0, D: [0, 11] }, 'beyond-lot', 'D[1]'],
    [{ kind: 'plan', N: 10, n: 5, c: 0, p: [1.5] }, 'invalid', 'p[0]'],
    [{ kind: 'zero_acceptance', N: 10, D: 0, beta: 0.1 }, 'no-solution', 'D'],
    [{ kind: 'zero_acceptance', N: 10, D: 11, beta: 0.1 }, 'beyond-lot', 'D'],
    [{ kind: 'two_point', aql: 0.01, alpha: 0.05, ltpd: 0.05, beta: 0.1, model: 'hypergeometric' }, 'empty', 'N'],
    [{ kind: 'two_point', aql: 0.05, alpha: 0.05, ltpd: 0.01, beta: 0.1 }, 'crossed-limits', 'aql'],
    [{ kind: 'lookup', lot_size: 1, level: 'II', aql: '1.0', severity: 'normal' }, 'invalid', 'lot_size'],
    [{ kind: 'lookup', lot_size: 100, level: 'II', aql: '2', severity: 'normal' }, 'no-such-plan', 'aql'],
  ])('%j is refused', (input, code, key) => {
    expect(answer(samplingTopic, input)).toMatchObject({ problem: { code, key } });
  });

  test('one lot: the two-point plan says which lots it was made for (SciPy hypergeom)', () => {
    const input = { kind: 'two_point', aql: 0.01, alpha: 0.05, ltpd: 0.05, beta: 0.1, model: 'hypergeometric', N: 500 };
    expect(result(input)).toMatchObject({ n: 123, c: 3, D_at_aql: 5, D_at_ltpd: 25 });
  });

  test('five parts as an audit: 0.9^5', () => {
    expect(result({ kind: 'audit', n: 5 })).toMatchObject({ Pa: expect.closeTo(0.59049, 14) as unknown });
  });

  test.each([
    [{ lot_size: 8, level: 'II', aql: '0.010' }, 'Every part of the lot is inspected'],
    [{ lot_size: 1000, level: 'II', aql: '1.0' }, 'Of lots with 1 % bad, this plan accepts 95 of 100'],
    [{ lot_size: 5000, level: 'S-3', aql: '100' }, 'Of lots with 100 faults in 100 parts'],
  ])('the lookup %j says "%s …"', (input, said) => {
    expect(result({ kind: 'lookup', ...input })).toMatchObject({ sentence: expect.stringContaining(said) as unknown });
  });
});
