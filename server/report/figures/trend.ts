import * as Plot from '@observablehq/plot';
import { fill } from '../../../station/words/fill.ts';
import { plainText } from '../../../station/words/number-text.ts';
import { drawn, hatch, sizeOf, valueName } from './drawing.ts';
import type { FigureElement, FigureSetting } from './drawing.ts';

/** The smallest Ppk of each of the last audits, oldest first: `AuditView` holds it as `trend`. */
export interface TrendData {
  readonly trend: readonly {
    readonly audit: string;
    readonly lot: string;
    readonly ppk: number;
    readonly atLeast: number | null;
  }[];
  readonly wantedPpk: number;
}

/** Ppk of each audit as a bar across, with a line down to its lower bound; hatched below the wanted one. */
export function trendOfAudits({ trend, wantedPpk }: TrendData, setting: FigureSetting): FigureElement {
  const { ink, words } = setting;
  const size = sizeOf(setting);
  const top = 1.12 * Math.max(2, wantedPpk, ...trend.map(({ ppk }) => ppk));
  const bottom = Math.min(0, ...trend.map(({ ppk, atLeast }) => atLeast ?? ppk));
  const last = trend.at(-1);
  const lots = new Map(trend.map(({ audit, lot }) => [audit, lot]));
  const ticks = [0, wantedPpk, Math.ceil(1.4 * wantedPpk)].filter((tick) => tick <= top);
  const isLast = (audit: string) => audit === last?.audit;
  const lotNames = (wanted: boolean) =>
    Plot.text(
      trend.filter(({ audit }) => isLast(audit) === wanted),
      {
        ...{ x: 'audit', text: ({ audit }: { audit: string }) => lots.get(audit) ?? audit, frameAnchor: 'bottom' },
        ...{ lineAnchor: 'top', dy: size * 0.6, fill: wanted ? ink.ink : ink.note },
        ...(wanted ? { fontWeight: 'bold' } : {}),
      },
    );
  return drawn(
    {
      ...{ marginTop: 1.7 * size, marginLeft: 3.4 * size, marginRight: 4, marginBottom: 2.2 * size },
      x: { domain: trend.map(({ audit }) => audit), axis: null, padding: 0.45, type: 'band' },
      y: { domain: [bottom, top] },
      marks: [
        hatch(({ y, box }) => (y === null ? null : { ...box, y1: y(wantedPpk) }), setting),
        Plot.axisY(ticks, {
          ...{ label: null, tickSize: 0, fontSize: size, fill: ink.note, className: 'up' },
          tickFormat: (value: number) => plainText(value, 2, words.language),
        }),
        valueName(words.words.figures.ppkAxis, 3.4 * size, setting),
        Plot.ruleY([wantedPpk], { stroke: ink.label, strokeWidth: 1.2, className: 'wanted' }),
        Plot.ruleY([0], { stroke: ink.note }),
        Plot.ruleX(
          trend.filter(({ atLeast }) => atLeast !== null),
          { x: 'audit', y1: 'atLeast', y2: 'ppk', stroke: ink.ink, strokeWidth: 1.6, className: 'bounds' },
        ),
        Plot.tickY(trend, { x: 'audit', y: 'ppk', stroke: ink.ink, strokeWidth: 4, className: 'ppk' }),
        lotNames(false),
        lotNames(true),
      ],
    },
    fill(words.words.figures.trend, { n: trend.length, wanted: plainText(wantedPpk, 2, words.language) }),
    setting,
  );
}
