import { parseHTML } from 'linkedom';
import { expect, test } from 'vitest';
import { compareAudits } from '../../../server/audit/comparison/compare.ts';
import { comparedErrors } from '../../../server/report/figures/compared-errors.ts';
import type { FigureDocument, FigureElement, FigureSetting } from '../../../server/report/figures/drawing.ts';
import { voiceOf } from '../../../server/report/pdf/voice.ts';
import { auditView } from '../../support/audit-view.ts';

const comparison = compareAudits(auditView(), auditView({ seed: 1106, spanFallsKpa: 0, isBackAtAmbient: true }));
const window: unknown = parseHTML('<!doctype html><html><body></body></html>');
const { document } = window as { document: FigureDocument };
const INK = {
  ...{ ink: 'var(--ink)', label: 'var(--ink-2)', note: 'var(--ink-3)', hair: 'var(--hair)', hatch: 'var(--edge)' },
  ...{ paper: 'var(--paper)', shade: 'var(--shade)', font: 'var(--sans)' },
};
const setting = (language: 'en' | 'es'): FigureSetting => ({
  ...{ document, width: 900, height: 380, ink: INK, words: voiceOf(auditView(), language, 'UTC').tongue },
});
const svg = comparedErrors(comparison, setting('en'))!;
const shown = (what: string, element: string): FigureElement[] => [
  ...svg.querySelectorAll(`[data-shows="${what}"] ${element}`),
];
const PANELS = 3;
const number = (element: FigureElement, name: string): number => Number(element.getAttribute(name));

/** kPa at a height, by the lines of two spreads whose ends are known. */
const [first, second] = [comparison.cells[0]!.here, comparison.cells[10]!.here];
const ends = shown('own spread', 'line').map((line) => [number(line, 'y1'), number(line, 'y2')] as const);
const scale = (() => {
  const [low, high] = [first.meanKpa - 2 * first.sdKpa!, first.meanKpa + 2 * first.sdKpa!];
  const [y1, y2] = ends[0]!;
  return (y: number): number => low + ((high - low) * (y - y1)) / (y2 - y1);
})();

test('both have a mark at the mean of each point, on one scale, and a line of 2 s to both sides', () => {
  const dots = shown('own', 'circle');
  expect(dots).toHaveLength(15);
  for (const [k, { here }] of comparison.cells.entries()) {
    expect(scale(number(dots[k]!, 'cy'))).toBeCloseTo(here.meanKpa, 6);
    expect(scale(ends[k]![0])).toBeCloseTo(here.meanKpa - 2 * here.sdKpa!, 6);
    expect(scale(ends[k]![1])).toBeCloseTo(here.meanKpa + 2 * here.sdKpa!, 6);
  }
  expect(scale(ends[10]![1])).toBeCloseTo(second.meanKpa + 2 * second.sdKpa!, 6);
  const others = shown('other spread', 'line');
  expect(others).toHaveLength(15);
  for (const [k, { there }] of comparison.cells.entries())
    expect(scale(number(others[k]!, 'y2'))).toBeCloseTo(there.meanKpa + 2 * there.sdKpa!, 6);
});

test('the two are told apart by shape and dashes, not only by ink', () => {
  for (const what of ['other line', 'other spread'])
    expect(svg.querySelectorAll(`[data-shows="${what}"][stroke-dasharray]`)).toHaveLength(PANELS);
  for (const what of ['own line', 'own spread'])
    expect(svg.querySelectorAll(`[data-shows="${what}"][stroke-dasharray]`)).toHaveLength(0);
  // Circles here, squares there.
  expect(shown('other', 'circle')).toHaveLength(0);
  expect(shown('other', 'path')).toHaveLength(15);
});

test('a triangle stands below each point whose means differ beyond chance, and below no other', () => {
  const beyond = comparison.cells.filter(({ mean }) => mean?.isBeyondChance === true);
  expect(beyond.length).toBeGreaterThan(1);
  expect(beyond.length).toBeLessThan(15);
  expect(shown('beyond', 'path')).toHaveLength(beyond.length);
});

test('it takes its colours from its ink, has no style of its own, and says what it is in the language', () => {
  const colours = new Set([...Object.values(INK), 'none']);
  for (const [, colour] of svg.outerHTML.matchAll(/(?:fill|stroke)="([^"]*)"/g)) expect(colours).toContain(colour);
  expect(svg.outerHTML).not.toMatch(/<style|style=|class=| id=|NaN|undefined|Infinity/);
  expect(svg.getAttribute('aria-label')).toMatch(/^Mean error over pressure of two audits, 3 conditions, 15 points/);
  expect(comparedErrors(comparison, setting('es'))?.getAttribute('aria-label')).toMatch(
    /^Error medio según la presión/,
  );
});

test('nothing in common has no picture', () => {
  expect(comparedErrors({ ...comparison, cells: [] }, setting('en'))).toBeNull();
});
