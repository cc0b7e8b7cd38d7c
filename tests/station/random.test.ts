import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { normalQuantile, stream } from '../../station/random.ts';
import { checkCase, inputsOf, named } from '../reference/physics-cases.ts';

describe('seeded, named streams', () => {
  test.each(named('rng_stream'))('give the known answers: %s', (_name, given) => {
    const { seed, index } = inputsOf(given, 'seed', 'index');
    const name = String(given.inputs['stream']);
    checkCase(given, (quantity, at) => {
      const chance = stream(seed, name, index);
      for (let k = 0; k < at['index']!; k++) chance.u32();
      return quantity === 'u32' ? chance.u32() : quantity === 'uniform' ? chance.uniform() : chance.normal();
    });
  });

  test('take exactly one draw a number, whatever is asked for', () => {
    const mixed = stream(5, 'mixed', 0);
    const plain = stream(5, 'mixed', 0);
    for (let k = 0; k < 50; k++) {
      mixed.normal();
      mixed.uniform();
      plain.u32();
      plain.u32();
    }
    expect(mixed.u32()).toBe(plain.u32());
  });

  test('give a whole row of normals as they would one by one, and touch nothing else', () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 2 ** 32 - 1 }), fc.nat(15), fc.nat(15), (seed, from, count) => {
        const [row, single] = [stream(seed, 'row', 3), stream(seed, 'row', 3)];
        const into = new Float64Array(40).fill(99);
        row.normals(into, from, count);
        const expected = new Float64Array(40).fill(99);
        for (let k = from; k < from + count; k++) expected[k] = single.normal();
        expect(into).toEqual(expected);
        expect(row.u32()).toBe(single.u32());
      }),
    );
  });

  test('are another stream for another seed, name or index', () => {
    const firsts = [stream(1, 'a', 0), stream(2, 'a', 0), stream(1, 'b', 0), stream(1, 'a', 1)].map((s) => s.u32());
    expect(new Set(firsts).size).toBe(4);
  });

  test('do not collide in their first two numbers over 20,000 indexes', () => {
    const seen = new Set<string>();
    for (let index = 0; index < 20_000; index++) {
      const chance = stream(7, 'part', index);
      seen.add(`${chance.u32()} ${chance.u32()}`);
    }
    expect(seen.size).toBe(20_000);
  });

  test('have the moments of a standard normal', () => {
    const values = new Float64Array(200_000);
    stream(11, 'moments', 0).normals(values, 0, values.length);
    const mean = (of: (z: number) => number): number => values.reduce((sum, z) => sum + of(z), 0) / values.length;
    // Four standard errors of each sample moment.
    expect(Math.abs(mean((z) => z))).toBeLessThan(4 / Math.sqrt(values.length));
    expect(Math.abs(mean((z) => z * z) - 1)).toBeLessThan(4 * Math.sqrt(2 / values.length));
    expect(Math.abs(mean((z) => z ** 3))).toBeLessThan(4 * Math.sqrt(15 / values.length));
    expect(Math.abs(mean((z) => z ** 4) - 3)).toBeLessThan(4 * Math.sqrt(96 / values.length));
  });
});

describe('standard normal quantile', () => {
  test.each([
    { p: 0.25, z: -0.6744897501960817, source: 'AS 241, test value' },
    { p: 0.001, z: -3.090232306167814, source: 'AS 241, test value' },
    { p: 1e-20, z: -9.26234008979841, source: 'AS 241, test value' },
    { p: 0.975, z: 1.959963984540054, source: 'standard tables' },
    { p: 0.5, z: 0, source: 'symmetry' },
  ])('of $p is $z ($source)', ({ p, z }) => {
    expect(Math.abs(normalQuantile(p) - z)).toBeLessThanOrEqual(2e-15 * Math.abs(z));
  });
});
