import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';

/** WCAG 2.2, "relative luminance" and "contrast ratio" (with the threshold 0.04045 of the sRGB standard). */
function luminance(hex: string): number {
  const [r = 0, g = 0, b = 0] = [1, 3, 5].map((at) => {
    const channel = Number.parseInt(hex.slice(at, at + 2), 16) / 255;
    return channel <= 0.04045 ? channel / 12.92 : ((channel + 0.055) / 1.055) ** 2.4;
  });
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
}

function contrast(a: string, b: string): number {
  const [low = 0, high = 0] = [luminance(a), luminance(b)].sort((x, y) => x - y);
  return (high + 0.05) / (low + 0.05);
}

const css = readFileSync('web/src/shared/tokens.css', 'utf8');
const tokensOf = (theme: 'light' | 'dark'): Record<string, string> => {
  const from = css.indexOf(`[data-theme="${theme}"]`);
  const block = css.slice(from, css.indexOf('}', from));
  const pairs = [...block.matchAll(/--([a-z0-9-]+):\s*(#[0-9a-f]{6})/g)].map((match): [string, string] => [
    match[1] ?? '',
    match[2] ?? '',
  ]);
  return Object.fromEntries(pairs);
};

test('the formula gives the ratios that WCAG names: 21 for black on white, 1 for the same', () => {
  expect(contrast('#000000', '#ffffff')).toBeCloseTo(21, 9);
  expect(contrast('#777777', '#ffffff')).toBeCloseTo(4.48, 2);
  expect(contrast('#123456', '#123456')).toBe(1);
});

/** Text (4.5) and what must be told apart (3), as they stand on one another in the screens. */
const TEXT = [
  ['ink', 'ground'],
  ['ink', 'panel'],
  ['ink', 'paper'],
  ['ink', 'shade'],
  ['ink-2', 'ground'],
  ['ink-2', 'panel'],
  ['ink-2', 'shade'],
  ['ink-3', 'ground'],
  ['ink-3', 'panel'],
  ['ink-3', 'paper'],
  ['fail-ink', 'panel'],
  ['fail-ink', 'paper'],
  ['pass-ink', 'paper'],
  ['pass-ink', 'panel'],
  ['do-ink', 'do-wash'],
  ['fail-on', 'fail-field'],
  ['warn-on', 'warn-field'],
  ['do-on', 'do-field'],
  ['key-on', 'key-field'],
] as const;
const GRAPHICS = [
  ['edge', 'ground'],
  ['edge', 'panel'],
  ['edge', 'paper'],
  ['ink-2', 'shade'],
  ['pass-ink', 'ground'],
  ['fail-field', 'panel'],
  ['do-field', 'panel'],
  ['warn-on', 'panel'],
] as const;

describe.each(['light', 'dark'] as const)('%s', (theme) => {
  const tokens = tokensOf(theme);
  test.each(TEXT)('%s on %s can be read (4.5)', (ink, ground) => {
    expect(contrast(tokens[ink]!, tokens[ground]!)).toBeGreaterThanOrEqual(4.5);
  });
  test.each(GRAPHICS.filter(([ink]) => theme === 'light' || ink !== 'warn-on'))(
    '%s on %s can be seen (3)',
    (ink, ground) => {
      expect(contrast(tokens[ink]!, tokens[ground]!)).toBeGreaterThanOrEqual(3);
    },
  );
});
