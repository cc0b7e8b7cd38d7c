import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  acceptance,
  acceptanceInLot,
  lotPoints,
  outgoingLimit,
  qualityAt,
  rectification,
} from '../../../../server/quality/sampling/operating-characteristic.ts';
import type { AttributesPlan, ProcessModel } from '../../../../server/quality/sampling/operating-characteristic.ts';

const MODELS: readonly ProcessModel[] = ['binomial', 'poisson'];

/** As printed: `text` has the digits, the value must round to them. */
const prints = (value: number, text: string): void => {
  const decimals = text.includes('.') ? text.length - text.indexOf('.') - 1 : 0;
  expect(value.toFixed(decimals)).toBe(text);
};

describe('published operating characteristics', () => {
  test.each([
    {
      source: 'Montgomery, "Introduction to Statistical Quality Control", table of n 89, c 2 (from memory)',
      plan: { n: 89, c: 2 },
      printed: {
        ...{ '0.005': '0.9897', '0.01': '0.9397', '0.02': '0.7366', '0.03': '0.4985', '0.04': '0.3042' },
        ...{ '0.05': '0.1721', '0.06': '0.0919', '0.07': '0.0468', '0.08': '0.0230', '0.09': '0.0109' },
      },
    },
    {
      source: 'NIST/SEMATECH e-Handbook 6.2.3.2, n 52, c 3 (from memory)',
      plan: { n: 52, c: 3 },
      printed: {
        ...{ '0.01': '0.998', '0.02': '0.980', '0.03': '0.930', '0.06': '0.620', '0.07': '0.502' },
        ...{ '0.08': '0.394', '0.09': '0.300', '0.10': '0.223', '0.11': '0.162', '0.12': '0.115' },
      },
    },
    { source: 'the sum 0.99^80 + 80 0.01 0.99^79', plan: { n: 80, c: 1 }, printed: { '0.01': '0.809158' } },
  ])('$source', ({ plan, printed }) => {
    for (const [p, pa] of Object.entries(printed)) prints(acceptance(plan, Number(p), 'binomial'), pa);
  });

  // MIL-STD-105E Table X-J-1, values for single sampling, percent bad at Pa 99, 95, 50, 10, 5, 1 percent (from memory).
  test.each([
    ['AQL 0.15', 0, ['0.0126', '0.0641', '0.863', '2.84', '3.68', '5.59']],
    ['AQL 0.65', 1, ['0.187', '0.446', '2.09', '4.78', '5.79', '8.01']],
    ['AQL 1.0', 2, ['0.550', '1.03', '3.33', '6.52', '7.66', '10.1']],
  ] as const)('MIL-STD-105E Table X-J-1, 80 parts, %s', (_aql, c, printed) => {
    const at = [0.99, 0.95, 0.5, 0.1, 0.05, 0.01];
    for (const [row, text] of printed.entries()) prints(100 * qualityAt({ n: 80, c }, at[row]!, 'binomial')!, text);
  });

  // MIL-STD-105E Table V-A, AOQL in percent for lots that are large against the sample, letter J (from memory).
  test.each([
    [0, '0.46'],
    [2, '1.7'],
    [3, '2.4'],
    [5, '4.0'],
    [7, '5.6'],
    [10, '8.2'],
  ])('MIL-STD-105E Table V-A, 80 parts, acceptance number %d: AOQL %s percent', (c, printed) => {
    prints(100 * outgoingLimit({ n: 80, c }, 1e9, 'poisson').limit, printed);
  });

  test('Montgomery, n 89, c 2 of 10 000 at 1 percent: AOQ 0.0093, ATI 687 (from memory)', () => {
    const { outgoing, inspected } = rectification({ n: 89, c: 2 }, 10_000, 0.01, 'binomial');
    prints(outgoing, '0.0093');
    prints(inspected, '687');
  });

  // Dodge & Romig, "Sampling Inspection Tables", 2nd ed., Table 2-3: x = n p at the worst, AOQL = y (1/n - 1/N) (from memory).
  test.each([
    [0, '1.00', '0.3679'],
    [1, '1.62', '0.8400'],
    [2, '2.27', '1.371'],
    [4, '3.64', '2.544'],
    [5, '4.35', '3.168'],
    [10, '8.05', '6.528'],
  ])('Dodge & Romig, acceptance number %d: x %s, y %s', (c, x, y) => {
    const [n, lot] = [200, 5000];
    const { limit, at } = outgoingLimit({ n, c }, lot, 'poisson');
    prints(n * at!, x);
    prints(limit / (1 / n - 1 / lot), y);
  });

  test.each([
    [0.01, '70'],
    [0.02, '253'],
    [0.03, '753'],
    [0.04, '1584'],
    [0.05, '2655'],
    [0.06, '3836'],
  ])('NIST/SEMATECH e-Handbook 6.2.3.2, n 52, c 3 of 10 000 at %d: ATI %s (from memory)', (p, printed) => {
    prints(rectification({ n: 52, c: 3 }, 10_000, p, 'binomial').inspected, printed);
  });
});

describe('exact small cases, counted by hand', () => {
  test.each([
    ['1 of 10, one bad', { n: 1, c: 0 }, 10, 1, 9 / 10],
    ['2 of 4, two bad, none allowed', { n: 2, c: 0 }, 4, 2, 1 / 6],
    ['2 of 4, two bad, one allowed', { n: 2, c: 1 }, 4, 2, 5 / 6],
    ['all of 1, bad', { n: 1, c: 0 }, 1, 1, 0],
    ['all of 1, good', { n: 1, c: 0 }, 1, 0, 1],
    ['3 of 3 with one allowed and one bad', { n: 3, c: 1 }, 3, 1, 1],
    ['3 of 3 with one allowed and two bad', { n: 3, c: 1 }, 3, 2, 0],
    ['a lot all bad', { n: 5, c: 4 }, 100, 100, 0],
  ])('%s', (_what, plan, lot, bad, pa) => {
    expect(acceptanceInLot(plan, lot, bad)).toBeCloseTo(pa, 14);
  });

  test.each(MODELS)('%s: a clean process is always accepted', (model) => {
    expect(acceptance({ n: 7, c: 0 }, 0, model)).toBe(1);
    expect(acceptance({ n: 7, c: 0 }, 0, model, 'upper')).toBe(0);
  });

  test('a process that is all bad is always refused, unless every part may be bad', () => {
    expect(acceptance({ n: 7, c: 6 }, 1, 'binomial')).toBe(0);
    expect(acceptance({ n: 7, c: 7 }, 1, 'binomial')).toBe(1);
    expect(acceptance({ n: 7, c: 9 }, 1, 'binomial')).toBe(1);
  });

  test('a plan that allows as many as it inspects has no quality at any risk', () => {
    expect(qualityAt({ n: 7, c: 7 }, 0.1, 'binomial')).toBeNull();
    expect(lotPoints({ n: 7, c: 7 }, 20)).toEqual({ mostAccepted: 20, fewestRefused: null });
    expect(outgoingLimit({ n: 7, c: 7 }, 20, 'binomial')).toEqual({ limit: 13 / 20, at: 1 });
  });

  test('a lot that is wholly inspected lets nothing out', () => {
    expect(rectification({ n: 20, c: 1 }, 20, 0.3, 'binomial')).toEqual({ outgoing: 0, inspected: 20 });
    expect(outgoingLimit({ n: 20, c: 1 }, 20, 'binomial')).toEqual({ limit: 0, at: null });
    expect(lotPoints({ n: 20, c: 1 }, 20)).toEqual({ mostAccepted: 1, fewestRefused: 2 });
  });

  test('a probability of exactly 0.95 counts as 0.95: one bad of 20, one part inspected', () => {
    expect(lotPoints({ n: 1, c: 0 }, 20)).toEqual({ mostAccepted: 1, fewestRefused: 18 });
  });

  test('AOQL of c 0 in closed form: p 1/(n + 1) binomial, 1/n Poisson', () => {
    expect(outgoingLimit({ n: 9, c: 0 }, 90, 'binomial')).toEqual({
      limit: expect.closeTo(0.1 * 0.9 ** 9 * 0.9, 15) as number,
      at: 0.1,
    });
    expect(outgoingLimit({ n: 10, c: 0 }, 100, 'poisson').at).toBe(0.1);
  });
});

const plans: fc.Arbitrary<AttributesPlan> = fc
  .integer({ min: 1, max: 600 })
  .chain((n) => fc.record({ n: fc.constant(n), c: fc.integer({ min: 0, max: Math.min(n - 1, 30) }) }));
const fractions = fc.double({ min: 0, max: 1, noNaN: true });

describe('every plan', () => {
  test.each(MODELS)('%s: acceptance falls as quality gets worse, and the two tails make 1', (model) => {
    fc.assert(
      fc.property(plans, fractions, fractions, (plan, one, other) => {
        const better = acceptance(plan, Math.min(one, other), model);
        const worse = acceptance(plan, Math.max(one, other), model);
        expect(worse).toBeLessThanOrEqual(better * (1 + 1e-13));
        expect(better).toBeLessThanOrEqual(1);
        expect(better + acceptance(plan, Math.min(one, other), model, 'upper')).toBeCloseTo(1, 12);
      }),
    );
  });

  test.each(MODELS)('%s: quality at a probability is the inverse of acceptance', (model) => {
    const wanted = fc.double({ min: 1e-6, max: 1 - 1e-6, noNaN: true });
    fc.assert(
      fc.property(plans, wanted, (plan, pa) => {
        expect(acceptance(plan, qualityAt(plan, pa, model)!, model)).toBeCloseTo(pa, 10);
      }),
    );
  });

  test.each(MODELS)('%s: no incoming quality sends out more than the AOQL, and one sends out as much', (model) => {
    fc.assert(
      fc.property(plans, fractions, fc.integer({ min: 1, max: 10_000 }), (plan, p, more) => {
        const lot = plan.n + more;
        const { limit, at } = outgoingLimit(plan, lot, model);
        expect(rectification(plan, lot, p, model).outgoing).toBeLessThanOrEqual(limit * (1 + 1e-12));
        // Next to the worst quality, where a wrong place would show.
        for (const near of [0.97 * at!, Math.min(1, 1.03 * at!)]) {
          expect(rectification(plan, lot, near, model).outgoing).toBeLessThanOrEqual(limit * (1 + 1e-12));
        }
        expect(rectification(plan, lot, at!, model).outgoing).toBe(limit);
      }),
    );
  });

  test('in a lot: acceptance falls with each bad part, and the two points are where it passes 0.95 and 0.10', () => {
    fc.assert(
      fc.property(plans, fc.integer({ min: 1, max: 500 }), (plan, more) => {
        const lot = plan.n + more;
        const { mostAccepted, fewestRefused } = lotPoints(plan, lot);
        expect(acceptanceInLot(plan, lot, mostAccepted)).toBeGreaterThanOrEqual(0.95 * (1 - 1e-10));
        expect(acceptanceInLot(plan, lot, mostAccepted + 1)).toBeLessThan(0.95);
        expect(acceptanceInLot(plan, lot, fewestRefused!)).toBeLessThanOrEqual(0.1 * (1 + 1e-10));
        expect(acceptanceInLot(plan, lot, fewestRefused! - 1)).toBeGreaterThan(0.1);
      }),
    );
  });

  test('the lot tends to the process as it grows (hypergeometric to binomial)', () => {
    const plan = { n: 80, c: 2 };
    const process = acceptance(plan, 0.02, 'binomial');
    const misses = [200, 2000, 20_000, 200_000].map((lot) => Math.abs(acceptanceInLot(plan, lot, lot / 50) - process));
    // SciPy hypergeom.cdf less binom.cdf.
    for (const [at, miss] of [0.038712, 0.0022951, 0.00021957, 0.000021864].entries()) {
      expect(misses[at]! / miss).toBeCloseTo(1, 3);
    }
  });

  test('a lot of a million keeps the same answers as its process to the third figure', () => {
    const plan = { n: 1250, c: 3 };
    const { mostAccepted, fewestRefused } = lotPoints(plan, 1_000_000);
    expect(mostAccepted / 1e6 / qualityAt(plan, 0.95, 'binomial')!).toBeCloseTo(1, 3);
    expect(fewestRefused! / 1e6 / qualityAt(plan, 0.1, 'binomial')!).toBeCloseTo(1, 3);
  });
});

const plan = { n: 10, c: 1 };
test.each([
  ['no parts', () => acceptance({ n: 0, c: 0 }, 0.1, 'binomial'), 'out-of-range', 'n'],
  ['half a part', () => acceptance({ n: 1.5, c: 0 }, 0.1, 'binomial'), 'not-whole', 'n'],
  ['a negative acceptance number', () => acceptance({ n: 5, c: -1 }, 0.1, 'binomial'), 'out-of-range', 'c'],
  ['an acceptance number of NaN', () => acceptance({ n: 5, c: Number.NaN }, 0.1, 'binomial'), 'not-finite', 'c'],
  ['a fraction above 1', () => acceptance(plan, 1.1, 'binomial'), 'out-of-range', 'p'],
  ['a negative fraction', () => acceptance(plan, -0.1, 'poisson'), 'out-of-range', 'p'],
  ['a fraction of NaN', () => acceptance(plan, Number.NaN, 'binomial'), 'not-finite', 'p'],
  ['a sample beyond the lot', () => acceptanceInLot(plan, 9, 1), 'beyond-lot', 'n'],
  ['bad parts beyond the lot', () => acceptanceInLot(plan, 20, 21), 'beyond-lot', 'bad'],
  ['a negative number of bad parts', () => acceptanceInLot(plan, 20, -1), 'out-of-range', 'bad'],
  ['an empty lot', () => acceptanceInLot(plan, 0, 0), 'out-of-range', 'lot'],
  ['a certain acceptance', () => qualityAt(plan, 1, 'binomial'), 'out-of-range', 'pa'],
  ['an impossible acceptance', () => qualityAt(plan, 0, 'poisson'), 'out-of-range', 'pa'],
  ['rectifying a lot smaller than the sample', () => rectification(plan, 5, 0.1, 'binomial'), 'beyond-lot', 'n'],
  ['an AOQL of a lot smaller than the sample', () => outgoingLimit(plan, 5, 'binomial'), 'beyond-lot', 'n'],
  ['points of a lot smaller than the sample', () => lotPoints(plan, 5), 'beyond-lot', 'n'],
  ['a point at certainty', () => lotPoints(plan, 50, 1), 'out-of-range', 'high'],
])('%s is refused', (_what, run, code, key) => {
  expect(run).toThrow(expect.objectContaining({ name: 'QualityError', code, key }));
});
