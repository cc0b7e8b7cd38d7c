import * as Plot from '@observablehq/plot';
import { stageText } from '../../../station/words/audit-text.ts';
import { fill } from '../../../station/words/fill.ts';
import type { AuditComparison, ComparedCell } from '../../audit/comparison/contract.ts';
import type { Cell, Stage } from '../../audit/evaluation/contract.ts';
import { drawn, pressureAxis, sizeOf, ticksWithin } from './drawing.ts';
import type { Axis, FigureElement, FigureSetting } from './drawing.ts';
import { allowedShape, allowedText, errorPanels } from './error-over-pressure.ts';

/** What the picture is made of: an `AuditComparison` is one. */
export type ComparedData = Pick<AuditComparison, 'here' | 'cells'>;

/** How far marks of the two stand apart at a pressure: a share of the range, so that neither hides the other. */
const APART = 0.006;

interface Mark {
  readonly stage: number;
  readonly kPaAbs: number;
  readonly meanKpa: number;
  readonly low: number;
  readonly high: number;
}

/**
 * Two audits over pressure in one panel a condition: mean errors of the first as filled marks on a whole line, of the other
 * as open squares on a broken one, each with a line of two sample standard deviations to both sides; what the first allows
 * as the clear shape. A triangle below marks where the means differ beyond chance. Null where no point is in both.
 */
export function comparedErrors({ here, cells }: ComparedData, setting: FigureSetting): FigureElement | null {
  if (cells.length === 0) return null;
  const { ink, words } = setting;
  const size = sizeOf(setting);
  const stages = here.stages.filter(({ stage }) => cells.some((cell) => cell.stage === stage));
  const own = cells.map((cell) => cell.here);
  const shape = allowedShape(own);
  const { x, y } = axesOf(cells, setting);
  const ground = errorPanels(stages, shape, { x, y }, setting);
  const apart = APART * (x.domain[1] - x.domain[0]) * stages.length;
  const first = cells.map((cell) => markOf(cell.stage, cell.here, -apart));
  const other = cells.map((cell) => markOf(cell.stage, cell.there, apart));
  const at = { x: 'kPaAbs', fx: 'stage' } as const;
  return drawn(
    {
      ...ground.frame,
      marginTop: size * 3.3,
      marks: [
        ...ground.marks,
        ...headings(stages, own, setting),
        Plot.ruleX(other, {
          ...at,
          y1: 'low',
          y2: 'high',
          stroke: ink.note,
          strokeDasharray: '4 3',
          className: 'other spread',
        }),
        Plot.line(other, {
          ...{ ...at, y: 'meanKpa', stroke: ink.note, strokeWidth: 1.6, strokeDasharray: '6 4' },
          ...{ sort: 'kPaAbs', className: 'other line' },
        }),
        Plot.dot(other, {
          ...{ ...at, y: 'meanKpa', symbol: 'square', r: size / 3, fill: ink.paper, stroke: ink.note },
          ...{ strokeWidth: 1.6, className: 'other' },
        }),
        Plot.ruleX(first, { ...at, y1: 'low', y2: 'high', stroke: ink.ink, strokeWidth: 1.4, className: 'own spread' }),
        Plot.line(first, {
          ...at,
          y: 'meanKpa',
          stroke: ink.ink,
          strokeWidth: 2,
          sort: 'kPaAbs',
          className: 'own line',
        }),
        Plot.dot(first, { ...at, y: 'meanKpa', r: size / 3.4, fill: ink.ink, className: 'own' }),
        Plot.dot(
          cells.filter(({ mean }) => mean?.isBeyondChance === true),
          {
            ...{ fx: 'stage', x: ({ here: cell }: ComparedCell) => cell.pointKpaAbs, frameAnchor: 'bottom' },
            ...{ symbol: 'triangle', dy: -size / 2, r: size / 3, fill: ink.ink, className: 'beyond' },
          },
        ),
      ],
    },
    fill(words.words.figures.compared, { stages: stages.length, cells: cells.length }),
    setting,
  );
}

function markOf(stage: number, { pointKpaAbs, meanKpa, sdKpa }: Cell, aside: number): Mark {
  const reach = 2 * (sdKpa ?? 0);
  return { stage, kPaAbs: pointKpaAbs + aside, meanKpa, low: meanKpa - reach, high: meanKpa + reach };
}

/** Pressures of both; errors alike to both sides of zero, as far as anything reaches. */
function axesOf(cells: readonly ComparedCell[], setting: FigureSetting): { readonly x: Axis; readonly y: Axis } {
  const size = sizeOf(setting);
  const both = cells.flatMap(({ here, there }) => [here, there]);
  const { domain } = pressureAxis(both.map(({ pointKpaAbs }) => pointKpaAbs));
  const reach =
    1.12 *
    Math.max(...both.flatMap(({ meanKpa, sdKpa, allowedKpa }) => [allowedKpa, Math.abs(meanKpa) + 2 * (sdKpa ?? 0)]));
  const stages = new Set(cells.map(({ stage }) => stage)).size;
  // A tick at each point, but none so near to the one before that their numbers would meet.
  const room = ((domain[1] - domain[0]) * 2.4 * size * stages) / (setting.width * 0.8);
  const points = [...new Set(cells.map(({ here }) => Math.round(here.pointKpaAbs)))].sort((a, b) => a - b);
  const ticks = points.reduce<number[]>(
    (kept, kPa) => (kPa - (kept.at(-1) ?? -Infinity) < room ? kept : [...kept, kPa]),
    [],
  );
  return {
    x: { domain, ticks },
    y: {
      domain: [-reach, reach],
      ticks: ticksWithin(-reach, reach, Math.max(2, Math.floor(setting.height / (3.2 * size)))),
    },
  };
}

function headings(stages: readonly Stage[], cells: readonly Cell[], setting: FigureSetting): Plot.Markish[] {
  const { ink, words } = setting;
  const size = sizeOf(setting);
  const at = { fx: 'stage', frameAnchor: 'top-left', lineAnchor: 'top' } as const;
  return [
    Plot.text(stages, {
      ...{ ...at, text: (stage: Stage) => stageText(words, stage), dy: -3 * size },
      ...{ fill: ink.ink, fontWeight: 'bold', fontSize: size * 1.1 },
    }),
    Plot.text(stages, {
      ...{ ...at, text: ({ stage }: Stage) => allowedText(cells, stage, setting), dy: -1.6 * size, fill: ink.label },
    }),
  ];
}
