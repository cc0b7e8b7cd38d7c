import * as Plot from '@observablehq/plot';
import type { AuditTongue } from '../../../station/words/audit-text.ts';
import { plainText, signedText } from '../../../station/words/number-text.ts';

/**
 * What all pictures of an audit share. A picture is a pure function of its data and a setting; on the screen its colours
 * are variables of the style sheet, in the report they are hexadecimal: light, dark and print are one function. No
 * colour carries a meaning alone. Lengths are CSS pixels on the screen and points in the report.
 */

/** Colours by what they are for, and the font. */
export interface Ink {
  /** Marks and what must be read. */
  readonly ink: string;
  /** Outlines of what is allowed, labels. */
  readonly label: string;
  /** Units, notes, numbers of an axis. */
  readonly note: string;
  /** Lines of the grid. */
  readonly hair: string;
  /** Lines of a hatch. */
  readonly hatch: string;
  /** Inside of what is allowed. */
  readonly paper: string;
  /** A band that is neither allowed nor outside. */
  readonly shade: string;
  readonly font: string;
}

/** A document that can make elements: a browser's, or one of a DOM library. */
export interface FigureDocument {
  createElementNS(namespace: string, name: string): unknown;
}

/** The part of an element that is needed of a picture; an SVGSVGElement is one. */
export interface FigureElement {
  readonly outerHTML: string;
  readonly firstChild: unknown;
  getAttribute(name: string): string | null;
  setAttribute(name: string, value: string): void;
  removeAttribute(name: string): void;
  querySelectorAll(selector: string): Iterable<FigureElement>;
  insertBefore(child: unknown, before: unknown): unknown;
  remove(): void;
}

export interface FigureSetting {
  readonly document: FigureDocument;
  readonly width: number;
  readonly height: number;
  readonly ink: Ink;
  readonly words: AuditTongue;
  /** Size of the letters; 12 where it is not given. */
  readonly fontSize?: number;
}

const SVG = 'http://www.w3.org/2000/svg';

export const sizeOf = ({ fontSize }: Pick<FigureSetting, 'fontSize'>): number => fontSize ?? 12;

/**
 * Draws marks as one SVG element without styles of its own: a content security policy need not allow any, and a PDF takes
 * attributes only. `says` is what the picture is for those who do not see it.
 */
export function drawn(options: Plot.PlotOptions, says: string, setting: FigureSetting): FigureElement {
  const { document, width, height, ink } = setting;
  // Types of the browser's document are unknown to a server's program, and this one is either's.
  const whole: unknown = { width, height, ...options, document, figure: false };
  const drawing: unknown = Plot.plot(whole as Plot.PlotOptions);
  const svg = drawing as FigureElement;
  for (const style of [...svg.querySelectorAll('style')]) style.remove();
  // The picture is one to those who do not see it: what its groups are is said once, by `says`.
  for (const group of svg.querySelectorAll('[aria-label]')) group.removeAttribute('aria-label');
  svg.removeAttribute('class');
  // What a mark shows, without a class that a style sheet of the page could mean.
  for (const group of svg.querySelectorAll('[class]')) {
    group.setAttribute('data-shows', group.getAttribute('class') ?? '');
    group.removeAttribute('class');
  }
  svg.setAttribute('font-family', ink.font);
  svg.setAttribute('font-size', String(sizeOf(setting)));
  svg.setAttribute('fill', ink.note);
  svg.setAttribute('role', 'img');
  svg.setAttribute('aria-label', says);
  return svg;
}

/** A rectangle in the units of the drawing, upper left to lower right. */
export interface Box {
  readonly x1: number;
  readonly y1: number;
  readonly x2: number;
  readonly y2: number;
}

/** What a mark that draws itself is told of its panel. */
export interface Panel {
  readonly x: ((value: number) => number) | null;
  readonly y: ((value: number) => number) | null;
  readonly box: Box;
}

interface PlotScales {
  readonly x?: (value: number) => number;
  readonly y?: (value: number) => number;
}

interface PlotDimensions {
  readonly width: number;
  readonly height: number;
  readonly marginTop: number;
  readonly marginRight: number;
  readonly marginBottom: number;
  readonly marginLeft: number;
}

/**
 * A mark that hatches a box of every panel. Plain lines, no pattern: a pattern needs an id, and ids of several pictures on
 * one page would meet.
 */
export function hatch(boxOf: (panel: Panel) => Box | null, { document, ink }: FigureSetting): Plot.Markish {
  const render = (_index: unknown, scales: PlotScales, _values: unknown, dimensions: PlotDimensions) => {
    const box = {
      x1: dimensions.marginLeft,
      y1: dimensions.marginTop,
      x2: dimensions.width - dimensions.marginRight,
      y2: dimensions.height - dimensions.marginBottom,
    };
    const wanted = boxOf({ x: scales.x ?? null, y: scales.y ?? null, box });
    const path = document.createElementNS(SVG, 'path') as FigureElement;
    path.setAttribute('d', wanted === null ? '' : hatchPath(wanted, 6));
    path.setAttribute('fill', 'none');
    path.setAttribute('stroke', ink.hatch);
    path.setAttribute('stroke-width', '0.7');
    return path;
  };
  return render as never;
}

/** Lines at 45°, rising to the right, every `step` along the box's edges, cut at the box. */
export function hatchPath({ x1, y1, x2, y2 }: Box, step: number): string {
  const parts: string[] = [];
  // Each line is x + y = c.
  for (let c = Math.ceil((x1 + y1) / step) * step; c < x2 + y2; c += step) {
    const from = Math.max(x1, c - y2);
    const to = Math.min(x2, c - y1);
    if (to > from) parts.push(`M${short(from)},${short(c - from)}L${short(to)},${short(c - to)}`);
  }
  return parts.join('');
}

const short = (value: number): string => String(Math.round(100 * value) / 100);

/** Room below a panel for ticks, their numbers and a line of what they are. */
export const axisRoom = (setting: Pick<FigureSetting, 'fontSize'>): number => 9 + 2.5 * sizeOf(setting);

/** What the numbers below a panel are, under them at the right. */
export const axisName = (says: string, setting: FigureSetting): Plot.Markish =>
  Plot.text([says], {
    ...{ frameAnchor: 'bottom-right', lineAnchor: 'top', dy: 9 + 1.3 * sizeOf(setting), fill: setting.ink.note },
  });

/** Where an axis begins and ends, and what is written along it. */
export interface Axis {
  readonly domain: [number, number];
  readonly ticks: readonly number[];
}

/** An axis along pressures, kPa abs: each of them, with a tenth of their range beyond the ends. */
export function pressureAxis(kPaAbs: readonly number[]): Axis {
  const ticks = [...new Set(kPaAbs)].sort((a, b) => a - b);
  const [low, high] = [ticks.at(0) ?? 0, ticks.at(-1) ?? 100];
  const beyond = 0.1 * (high - low || 10);
  return { domain: [low - beyond, high + beyond], ticks };
}

/** An axis up along values and zero, with a tenth of their range beyond the ends, so that its numbers have room. */
export function valueAxis(values: readonly number[], setting: Pick<FigureSetting, 'height' | 'fontSize'>): Axis {
  const [low, high] = [Math.min(0, ...values), Math.max(0, ...values)];
  const beyond = 0.1 * (high - low || 0.1);
  const domain: [number, number] = [low - beyond, high + beyond];
  return { domain, ticks: ticksWithin(...domain, Math.max(2, Math.floor(setting.height / (3.4 * sizeOf(setting))))) };
}

/** A line at zero, signed numbers at the left, pressures below with what they are. */
export function axes(x: Axis, y: Axis, setting: FigureSetting): Plot.Markish[] {
  const { ink, words } = setting;
  const common = { label: null, fontSize: sizeOf(setting) };
  const digits = tickDigits(y.ticks);
  return [
    Plot.ruleY([0], { stroke: ink.note }),
    Plot.axisY(y.ticks, {
      ...{ ...common, tickSize: 0, fill: ink.note, className: 'up' },
      tickFormat: (value: number) => signedText(value, digits, words.language),
    }),
    Plot.axisX(x.ticks, {
      ...{ ...common, tickSize: 4, color: ink.note, className: 'along' },
      tickFormat: (kPaAbs: number) => plainText(kPaAbs, 0, words.language),
    }),
    axisName(words.words.figures.pressureAxis, setting),
  ];
}

/** What the numbers at the left are, above them; in a picture of panels at that of `stage`. */
export function valueName(says: string, left: number, setting: FigureSetting, up = 4, stage?: number): Plot.Markish {
  return Plot.text([{ says, stage }], {
    ...{ text: 'says', frameAnchor: 'top-left', textAnchor: 'start', lineAnchor: 'bottom', dx: -left, dy: -up },
    ...(stage === undefined ? {} : { fx: 'stage' }),
    fill: setting.ink.note,
  });
}

/** The end of a serial, by which a person finds the part. */
export const serialEnd = (serial: string): string => (serial.length > 7 ? `…${serial.slice(-6)}` : serial);

/** Round steps of 1, 2 or 5 that divide a span into about `count` parts: ticks of an axis. */
export function ticksWithin(low: number, high: number, count: number): number[] {
  const rough = (high - low) / Math.max(1, count);
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = power * ([1, 2, 5].find((each) => each * power >= rough) ?? 10);
  const first = Math.ceil(low / step - 1e-9);
  const last = Math.floor(high / step + 1e-9);
  return Array.from({ length: Math.max(0, last - first + 1) }, (_, k) => Number(((first + k) * step).toPrecision(12)));
}

/** Digits after the point that a list of ticks needs to be told apart. */
export function tickDigits(ticks: readonly number[]): number {
  const [a, b] = ticks;
  if (a === undefined || b === undefined) return 1;
  return Math.max(0, -Math.floor(Math.log10(Math.abs(b - a)) + 1e-9));
}
