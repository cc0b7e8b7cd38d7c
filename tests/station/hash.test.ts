import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import canonicalize from 'canonicalize';
import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { AssertionError } from '../../station/assert.ts';
import { canonicalJson, hashOf, hashOfText } from '../../station/hash.ts';

interface Published {
  readonly numbers: readonly { readonly ieee754: string; readonly json: string }[];
  readonly refused: readonly { readonly ieee754: string; readonly what: string }[];
  readonly sample: { readonly input: string; readonly utf8: string };
  readonly sorting: { readonly input: string; readonly values: readonly string[] };
}

const rfc8785 = JSON.parse(readFileSync(join(import.meta.dirname, '../reference/rfc8785.json'), 'utf8')) as Published;

const numberOf = (ieee754: string): number => Buffer.from(ieee754, 'hex').readDoubleBE(0);

describe('canonical JSON is that of RFC 8785', () => {
  test.each(rfc8785.numbers)('$ieee754 is written $json (Appendix B)', ({ ieee754, json }) => {
    expect(canonicalJson(numberOf(ieee754))).toBe(json);
    expect(canonicalJson({ value: [numberOf(ieee754)] })).toBe(`{"value":[${json}]}`);
  });

  test.each(rfc8785.refused)('$what has none (Appendix B)', ({ ieee754 }) => {
    expect(() => canonicalJson(numberOf(ieee754))).toThrow(AssertionError);
    expect(() => canonicalJson({ deep: [numberOf(ieee754)] })).toThrow(AssertionError);
  });

  test('the sample has the published bytes (3.2.2 to 3.2.4)', () => {
    const text = canonicalJson(JSON.parse(rfc8785.sample.input));
    expect(Buffer.from(text, 'utf8').toString('hex')).toBe(rfc8785.sample.utf8);
  });

  test('keys are in the order of their UTF-16 code units (3.2.3)', () => {
    const text = canonicalJson(JSON.parse(rfc8785.sorting.input));
    const places = rfc8785.sorting.values.map((value) => text.indexOf(`"${value}"`));
    expect(places.every((place) => place > 0)).toBe(true);
    expect(places).toEqual([...places].sort((a, b) => a - b));
  });

  test('keys that are whole numbers are sorted as texts', () => {
    expect(canonicalJson({ 2: 'b', 10: 'a', x: 'c' })).toBe('{"10":"a","2":"b","x":"c"}');
  });
});

describe('what JSON cannot say is refused', () => {
  const circle: Record<string, unknown> = {};
  circle['self'] = circle;
  test.each([
    ['nothing', undefined],
    ['a function', () => undefined],
    ['half a character', '\ud800'],
    ['half a character as a key', { '\udc00': 1 }],
    ['minus infinity', -Infinity],
    ['a circle', circle],
    ['a bigint', 1n],
  ])('%s', (_name, value) => {
    expect(() => canonicalJson(value)).toThrow(AssertionError);
  });

  test('but the same letters after a backslash are a text like any other', () => {
    expect(canonicalJson('\\ud800')).toBe(String.raw`"\\ud800"`);
  });
});

test('every plain value has the text that the canonicalize package gives it', () => {
  fc.assert(
    fc.property(fc.jsonValue({ maxDepth: 5, stringUnit: 'binary' }), (value) => {
      expect(canonicalJson(value)).toBe(canonicalize(value));
    }),
    { numRuns: 2000 },
  );
});

test('the order in which keys were added makes no difference, and reading back changes nothing', () => {
  fc.assert(
    fc.property(fc.dictionary(fc.string(), fc.jsonValue()), (value) => {
      const backwards = Object.fromEntries(Object.entries(value).reverse());
      expect(canonicalJson(backwards)).toBe(canonicalJson(value));
      expect(canonicalJson(JSON.parse(canonicalJson(value)))).toBe(canonicalJson(value));
    }),
  );
});

test('hashes are SHA-256 of the UTF-8 bytes (FIPS 180-4, the one-block example "abc" and the empty message)', () => {
  expect(hashOfText('abc')).toBe('ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad');
  expect(hashOfText('')).toBe('e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855');
  expect(hashOf({ b: 1, a: 2 })).toBe(hashOfText('{"a":2,"b":1}'));
});
