import { parseHTML } from 'linkedom';
import { describe, expect, test } from 'vitest';
import type { AuditView } from '../../../server/audit/contract.ts';
import { probabilityPlot } from '../../../server/quality/normality/probability-plot.ts';
import { capabilityMark, MOST_PPK } from '../../../server/report/figures/capability-mark.ts';
import { driftByStage } from '../../../server/report/figures/drift.ts';
import { hatchPath, ticksWithin } from '../../../server/report/figures/drawing.ts';
import type { FigureDocument, FigureElement, FigureSetting } from '../../../server/report/figures/drawing.ts';
import { errorOverPressure } from '../../../server/report/figures/error-over-pressure.ts';
import { lineAgainstLab } from '../../../server/report/figures/line-against-lab.ts';
import { normalPlot } from '../../../server/report/figures/normal-plot.ts';
import { spreadOfCell } from '../../../server/report/figures/spread.ts';
import { trendOfAudits } from '../../../server/report/figures/trend.ts';
import { voiceOf } from '../../../server/report/pdf/voice.ts';
import { auditView } from '../../support/audit-view.ts';

const view = auditView();
const weakest = { ...view, ...view.evaluation.weakest! };
const window: unknown = parseHTML('<!doctype html><html><body></body></html>');
const { document } = window as { document: FigureDocument };

const SCREEN = {
  ...{ ink: 'var(--ink)', label: 'var(--ink-2)', note: 'var(--ink-3)', hair: 'var(--hair)', hatch: 'var(--edge)' },
  ...{ paper: 'var(--paper)', shade: 'var(--shade)', font: 'var(--sans)' },
};
const setting = (width = 900, height = 320, language: 'en' | 'es' = 'en'): FigureSetting => ({
  ...{ document, width, height, ink: SCREEN, words: voiceOf(view, language, 'UTC').tongue },
});

/** Elements of the marks that show something; each group holds one element a datum. */
const shown = (svg: FigureElement, what: string, element: string): FigureElement[] => [
  ...svg.querySelectorAll(`[data-shows="${what}"] ${element}`),
];
const textOf = (element: FigureElement): string => /> *([^<]*)<\/text>/.exec(element.outerHTML)?.[1] ?? '';
const placeOf = (element: FigureElement): [number, number] => {
  const [, x, y] = /translate\(([-\d.]+),([-\d.]+)\)/.exec(element.getAttribute('transform') ?? '') ?? [];
  return [Number(x), Number(y)];
};
const numberOf = (text: string): number => Number(text.replace('−', '-').replace(',', '.'));

/** What a place on the drawing is worth, from the numbers written at an axis. */
function worth(svg: FigureElement, axis: 'up' | 'along'): (place: number) => number {
  const marks = shown(svg, axis, 'text').map((text) => ({
    value: numberOf(textOf(text)),
    place: placeOf(text)[axis === 'up' ? 1 : 0],
  }));
  const [first, last] = [marks[0]!, marks.findLast(({ value }) => value !== marks[0]!.value)!];
  return (place) => first.value + ((last.value - first.value) * (place - first.place)) / (last.place - first.place);
}

/** Corners of a path of straight lines. */
const cornersOf = (path: FigureElement): [number, number][] =>
  [...(path.getAttribute('d') ?? '').matchAll(/[ML]([-\d.]+),([-\d.]+)/g)].map(([, x, y]) => [Number(x), Number(y)]);

const everyPicture = (wish: FigureSetting): FigureElement[] => [
  errorOverPressure(view, wish),
  capabilityMark({ ...view.evaluation.cells[0]!, wantedPpk: 1.33 }, { ...wish, width: 120, height: 16 }),
  spreadOfCell(weakest, wish)!,
  normalPlot(weakest, wish)!,
  lineAgainstLab(view.evaluation.lineAgainstLab!, wish),
  trendOfAudits({ trend: view.trend, wantedPpk: 1.33 }, wish),
  driftByStage(view, wish)!,
];

describe('every picture', () => {
  test('has no style of its own, which a content security policy would refuse', () => {
    for (const svg of everyPicture(setting())) {
      expect(svg.outerHTML).not.toMatch(/<style|style=|class=| id=/);
    }
  });

  test('takes every colour from the ink it is given', () => {
    const colours = new Set([...Object.values(SCREEN), 'none']);
    for (const svg of everyPicture(setting()))
      for (const [, colour] of svg.outerHTML.matchAll(/(?:fill|stroke)="([^"]*)"/g)) expect(colours).toContain(colour);
  });

  test('says what it is, once, in the language', () => {
    for (const svg of everyPicture(setting())) {
      expect(svg.getAttribute('role')).toBe('img');
      expect(svg.outerHTML.match(/aria-label=/g)).toHaveLength(1);
      expect(svg.getAttribute('aria-label')).not.toMatch(/[{}]|undefined|NaN/);
      expect(svg.outerHTML).not.toMatch(/NaN|undefined|Infinity/);
    }
    const [first] = everyPicture(setting(900, 320, 'es'));
    expect(first?.getAttribute('aria-label')).toMatch(/^Error según la presión/);
  });

  test('is the same for the same audit', () => {
    const texts = everyPicture(setting()).map(({ outerHTML }) => outerHTML);
    expect(everyPicture(setting()).map(({ outerHTML }) => outerHTML)).toEqual(texts);
  });
});

describe('error over pressure', () => {
  const svg = errorOverPressure(view, setting());
  const kPaOf = worth(svg, 'up');
  const pressureOf = worth(svg, 'along');

  test('has a line for every part in every panel, with a corner at each of its points', () => {
    const lines = [...shown(svg, 'parts', 'path'), ...shown(svg, 'named parts', 'path')];
    expect(lines).toHaveLength(view.input.parts.length * view.input.stages.length);
    const corners = lines.flatMap(cornersOf);
    expect(corners).toHaveLength(view.input.readings.length);
    const drawn = corners.map(([, y]) => kPaOf(y)).sort((a, b) => a - b);
    const read = view.input.readings.map(({ errorKpa }) => errorKpa).sort((a, b) => a - b);
    for (const [k, value] of drawn.entries()) expect(value).toBeCloseTo(read[k]!, 3);
  });

  test('has the allowed shape at what is allowed on average, in every panel on the same scale', () => {
    const shapes = shown(svg, 'allowed', 'path');
    expect(shapes).toHaveLength(view.input.stages.length);
    for (const [k, { stage }] of view.input.stages.entries()) {
      const allowed = view.evaluation.cells.filter((cell) => cell.stage === stage).map((cell) => cell.allowedKpa);
      const heights = cornersOf(shapes[k]!).map(([, y]) => kPaOf(y));
      expect(Math.max(...heights)).toBeCloseTo(Math.max(...allowed), 3);
      expect(Math.min(...heights)).toBeCloseTo(-Math.max(...allowed), 3);
    }
  });

  test('has the way back as a line of its own, and readings at another supply in none', () => {
    const swept = auditView({ hasAuditPoints: true });
    const drawn = errorOverPressure(swept, setting());
    const back = shown(drawn, 'way-back', 'path');
    expect(back).toHaveLength(swept.input.parts.length * swept.input.stages.length);
    const read = swept.input.readings.filter(({ step }) => step.endsWith(':rising')).map(({ errorKpa }) => errorKpa);
    const corners = back.flatMap(cornersOf).map(([, y]) => worth(drawn, 'up')(y));
    expect(corners.length).toBe(read.length);
    for (const [k, value] of corners.sort((a, b) => a - b).entries())
      expect(value).toBeCloseTo(read.sort((a, b) => a - b)[k]!, 3);
    const there = [...shown(drawn, 'parts', 'path'), ...shown(drawn, 'named parts', 'path')];
    expect(there.flatMap(cornersOf)).toHaveLength(view.input.readings.length);
    expect(cornersOf(shown(drawn, 'allowed', 'path')[0]!)).toHaveLength(
      cornersOf(shown(svg, 'allowed', 'path')[0]!).length,
    );
    expect(shown(svg, 'way-back', 'path')).toEqual([]);
  });

  test('has a tick at each pressure, where the parts have their corners', () => {
    const pressures = [...new Set(shown(svg, 'along', 'text').map(textOf))].map(numberOf);
    expect(pressures.sort((a, b) => a - b)).toEqual([20, 40, 60, 80, 100]);
    const xs = cornersOf(shown(svg, 'parts', 'path')[0]!).map(([x]) => pressureOf(x));
    for (const [k, x] of xs.sort((a, b) => a - b).entries()) expect(x).toBeCloseTo([20, 40, 60, 80, 99.6][k]!, 0);
  });

  test('names the part that is nearest to its limit by the end of its serial', () => {
    const smallest = view.evaluation.cells.reduce((a, b) => (b.margin < a.margin ? b : a));
    expect(shown(svg, 'name', 'text').map(textOf)).toEqual([`…${smallest.worstSerial.slice(-6)}`]);
    expect(shown(svg, 'named parts', 'path')).toHaveLength(1);
    expect(shown(svg, 'outside', 'path')).toHaveLength(0);
  });

  test('crosses every reading that is outside, and names its part', () => {
    const bad = auditView({ spanFallsKpa: -4.2 });
    const outside = bad.input.readings.filter(({ errorKpa, allowedKpa }) => Math.abs(errorKpa) > allowedKpa);
    expect(outside.length).toBeGreaterThan(0);
    const drawn = errorOverPressure(bad, setting());
    expect(shown(drawn, 'outside', 'path')).toHaveLength(outside.length);
    expect(shown(drawn, 'name', 'text').length).toBeGreaterThan(0);
  });
});

describe('the mark of a capability', () => {
  const mark = (ppk: number | null, atLeast: number | null) =>
    capabilityMark({ ppk, atLeast, wantedPpk: 1.33 }, setting(310, 15));
  const x = (element: FigureElement | undefined, name: string) => Number(element?.getAttribute(name));
  // The bar of 300 lies between two ends of 5.
  const at = (value: number) => 5 + (300 * value) / MOST_PPK;

  test('stands at Ppk, with a line down to the bound', () => {
    const svg = mark(1.15, 0.74);
    expect(x(shown(svg, 'ppk', 'line')[0], 'x1')).toBeCloseTo(at(1.15), 6);
    expect(x(shown(svg, 'wanted', 'line')[0], 'x1')).toBeCloseTo(at(1.33), 6);
    expect(x(shown(svg, 'bound', 'line')[0], 'x1')).toBeCloseTo(at(0.74), 6);
    expect(x(shown(svg, 'bound', 'line')[0], 'x2')).toBeCloseTo(at(1.15), 6);
    expect(svg.getAttribute('aria-label')).toBe('Ppk 1.15, at least 0.74, wanted 1.33');
  });

  test.each([
    [3.5, 2.2, 1],
    [3.5, 3.1, 1],
    [0.2, -0.3, 1],
    [1.5, 0.9, 0],
  ])('Ppk %f with bound %f has %i arrow', (ppk, atLeast, arrows) => {
    expect(shown(mark(ppk, atLeast), 'beyond', 'path')).toHaveLength(arrows);
  });

  test('without an index the bar is empty and says so', () => {
    const svg = mark(null, null);
    expect(shown(svg, 'ppk', 'line')).toHaveLength(0);
    expect(svg.getAttribute('aria-label')).toBe('no Ppk');
  });
});

test('the spread has a block for each part, none on another, around its error', () => {
  const svg = spreadOfCell(weakest, setting(400, 260))!;
  const blocks = shown(svg, 'parts', 'rect');
  expect(blocks).toHaveLength(view.input.parts.length);
  const places = blocks.map((block) => [block.getAttribute('x'), block.getAttribute('y')].join(' '));
  expect(new Set(places).size).toBe(blocks.length);
  const [low, high] = shown(svg, 'limits', 'line').map((line) => Number(line.getAttribute('x1')));
  const { allowedKpa } = view.evaluation.cells.find(
    ({ stage, step }) => stage === weakest.stage && step === weakest.step,
  )!;
  const kPaOf = (x: number) => ((x - (low! + high!) / 2) / (high! - low!)) * 2 * allowedKpa;
  const middles = blocks.map((block) =>
    kPaOf(Number(block.getAttribute('x')) + Number(block.getAttribute('width')) / 2),
  );
  const errors = view.input.readings.filter((r) => r.stage === weakest.stage && r.step === weakest.step);
  const inOrder = errors.map(({ errorKpa }) => errorKpa).sort((a, b) => a - b);
  for (const [k, middle] of middles.sort((a, b) => a - b).entries())
    expect(Math.abs(middle - inOrder[k]!)).toBeLessThanOrEqual(allowedKpa / 24 + 0.01);
});

test('the normal plot has the points of the probability plot (Benard & Bos-Levenbach 1953)', () => {
  const svg = normalPlot(weakest, setting(400, 260))!;
  const errors = view.input.readings.filter((r) => r.stage === weakest.stage && r.step === weakest.step);
  const { points } = probabilityPlot(
    errors.map(({ errorKpa }) => errorKpa),
    'median-rank',
  );
  const [score, error] = [worth(svg, 'along'), worth(svg, 'up')];
  const dots = shown(svg, 'parts', 'circle').map((dot) => ({
    score: score(Number(dot.getAttribute('cx'))),
    value: error(Number(dot.getAttribute('cy'))),
  }));
  expect(dots).toHaveLength(points.length);
  for (const [k, dot] of dots.sort((a, b) => a.score - b.score).entries()) {
    expect(dot.score).toBeCloseTo(points[k]!.score, 2);
    expect(dot.value).toBeCloseTo(points[k]!.value, 2);
  }
});

test('line against lab has a mark for each pair, the bias and the band at their places', () => {
  const data = view.evaluation.lineAgainstLab!;
  const svg = lineAgainstLab(data, setting(500, 300));
  const kPaOf = worth(svg, 'up');
  expect(shown(svg, 'pairs', 'path')).toHaveLength(data.pairs.length);
  expect(kPaOf(Number(shown(svg, 'bias', 'line')[0]?.getAttribute('y1')))).toBeCloseTo(data.biasKpa, 3);
  const band = shown(svg, 'agreement', 'rect')[0]!;
  const top = Number(band.getAttribute('y'));
  expect(kPaOf(top)).toBeCloseTo(data.highKpa!, 3);
  expect(kPaOf(top + Number(band.getAttribute('height')))).toBeCloseTo(data.lowKpa!, 3);
});

test('the trend has the audits oldest first, each with its bound', () => {
  const svg = trendOfAudits({ trend: view.trend, wantedPpk: 1.33 }, setting(500, 300));
  const ppkOf = worth(svg, 'up');
  const marks = shown(svg, 'ppk', 'line').map((line) => ({
    x: Number(line.getAttribute('x1')),
    ppk: ppkOf(Number(line.getAttribute('y1'))),
  }));
  const inOrder = marks.sort((a, b) => a.x - b.x).map(({ ppk }) => ppk);
  expect(inOrder).toHaveLength(view.trend.length);
  for (const [k, ppk] of inOrder.entries()) expect(ppk).toBeCloseTo(view.trend[k]!.ppk, 3);
  expect(shown(svg, 'bounds', 'line')).toHaveLength(view.trend.length);
});

test('drift has a mark for each point of each other stage, at its mean', () => {
  const svg = driftByStage(view, setting(600, 260))!;
  const kPaOf = worth(svg, 'up');
  const means = shown(svg, 'means', 'circle').map((dot) => kPaOf(Number(dot.getAttribute('cy'))));
  const wanted = view.evaluation.drifts.map(({ meanKpa }) => meanKpa).sort((a, b) => a - b);
  expect(means).toHaveLength(wanted.length);
  for (const [k, mean] of means.sort((a, b) => a - b).entries()) expect(mean).toBeCloseTo(wanted[k]!, 3);
});

test('what was not measured has no picture', () => {
  const nothing: Pick<AuditView, 'input' | 'evaluation'> = {
    input: { ...view.input, readings: [] },
    evaluation: { ...view.evaluation, cells: [], drifts: [] },
  };
  const cell = { ...nothing, stage: 1, step: 'ambient' };
  expect(spreadOfCell(cell, setting())).toBeNull();
  expect(normalPlot(cell, setting())).toBeNull();
  expect(driftByStage(nothing, setting())).toBeNull();
});

test('a hatch stays in its box', () => {
  const corners = [...hatchPath({ x1: 3, y1: 5, x2: 40, y2: 21 }, 6).matchAll(/([-\d.]+),([-\d.]+)/g)];
  expect(corners.length).toBeGreaterThan(10);
  for (const [, x, y] of corners) {
    expect(Number(x)).toBeGreaterThanOrEqual(3);
    expect(Number(x)).toBeLessThanOrEqual(40);
    expect(Number(y)).toBeGreaterThanOrEqual(5);
    expect(Number(y)).toBeLessThanOrEqual(21);
  }
});

test.each([
  [-3.4, 3.4, 7, [-3, -2, -1, 0, 1, 2, 3]],
  [0, 0.42, 4, [0, 0.2, 0.4]],
  [-12, 12, 3, [-10, 0, 10]],
])('ticks from %f to %f are round', (low, high, count, ticks) => {
  expect(ticksWithin(low, high, count)).toEqual(ticks);
});
