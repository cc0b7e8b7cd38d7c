import * as Plot from '@observablehq/plot';
import { fill } from '../../../station/words/fill.ts';
import { numberText, plainText } from '../../../station/words/number-text.ts';
import { drawn, hatch } from './drawing.ts';
import type { FigureElement, FigureSetting } from './drawing.ts';

/** The scale of the row of marks ends here; an index beyond is an arrow. */
export const MOST_PPK = 3;

/** One index with its bound and what is wanted: a `Cell` with the audit's `wantedPpk` is one. */
export interface CapabilityData {
  readonly ppk: number | null;
  readonly atLeast: number | null;
  readonly wantedPpk: number;
}

/**
 * An index on a bar from 0 to `MOST_PPK`: hatched below the wanted one, a mark at Ppk, a line down to its lower bound.
 * What lies beyond an end of the bar is an arrow there. Without an index the bar is empty.
 */
export function capabilityMark({ ppk, atLeast, wantedPpk }: CapabilityData, setting: FigureSetting): FigureElement {
  const { ink, height } = setting;
  const at = (value: number): number => Math.min(MOST_PPK, Math.max(0, value));
  const values = [ppk ?? 0, atLeast ?? 0];
  const beyond = [
    ...(values.some((value) => value > MOST_PPK) ? [{ x: MOST_PPK, rotate: 90 }] : []),
    ...(values.some((value) => value < 0) ? [{ x: 0, rotate: -90 }] : []),
  ];
  const middle = { y: 0.5 };
  const index = ppk === null ? [] : [{ x: at(ppk), from: at(atLeast ?? ppk) }];
  return drawn(
    {
      ...{ margin: 0, marginLeft: height / 3, marginRight: height / 3 },
      x: { domain: [0, MOST_PPK], axis: null },
      y: { domain: [0, 1], axis: null },
      marks: [
        Plot.rect([0], { x1: 0, x2: MOST_PPK, y1: 0.3, y2: 0.7, fill: ink.shade, className: 'scale' }),
        hatch(({ x, y }) => boxBelow(x, y, at(wantedPpk)), setting),
        Plot.ruleX([at(wantedPpk)], { y1: 0.1, y2: 0.9, stroke: ink.label, strokeWidth: 1.2, className: 'wanted' }),
        Plot.ruleY(index, { x1: 'from', x2: 'x', ...middle, stroke: ink.ink, strokeWidth: 1.5, className: 'bound' }),
        Plot.ruleX(atLeast === null ? [] : [at(atLeast)], { y1: 0.28, y2: 0.72, stroke: ink.ink, strokeWidth: 1.2 }),
        Plot.ruleX(ppk === null || beyond.some(({ x }) => x === at(ppk)) ? [] : [at(ppk)], {
          ...{ y1: 0.05, y2: 0.95, stroke: ink.ink, strokeWidth: 3, className: 'ppk' },
        }),
        Plot.dot(beyond, {
          ...{
            x: 'x',
            y: 0.5,
            rotate: 'rotate',
            symbol: 'triangle',
            r: height / 3.2,
            fill: ink.ink,
            className: 'beyond',
          },
        }),
      ],
    },
    capabilityText({ ppk, atLeast, wantedPpk }, setting),
    setting,
  );
}

function boxBelow(x: ((v: number) => number) | null, y: ((v: number) => number) | null, wanted: number) {
  return x === null || y === null ? null : { x1: x(0), x2: x(wanted), y1: y(0.7), y2: y(0.3) };
}

function capabilityText({ ppk, atLeast, wantedPpk }: CapabilityData, { words }: FigureSetting): string {
  const { figures } = words.words;
  if (ppk === null) return figures.noCapability;
  return fill(atLeast === null ? figures.capabilityUnbounded : figures.capability, {
    ppk: numberText(ppk, 2, words.language),
    atLeast: numberText(atLeast ?? 0, 2, words.language),
    wanted: plainText(wantedPpk, 2, words.language),
  });
}
