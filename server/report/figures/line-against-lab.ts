import * as Plot from '@observablehq/plot';
import { fill } from '../../../station/words/fill.ts';
import { signedText } from '../../../station/words/number-text.ts';
import type { LineAgainstLab } from '../../audit/evaluation/contract.ts';
import { axes, axisRoom, drawn, pressureAxis, sizeOf, valueAxis, valueName } from './drawing.ts';
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
  const x = pressureAxis(data.pairs.map(({ pointKpaAbs }) => pointKpaAbs));
  const range = (x.ticks.at(-1) ?? 100) - (x.ticks.at(0) ?? 0) || 10;
  const marks = sideBySide(data, (0.5 * range) / Math.max(4, x.ticks.length));
  const y = valueAxis([...marks.map((mark) => mark.y), lowKpa ?? 0, highKpa ?? 0], setting);
  const band = lowKpa === null || highKpa === null ? [] : [{ lowKpa, highKpa }];
  const beside = (value: number, says: string, isStrong: boolean) =>
    Plot.text([says], {
      ...{ y: value, frameAnchor: 'right', textAnchor: 'start', dx: 5, fill: isStrong ? ink.ink : ink.note },
      ...(isStrong ? { fontWeight: 'bold' } : {}),
    });
  return drawn(
    {
      ...{ marginTop: 1.7 * size, marginLeft: 4 * size, marginRight: 7.2 * size, marginBottom: axisRoom(setting) },
      x: { domain: x.domain },
      y: { domain: y.domain },
      marks: [
        Plot.rect(band, { ...{ y1: 'lowKpa', y2: 'highKpa', fill: ink.shade, className: 'agreement' } }),
        Plot.gridY(y.ticks, { stroke: ink.hair, strokeOpacity: 1 }),
        ...axes(x, y, setting),
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
