import * as Plot from '@observablehq/plot';
import { stageText } from '../../../station/words/audit-text.ts';
import { plainText, signedText } from '../../../station/words/number-text.ts';
import type { Drift, Evaluation, EvaluationInput } from '../../audit/evaluation/contract.ts';
import { axisName, axisRoom, drawn, sizeOf, tickDigits, ticksWithin, valueName } from './drawing.ts';
import type { FigureElement, FigureSetting } from './drawing.ts';
import { namesOf } from './spread.ts';
import { pointKpaAbs } from '../../../station/words/audit-text.ts';

interface Changed extends Drift {
  readonly kPaAbs: number;
  readonly low: number;
  readonly high: number;
}

/**
 * How the same parts changed since the first test at ambient: a panel each other stage, a mark at the mean of each
 * pressure, a line of two sample standard deviations to both sides. Null where nothing can be compared.
 */
export function driftByStage(
  data: { readonly input: EvaluationInput; readonly evaluation: Evaluation },
  setting: FigureSetting,
): FigureElement | null {
  const { ink, words } = setting;
  const size = sizeOf(setting);
  const changes = changesOf(data);
  if (changes.length === 0) return null;
  const stages = data.input.stages.filter(({ stage }) => changes.some((each) => each.stage === stage));
  const pressures = [...new Set(changes.map(({ kPaAbs }) => kPaAbs))].sort((a, b) => a - b);
  const range = (pressures.at(-1) ?? 0) - (pressures.at(0) ?? 0) || 10;
  const ends = [0, ...changes.flatMap(({ low, high }) => [low, high])];
  const room = 0.1 * (Math.max(...ends) - Math.min(...ends) || 0.1);
  const y: [number, number] = [Math.min(...ends) - room, Math.max(...ends) + room];
  const ticks = ticksWithin(...y, Math.max(2, Math.floor(setting.height / (3.4 * size))));
  return drawn(
    {
      ...{ marginTop: 3.7 * size, marginLeft: 4 * size, marginRight: 2, marginBottom: axisRoom(setting) },
      x: { domain: [Math.min(...pressures) - 0.1 * range, Math.max(...pressures) + 0.1 * range] },
      y: { domain: y },
      fx: { domain: stages.map(({ stage }) => stage), padding: 0.1, axis: null },
      marks: [
        Plot.gridY(ticks, { stroke: ink.hair, strokeOpacity: 1 }),
        Plot.ruleY([0], { stroke: ink.note }),
        Plot.axisY(ticks, {
          ...{ label: null, tickSize: 0, fontSize: size, fill: ink.note, className: 'up' },
          tickFormat: (value: number) => signedText(value, tickDigits(ticks), words.language),
        }),
        Plot.axisX(pressures, {
          ...{ label: null, fontSize: size, color: ink.note, tickSize: 4, className: 'along' },
          tickFormat: (value: number) => plainText(value, 0, words.language),
        }),
        axisName(words.words.figures.pressureAxis, setting),
        valueName(words.words.figures.driftAxis, 4 * size, setting, 2.3 * size, stages[0]?.stage ?? 0),
        Plot.text(stages, {
          ...{
            fx: 'stage',
            text: (stage: (typeof stages)[number]) => stageText(words, stage),
            frameAnchor: 'top-left',
          },
          ...{ dy: -1.6 * size, fill: ink.ink, fontWeight: 'bold' },
        }),
        Plot.ruleX(changes, {
          ...{
            fx: 'stage',
            x: 'kPaAbs',
            y1: 'low',
            y2: 'high',
            stroke: ink.label,
            strokeWidth: 1.4,
            className: 'spread',
          },
        }),
        Plot.line(changes, { fx: 'stage', x: 'kPaAbs', y: 'meanKpa', stroke: ink.ink, strokeWidth: 1, sort: 'kPaAbs' }),
        Plot.dot(changes, { fx: 'stage', x: 'kPaAbs', y: 'meanKpa', r: size / 4, fill: ink.ink, className: 'means' }),
      ],
    },
    words.words.figures.drift,
    setting,
  );
}

function changesOf({ input, evaluation }: { input: EvaluationInput; evaluation: Evaluation }): Changed[] {
  const names = namesOf({ input, evaluation });
  return evaluation.drifts.map((drift) => {
    const reach = 2 * (drift.sdKpa ?? 0);
    return {
      ...drift,
      kPaAbs: pointKpaAbs(names, drift.step) ?? 0,
      low: drift.meanKpa - reach,
      high: drift.meanKpa + reach,
    };
  });
}
