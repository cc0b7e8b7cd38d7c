import * as Plot from '@observablehq/plot';
import { cellText, namesOf } from '../../../station/words/audit-text.ts';
import { fill } from '../../../station/words/fill.ts';
import { signedText } from '../../../station/words/number-text.ts';
import type { Cell, Evaluation, EvaluationInput } from '../../audit/evaluation/contract.ts';
import { axisName, axisRoom, drawn, hatch, sizeOf } from './drawing.ts';
import type { FigureElement, FigureSetting } from './drawing.ts';

/** One cell of an audit: an `AuditView` with its stage and step is one. */
export interface CellData {
  readonly input: EvaluationInput;
  readonly evaluation: Evaluation;
  readonly stage: number;
  readonly step: string;
}

/** How many blocks would lie side by side between the limits. */
const BLOCKS = 24;

/**
 * How the parts lie in one cell: a block a part, stacked, the limits as lines with a hatch outside, and the normal curve
 * of mean and sample standard deviation, as high as the blocks of that many parts would be. Null before any reading.
 */
export function spreadOfCell(data: CellData, setting: FigureSetting): FigureElement | null {
  const cell = cellOf(data);
  if (cell === null) return null;
  const { ink, words } = setting;
  const errors = errorsOf(data);
  const limit = cell.allowedKpa;
  const width = (2 * limit) / BLOCKS;
  const most = 1.15 * Math.max(limit, ...errors.map(Math.abs));
  const blocks = blocksOf(errors, width);
  const curve = cell.sdKpa === null || cell.sdKpa === 0 ? [] : curveOf(cell.meanKpa, cell.sdKpa, cell.n * width, most);
  const top = 1.08 * Math.max(5, ...blocks.map(({ y2 }) => y2), ...curve.map(({ y }) => y));
  // A mean beside a limit is written below it.
  const isNear = limit - Math.abs(cell.meanKpa) < 0.4 * limit;
  const text = (kPa: number, says: string, strong = false) =>
    Plot.text([says], {
      ...{ x: kPa, frameAnchor: 'bottom', lineAnchor: 'top', dy: strong && isNear ? 10 + 1.2 * sizeOf(setting) : 10 },
      ...(strong && isNear ? { textAnchor: cell.meanKpa < 0 ? 'start' : 'end' } : {}),
      fill: strong ? ink.ink : ink.note,
    });
  const kPa = (value: number) => signedText(value, 2, words.language);
  return drawn(
    {
      ...{ marginTop: 2, marginLeft: 2, marginRight: 2, marginBottom: axisRoom(setting) },
      x: { domain: [-most, most], axis: null },
      y: { domain: [0, top], axis: null },
      marks: [
        hatch(({ x, box }) => (x === null ? null : { ...box, x2: x(-limit) }), setting),
        hatch(({ x, box }) => (x === null ? null : { ...box, x1: x(limit) }), setting),
        Plot.ruleX([-limit, limit], { stroke: ink.ink, strokeWidth: 1.5, className: 'limits' }),
        Plot.ruleY([0], { stroke: ink.label }),
        Plot.rect(blocks, {
          ...{ x1: 'x1', x2: 'x2', y1: 'y1', y2: 'y2', inset: 0.6, fill: ink.ink, className: 'parts' },
        }),
        Plot.line(curve, { x: 'x', y: 'y', stroke: ink.label, strokeWidth: 1.2, className: 'normal' }),
        Plot.dot([cell.meanKpa], {
          ...{
            x: cell.meanKpa,
            frameAnchor: 'bottom',
            dy: 4,
            symbol: 'triangle',
            r: 3,
            fill: ink.ink,
            className: 'mean',
          },
        }),
        text(-limit, kPa(-limit)),
        text(limit, kPa(limit)),
        text(cell.meanKpa, fill(words.words.figures.mean, { kPa: kPa(cell.meanKpa) }), true),
        axisName(words.words.figures.errorAxis, setting),
      ],
    },
    fill(words.words.figures.spread, { n: errors.length, cell: cellText(words, namesOf(data), data) }),
    setting,
  );
}

export function cellOf({ evaluation, stage, step }: CellData): Cell | null {
  return evaluation.cells.find((cell) => cell.stage === stage && cell.step === step) ?? null;
}

export const errorsOf = ({ input, stage, step }: CellData): number[] =>
  input.readings.filter((each) => each.stage === stage && each.step === step).map(({ errorKpa }) => errorKpa);

/** A block for each value, on those that fell into the same step of the axis; the steps are centred on zero. */
function blocksOf(errors: readonly number[], width: number) {
  const heights = new Map<number, number>();
  return errors.map((error) => {
    const place = Math.round(error / width);
    const below = heights.get(place) ?? 0;
    heights.set(place, below + 1);
    return { x1: (place - 0.5) * width, x2: (place + 0.5) * width, y1: below, y2: below + 1 };
  });
}

/** `area` times the normal density of mean and standard deviation, from -most to most. */
function curveOf(mean: number, sd: number, area: number, most: number) {
  const steps = 120;
  return Array.from({ length: steps + 1 }, (_, k) => {
    const x = -most + (2 * most * k) / steps;
    return { x, y: (area * Math.exp(-0.5 * ((x - mean) / sd) ** 2)) / (sd * Math.sqrt(2 * Math.PI)) };
  });
}
