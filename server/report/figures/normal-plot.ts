import * as Plot from '@observablehq/plot';
import { normalQuantile } from '../../../station/random.ts';
import { cellText, namesOf } from '../../../station/words/audit-text.ts';
import { fill } from '../../../station/words/fill.ts';
import { signedText } from '../../../station/words/number-text.ts';
import { axisName, axisRoom, drawn, sizeOf, tickDigits, ticksWithin, valueName } from './drawing.ts';
import type { FigureElement, FigureSetting } from './drawing.ts';
import { cellOf, errorsOf } from './spread.ts';
import type { CellData } from './spread.ts';

/**
 * Normal probability plot of one cell: sorted errors over the normal quantiles of their median ranks (i - 0.3) / (n + 0.4)
 * (Benard & Bos-Levenbach, Statistica Neerlandica 7 (1953) 163-173), the line of mean and sample standard deviation, and
 * the limits dashed where they are near. Null before any reading.
 */
export function normalPlot(data: CellData, setting: FigureSetting): FigureElement | null {
  const cell = cellOf(data);
  if (cell === null) return null;
  const { ink, words } = setting;
  const size = sizeOf(setting);
  const sorted = errorsOf(data).sort((a, b) => a - b);
  const points = sorted.map((error, i) => ({ error, score: normalQuantile((i + 0.7) / (sorted.length + 0.4)) }));
  const most = Math.max(1.5, ...points.map(({ score }) => score)) * 1.15;
  const sd = cell.sdKpa ?? 0;
  const line = [-most, most].map((score) => ({ score, error: cell.meanKpa + sd * score }));
  const ends = [...points, ...line].map(({ error }) => error);
  const [low, high] = [Math.min(...ends), Math.max(...ends)];
  const room = 0.12 * (high - low || cell.allowedKpa);
  const y: [number, number] = [low - room, high + room];
  const ticks = ticksWithin(...y, Math.max(2, Math.floor(setting.height / (3 * size))));
  const limits = [-cell.allowedKpa, cell.allowedKpa].filter((kPa) => kPa > y[0] && kPa < y[1]);
  return drawn(
    {
      ...{ marginTop: 1.7 * size, marginLeft: 4.2 * size, marginRight: 4, marginBottom: axisRoom(setting) },
      x: { domain: [-most, most] },
      y: { domain: y },
      marks: [
        Plot.gridY(ticks, { stroke: ink.hair, strokeOpacity: 1 }),
        Plot.axisY(ticks, {
          ...{ label: null, tickSize: 0, fontSize: size, fill: ink.note, className: 'up' },
          tickFormat: (kPa: number) => signedText(kPa, tickDigits(ticks), words.language),
        }),
        Plot.axisX(ticksWithin(-most, most, 5), {
          ...{ label: null, fontSize: size, color: ink.note, tickSize: 4, className: 'along' },
          tickFormat: (score: number) => signedText(score, 0, words.language),
        }),
        axisName(words.words.figures.scoreAxis, setting),
        valueName(words.words.figures.errorAxis, 4.2 * size, setting),
        Plot.ruleY(limits, { stroke: ink.ink, strokeDasharray: '5 4', className: 'limits' }),
        Plot.line(sd > 0 ? line : [], {
          x: 'score',
          y: 'error',
          stroke: ink.label,
          strokeWidth: 1.2,
          className: 'normal',
        }),
        Plot.dot(points, { ...{ x: 'score', y: 'error', r: size / 4, fill: ink.ink, className: 'parts' } }),
      ],
    },
    fill(words.words.figures.normal, { n: points.length, cell: cellText(words, namesOf(data), data) }),
    setting,
  );
}
