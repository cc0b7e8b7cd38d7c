import * as Plot from '@observablehq/plot';
import { namesOf, pointKpaAbs, stageText } from '../../../station/words/audit-text.ts';
import type { Drift, Evaluation, EvaluationInput } from '../../audit/evaluation/contract.ts';
import { axes, axisRoom, drawn, pressureAxis, sizeOf, valueAxis, valueName } from './drawing.ts';
import type { FigureElement, FigureSetting } from './drawing.ts';

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
  const x = pressureAxis(changes.map(({ kPaAbs }) => kPaAbs));
  const y = valueAxis(
    changes.flatMap(({ low, high }) => [low, high]),
    setting,
  );
  return drawn(
    {
      ...{ marginTop: 3.7 * size, marginLeft: 4 * size, marginRight: 2, marginBottom: axisRoom(setting) },
      x: { domain: x.domain },
      y: { domain: y.domain },
      fx: { domain: stages.map(({ stage }) => stage), padding: 0.1, axis: null },
      marks: [
        Plot.gridY(y.ticks, { stroke: ink.hair, strokeOpacity: 1 }),
        ...axes(x, y, setting),
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
