import { useEffect, useRef, useState } from 'react';
import type { ReactElement } from 'react';
import type { FigureElement, FigureSetting, Ink } from '../../../server/report/figures/drawing.ts';
import { useAuditVoice } from './audit-voice.ts';

/** The screen's inks: variables of the style sheet, so that light and dark are one picture. */
const SCREEN: Ink = {
  ink: 'var(--ink)',
  label: 'var(--ink-2)',
  note: 'var(--ink-3)',
  hair: 'var(--hair)',
  hatch: 'var(--figure-hatch)',
  paper: 'var(--paper)',
  shade: 'var(--shade)',
  font: 'var(--sans)',
};

const LETTERS_PX = 15;
const LEAST_PX = 40;

/** A picture of the report on the screen, as wide as its place. `draw` gives null when there is nothing to draw. */
export function Figure(props: {
  readonly height: number;
  readonly fontSize?: number;
  readonly draw: (setting: FigureSetting) => FigureElement | null;
}): ReactElement {
  const { height, draw, fontSize = LETTERS_PX } = props;
  const place = useRef<HTMLDivElement>(null);
  const width = useWidth(place);
  const { tongue } = useAuditVoice();
  useEffect(() => {
    if (width < LEAST_PX) return;
    const svg = draw({ document, width, height, ink: SCREEN, words: tongue, fontSize });
    place.current?.replaceChildren(...(svg === null ? [] : [svg as unknown as SVGSVGElement]));
  }, [draw, width, height, tongue, fontSize]);
  return <div className="figure" ref={place} />;
}

function useWidth(place: React.RefObject<HTMLDivElement | null>): number {
  const [width, setWidth] = useState(0);
  useEffect(() => {
    const element = place.current;
    if (element === null) return undefined;
    const watch = new ResizeObserver(([entry]) => setWidth(Math.floor(entry?.contentRect.width ?? 0)));
    watch.observe(element);
    return () => watch.disconnect();
  }, [place]);
  return width;
}
