import * as Plot from '@observablehq/plot';
import { fill } from '../../../station/words/fill.ts';
import { plainText, signedText } from '../../../station/words/number-text.ts';
import type { LineAgainstLab } from '../../audit/evaluation/contract.ts';
import { axisName, axisRoom, drawn, sizeOf, tickDigits, ticksWithin, valueName } from './drawing.ts';
import type { FigureElement, FigureSetting } from './drawing.ts';

/**
 * Line less lab, same serials at ambient: a mark for each part and pressure, a line at the mean, a band of the limits of
 * agreement. Parts stand side by side at their pressure in the order of their serials, so that none hides another.
 */
export function lineAgainstLab(data: LineAgainstLab, setting: FigureSetting): FigureElement {
  const { ink, words } = setting;
  const size = sizeOf(setting);
  const { biasKpa, lowKpa, highKpa } = data;
  const kPa = (value: number) => signedText(value, 2, words.language);
  const pressures = [...new Set(data.pairs.map(({ pointKpaAbs }) => pointKpaAbs))].sort((a, b) => a - b);
  const [low, high] = [pressures.at(0) ?? 0, pressures.at(-1) ?? 100];
  const range = high - low || 10;
  const marks = sideBySide(data, (0.5 * range) / Math.max(4, pressures.length));
  const values = [0, ...marks.map(({ y }) => y), lowKpa ?? 0, highKpa ?? 0];
  const room = 0.1 * (Math.max(...values) - Math.min(...values) || 0.1);
  const y: [number, number] = [Math.min(...values) - room, Math.max(...values) + room];
  const ticks = ticksWithin(...y, Math.max(2, Math.floor(setting.height / (3.4 * size))));
  const band = lowKpa === null || highKpa === null ? [] : [{ lowKpa, highKpa }];
  const beside = (value: number, says: string, isStrong: boolean) =>
    Plot.text([says], {
      ...{ y: value, frameAnchor: 'right', textAnchor: 'start', dx: 5, fill: isStrong ? ink.ink : ink.note },
      ...(isStrong ? { fontWeight: 'bold' } : {}),
    });
  return drawn(
    {
      ...{ marginTop: 1.7 * size, marginLeft: 4 * size, marginRight: 7.2 * size, marginBottom: axisRoom(setting) },
      x: { domain: [low - 0.1 * range, high + 0.1 * range] },
      y: { domain: y },
      marks: [
        Plot.rect(band, { ...{ y1: 'lowKpa', y2: 'highKpa', fill: ink.shade, className: 'agreement' } }),
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
        valueName(words.words.figures.differenceAxis, 4 * size, setting),
        Plot.ruleY([biasKpa], { stroke: ink.ink, strokeWidth: 2, className: 'bias' }),
        Plot.dot(marks, { ...{ x: 'x', y: 'y', r: size / 4.5, symbol: 'square', fill: ink.ink, className: 'pairs' } }),
        beside(biasKpa, fill(words.words.figures.bias, { kPa: kPa(biasKpa) }), true),
        ...(lowKpa === null ? [] : [beside(lowKpa, kPa(lowKpa), false)]),
        ...(highKpa === null ? [] : [beside(highKpa, kPa(highKpa), false)]),
      ],
    },
    fill(words.words.figures.agreement, { bias: kPa(biasKpa) }),
    setting,
  );
}

/** The differences, spread over `width` kPa around their pressure. */
function sideBySide({ pairs }: LineAgainstLab, width: number) {
  const serials = [...new Set(pairs.map(({ serial }) => serial))].sort();
  return pairs.map(({ serial, pointKpaAbs, differenceKpa }) => {
    const place = serials.length < 2 ? 0 : serials.indexOf(serial) / (serials.length - 1) - 0.5;
    return { x: pointKpaAbs + place * width, y: differenceKpa };
  });
}
