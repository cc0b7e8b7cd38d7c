import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { DRAW_METHOD, drawPlaces, drawSerials } from '../../../../server/quality/sampling/random-draw.ts';

/**
 * Computed outside the project by Python's hashlib and list, step for step as the method is described:
 *
 *     def below(m):                     # k counts up from 0
 *         fair = 2**48 - 2**48 % m
 *         while True:
 *             x = int(sha256(f"sha256-counter/1|{seed}|{k}".encode()).hexdigest()[:12], 16); k += 1
 *             if x < fair: return x % m
 *     a = list(range(1, N + 1))
 *     for i in range(n):
 *         j = i + below(N - i); a[i], a[j] = a[j], a[i]
 *     print(a[:n])
 */
const REPEATED: readonly (readonly [lot: number, seed: string, drawn: readonly number[]])[] = [
  [10, 'lot 4711, 2 May', [7, 3, 1, 6, 4, 10, 8, 9, 5, 2]],
  [1000, 'lot 4711, 2 May', [377, 525, 21, 989, 318]],
  [1, 'x', [1]],
  [50, 'Prüflos 7 – Nest 2 ✓', [5, 3, 2, 18, 26, 27, 32, 20]],
  [1_000_000, '0', [670985, 901852, 901943, 600076, 282910, 773375]],
  [3, '|', [1, 2, 3]],
];

test.each(REPEATED)('a lot of %d drawn with seed "%s" gives what Python draws', (lot, seed, drawn) => {
  expect(drawPlaces(lot, drawn.length, seed)).toEqual({ method: 'sha256-counter/1', seed, lot, drawn });
});

test('serials are drawn from the list sorted by code points (Python sorted and hashlib)', () => {
  // U+FF21 sorts before U+1F600 by code points, after it by UTF-16 units.
  const serials = ['S-10', 'S-9', 's-1', 'Ä1', '\uff21', '\u{1f600}', 'A'];
  expect(drawSerials(serials, 4, 'serials').serials).toEqual(['\u{1f600}', 'Ä1', 'A', 'S-10']);
});

const lots = fc
  .integer({ min: 1, max: 400 })
  .chain((lot) =>
    fc.record({ lot: fc.constant(lot), n: fc.integer({ min: 1, max: lot }), seed: fc.string({ minLength: 1 }) }),
  );

describe('every draw', () => {
  test('takes n different places of the lot, the same ones for the same seed', () => {
    fc.assert(
      fc.property(lots, ({ lot, n, seed }) => {
        const { drawn, method } = drawPlaces(lot, n, seed);
        expect(method).toBe(DRAW_METHOD);
        expect(new Set(drawn).size).toBe(n);
        expect(drawn.every((place) => Number.isInteger(place) && place >= 1 && place <= lot)).toBe(true);
        expect(drawPlaces(lot, n, seed).drawn).toEqual(drawn);
      }),
    );
  });

  test('begins with the draw of fewer parts', () => {
    fc.assert(
      fc.property(lots, ({ lot, n, seed }) => {
        expect(drawPlaces(lot, lot, seed).drawn.slice(0, n)).toEqual(drawPlaces(lot, n, seed).drawn);
      }),
    );
  });

  test('of the whole lot takes every place once', () => {
    fc.assert(
      fc.property(lots, ({ lot, seed }) => {
        const all = Array.from({ length: lot }, (_, at) => at + 1);
        expect(drawPlaces(lot, lot, seed).drawn.toSorted((a, b) => a - b)).toEqual(all);
      }),
    );
  });

  test('of serials is the same in whatever order they are listed', () => {
    const listed = fc.uniqueArray(fc.string({ minLength: 1 }), { minLength: 1, maxLength: 30 });
    const shuffled = listed.chain((serials) =>
      fc.record({ serials: fc.constant(serials), other: fc.shuffledSubarray(serials, { minLength: serials.length }) }),
    );
    fc.assert(
      fc.property(shuffled, ({ serials, other }) => {
        const n = Math.ceil(serials.length / 2);
        expect(drawSerials(other, n, 'seed').serials).toEqual(drawSerials(serials, n, 'seed').serials);
      }),
    );
  });
});

describe('over many seeds', () => {
  test('every place of 20 comes equally often into a sample of 5: chi-square below its 0.999 point', () => {
    const [lot, n, draws] = [20, 5, 20_000];
    const counts = new Array<number>(lot).fill(0);
    for (let at = 0; at < draws; at += 1) {
      for (const place of drawPlaces(lot, n, `series ${at}`).drawn) counts[place - 1]! += 1;
    }
    const share = n / lot;
    const squares = counts.reduce((sum, count) => sum + (count - draws * share) ** 2, 0);
    // Counts without replacement are correlated by -1/(N - 1); this factor makes them chi-square with N - 1 = 19.
    const statistic = (((lot - 1) / lot) * squares) / (draws * share * (1 - share));
    // NIST/SEMATECH e-Handbook 1.3.6.7.4, upper critical value for 19 degrees of freedom at 0.001 (from memory; SciPy agrees).
    expect(statistic).toBeLessThan(43.82);
  });

  test('every ordered pair out of 4 comes equally often', () => {
    const draws = 12_000;
    const counts = new Map<string, number>();
    for (let at = 0; at < draws; at += 1) {
      const pair = drawPlaces(4, 2, `pair ${at}`).drawn.join();
      counts.set(pair, (counts.get(pair) ?? 0) + 1);
    }
    expect(counts.size).toBe(12);
    const statistic = [...counts.values()].reduce((sum, count) => sum + (count - draws / 12) ** 2 / (draws / 12), 0);
    // The same table, 11 degrees of freedom at 0.001.
    expect(statistic).toBeLessThan(31.264);
  });
});

test.each([
  ['more parts than the lot has', () => drawPlaces(10, 11, 's'), 'beyond-lot', 'n'],
  ['no parts', () => drawPlaces(10, 0, 's'), 'out-of-range', 'n'],
  ['half a part', () => drawPlaces(10, 1.5, 's'), 'not-whole', 'n'],
  ['an empty lot', () => drawPlaces(0, 1, 's'), 'out-of-range', 'lot'],
  ['a lot of NaN', () => drawPlaces(Number.NaN, 1, 's'), 'not-finite', 'lot'],
  ['a lot beyond the numbers of the method', () => drawPlaces(2 ** 49, 1, 's'), 'out-of-range', 'lot'],
  ['no seed', () => drawPlaces(10, 1, ''), 'empty', 'seed'],
  ['no serials', () => drawSerials([], 1, 's'), 'empty', 'serials'],
  ['a serial twice', () => drawSerials(['A', 'B', 'A'], 1, 's'), 'out-of-range', 'serials'],
  ['more serials than there are', () => drawSerials(['A', 'B'], 3, 's'), 'beyond-lot', 'n'],
])('a draw of %s is refused', (_what, draw, code, key) => {
  expect(draw).toThrow(expect.objectContaining({ name: 'QualityError', code, key }));
});
