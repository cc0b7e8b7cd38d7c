import * as Plot from '@observablehq/plot';
import { fill } from '../../../station/words/fill.ts';
import { numberText } from '../../../station/words/number-text.ts';
import { findingText, namesOf, stageText } from '../../../station/words/audit-text.ts';
import type { AuditReading, Cell, Evaluation, EvaluationInput, Stage } from '../../audit/evaluation/contract.ts';
import { axes, axisRoom, drawn, hatch, serialEnd, sizeOf, ticksWithin, valueName } from './drawing.ts';
import type { Axis, FigureElement, FigureSetting } from './drawing.ts';

/** What the picture is made of: an `AuditView` is one. */
export interface ErrorData {
  readonly input: EvaluationInput;
  readonly evaluation: Evaluation;
}

/** Heights of a letter from one line of a panel's heading to the next. */
const LINE = 1.4;
/** How far what is allowed is drawn beyond the first and last point, and the panel beyond that: shares of the range. */
const BEYOND = 0.06;
const PANEL_BEYOND = 0.12;

/**
 * Errors over pressure: a panel each stage, one line a part, on the shape of what is allowed on average at each point;
 * all panels have the same kPa. The way back is a dotted line; readings at another supply are no line. The part that is nearest to its limit, and every one outside, is heavier and named; a
 * reading outside carries a cross.
 */
export function errorOverPressure({ input, evaluation }: ErrorData, setting: FigureSetting): FigureElement {
  const { ink, words } = setting;
  const size = sizeOf(setting);
  const stages = input.stages.filter(({ stage }) => evaluation.cells.some((cell) => cell.stage === stage));
  const shape = allowedShape(lineCells({ input, evaluation }));
  const there = input.readings.filter(({ step }) => isLinePoint(input, step));
  const back = input.readings.filter(({ step }) => isWayBack(input, step));
  const heavy = heavyParts(evaluation.cells);
  const isHeavy = (reading: AuditReading) => heavy.has(`${reading.stage}/${reading.serial}`);
  const outside = input.readings.filter(({ errorKpa, allowedKpa }) => Math.abs(errorKpa) > allowedKpa);
  const lines = { x: 'pointKpaAbs', y: 'errorKpa', z: 'serial', fx: 'stage', stroke: ink.ink, sort: 'pointKpaAbs' };
  const ground = errorPanels(stages, shape, axesOf(input, evaluation, setting), setting);
  return drawn(
    {
      ...ground.frame,
      marginTop: size * (0.5 + LINE * headingLines(stages, input, setting)),
      marks: [
        ...ground.marks,
        Plot.line(
          there.filter((reading) => !isHeavy(reading)),
          { ...lines, strokeWidth: 1, strokeOpacity: 0.62, className: 'parts' },
        ),
        Plot.line(back, { ...lines, strokeWidth: 1, strokeDasharray: '1.5 2.5', className: 'way-back' }),
        Plot.line(there.filter(isHeavy), { ...lines, strokeWidth: 2.2, className: 'named parts' }),
        Plot.dot(outside, {
          ...{ x: 'pointKpaAbs', y: 'errorKpa', fx: 'stage', symbol: 'times', r: size / 3 },
          ...{ stroke: ink.ink, strokeWidth: 2, className: 'outside' },
        }),
        ...names(there.filter(isHeavy), setting),
        ...headings(stages, input, evaluation, setting),
        ...remarks(stages, { input, evaluation }, setting),
      ],
    },
    fill(words.words.figures.errorOverPressure, { parts: input.parts.length, stages: stages.length }),
    setting,
  );
}

/** A panel each stage with its axes, hatched but for the shape of what is allowed: what lines of errors are drawn on. */
export function errorPanels(
  stages: readonly Stage[],
  shape: readonly Corner[],
  { x, y }: { readonly x: Axis; readonly y: Axis },
  setting: FigureSetting,
): { readonly frame: Plot.PlotOptions; readonly marks: readonly Plot.Markish[] } {
  const { ink } = setting;
  const left = sizeOf(setting) * 3.4;
  return {
    frame: {
      ...{ marginBottom: axisRoom(setting), marginLeft: left, marginRight: 2 },
      x: { domain: x.domain },
      y: { domain: y.domain },
      fx: { domain: stages.map(({ stage }) => stage), padding: 0.1, axis: null },
    },
    marks: [
      hatch(({ box }) => box, setting),
      valueName('kPa', left, setting, 1, stages[0]?.stage ?? 0),
      Plot.areaY([...shape], {
        ...{ x: 'kPa', y1: 'low', y2: 'high', fx: 'stage', fill: ink.paper },
        ...{ stroke: ink.label, strokeWidth: 1.2, className: 'allowed' },
      }),
      Plot.gridY(y.ticks, { stroke: ink.hair, strokeOpacity: 1, strokeWidth: 0.6 }),
      ...axes(x, y, setting),
    ],
  };
}

/** Pressures from the lowest to the highest point with some room; errors alike to both sides of zero. */
function axesOf(input: EvaluationInput, { cells }: Evaluation, { width, height, ...setting }: FigureSetting) {
  const size = sizeOf(setting);
  const pressures = cells.map(({ pointKpaAbs }) => pointKpaAbs);
  const [low, high] = [Math.min(...pressures), Math.max(...pressures)];
  const range = high - low || 10;
  const most = Math.max(
    ...cells.map(({ allowedKpa }) => allowedKpa),
    ...input.readings.map((r) => Math.abs(r.errorKpa)),
  );
  const stages = new Set(cells.map(({ stage }) => stage)).size;
  // A tick at each point, but none so near to the one before that their numbers would meet.
  const room = (range * 2.4 * size * stages) / (width * 0.8);
  const points = [...new Set(pressures.map((kPa) => Math.round(kPa)))].sort((a, b) => a - b);
  const ticks = points.reduce<number[]>(
    (kept, kPa) => (kPa - (kept.at(-1) ?? -1e9) < room ? kept : [...kept, kPa]),
    [],
  );
  // What is outside has its name beyond it.
  const isOutside = cells.some(({ margin }) => margin < 0);
  const reach = (isOutside ? 1.3 : 1.12) * most;
  const up: [number, number] = [-reach, reach];
  const x: Axis = { domain: [low - PANEL_BEYOND * range, high + PANEL_BEYOND * range], ticks };
  const y: Axis = { domain: up, ticks: ticksWithin(...up, Math.max(2, Math.floor(height / (3.2 * size)))) };
  return { x, y };
}

/** Whether a step is one of the line's points. */
const isLinePoint = ({ points }: EvaluationInput, step: string): boolean =>
  points.some((point) => point.step === step && point.again === null);

/** Whether a step is one of the way back. */
const isWayBack = ({ points }: EvaluationInput, step: string): boolean =>
  points.some((point) => point.step === step && point.again !== null && point.again.supplyV === null);

/** The cells of the line's points: at one pressure one corner. */
const lineCells = ({ input, evaluation }: ErrorData): Cell[] =>
  evaluation.cells.filter(({ step }) => isLinePoint(input, step));

interface Corner {
  readonly stage: number;
  readonly kPa: number;
  readonly low: number;
  readonly high: number;
}

/** The mean of what is allowed at each point, held a little beyond the first and last one. */
export function allowedShape(cells: readonly Cell[]): Corner[] {
  const pressures = cells.map(({ pointKpaAbs }) => pointKpaAbs);
  const beyond = BEYOND * (Math.max(...pressures) - Math.min(...pressures) || 10);
  return [...new Set(cells.map(({ stage }) => stage))].flatMap((stage) => {
    const corners = cells
      .filter((cell) => cell.stage === stage)
      .map(({ pointKpaAbs, allowedKpa }) => ({ stage, kPa: pointKpaAbs, low: -allowedKpa, high: allowedKpa }))
      .sort((a, b) => a.kPa - b.kPa);
    const [first, last] = [corners.at(0), corners.at(-1)];
    if (first === undefined || last === undefined) return [];
    return [{ ...first, kPa: first.kPa - beyond }, ...corners, { ...last, kPa: last.kPa + beyond }];
  });
}

/** Stage and serial of the part with the smallest margin of all, and of every worst one that is outside. */
function heavyParts(cells: readonly Cell[]): ReadonlySet<string> {
  const smallest = Math.min(...cells.map(({ margin }) => margin));
  const heavy = cells.filter(({ margin }) => margin < 0 || margin === smallest);
  return new Set(heavy.map(({ stage, worstSerial }) => `${stage}/${worstSerial}`));
}

/** The end of the serial at the end of a line. */
function names(readings: readonly AuditReading[], setting: FigureSetting): Plot.Markish[] {
  const last = new Map<string, AuditReading>();
  for (const reading of readings) {
    const key = `${reading.stage}/${reading.serial}`;
    if (reading.pointKpaAbs >= (last.get(key)?.pointKpaAbs ?? -Infinity)) last.set(key, reading);
  }
  const size = sizeOf(setting);
  return [...last.values()].map((reading) =>
    Plot.text([reading], {
      ...{ x: 'pointKpaAbs', y: 'errorKpa', fx: 'stage', text: ({ serial }: AuditReading) => serialEnd(serial) },
      ...{ textAnchor: 'end', dx: size / 2, dy: reading.errorKpa < 0 ? size : -size, fill: setting.ink.ink },
      className: 'name',
    }),
  );
}

function headings(
  stages: readonly Stage[],
  input: EvaluationInput,
  { cells }: Evaluation,
  setting: FigureSetting,
): Plot.Markish[] {
  const { ink, words } = setting;
  const size = sizeOf(setting);
  const { figures } = words.words;
  const line = (text: (stage: Stage) => string, up: number, options: Plot.TextOptions): Plot.Markish =>
    Plot.text(stages, { fx: 'stage', text, frameAnchor: 'top-left', lineAnchor: 'top', dy: -up * size, ...options });
  // From the top: the stage, what is allowed, and the measured temperature beside the stage or below.
  const lines = headingLines(stages, input, setting);
  const up = (place: number): number => 0.2 + LINE * (lines - place);
  const measured: Plot.TextOptions = { fill: ink.note, ...(lines === 2 ? { frameAnchor: 'top-right' } : {}) };
  return [
    line((stage) => stageText(words, stage), up(0), { fill: ink.ink, fontWeight: 'bold', fontSize: size * 1.1 }),
    line(({ stage }) => allowedText(cells, stage, setting), up(1), { fill: ink.label }),
    line(
      ({ stage }) => fill(figures.measured, measuredC(input, stage, words.language)),
      up(lines === 2 ? 0 : 2),
      measured,
    ),
  ];
}

/** Widths of a letter, a heavy and a light one, in heights of one: about those of the fonts in use. */
const LETTER = { heavy: 0.64, light: 0.54 } as const;

/** Two lines, or three where stage and measured temperature have no room beside one another in every panel. */
function headingLines(stages: readonly Stage[], input: EvaluationInput, setting: FigureSetting): number {
  const { words, width } = setting;
  const room = (0.88 * (width - 3.4 * sizeOf(setting))) / stages.length;
  const longest = stages.map((stage) => {
    const measured = fill(words.words.figures.measured, measuredC(input, stage.stage, words.language));
    return (stageText(words, stage).length * LETTER.heavy + measured.length * LETTER.light) * sizeOf(setting);
  });
  return Math.max(...longest) > room ? 3 : 2;
}

export function allowedText(cells: readonly Cell[], stage: number, { words }: FigureSetting): string {
  const allowed = cells.filter((cell) => cell.stage === stage).map(({ allowedKpa }) => allowedKpa);
  const mean = allowed.reduce((sum, each) => sum + each, 0) / allowed.length;
  return fill(words.words.figures.allowed, { allowed: numberText(mean, 2, words.language) });
}

function measuredC({ readings }: EvaluationInput, stage: number, language: 'en' | 'es') {
  const partCs = readings.filter((each) => each.stage === stage).map(({ partC }) => partC);
  return {
    low: numberText(Math.min(...partCs), 1, language),
    high: numberText(Math.max(...partCs), 1, language),
  };
}

/** Share of the scale that must be allowed for a remark to have room beside the lines. */
const ROOM = 0.45;

/** What was noticed of a whole stage, written in the allowed shape on the side where the lines are not. */
function remarks(stages: readonly Stage[], { input, evaluation }: ErrorData, setting: FigureSetting): Plot.Markish[] {
  const size = sizeOf(setting);
  const names = namesOf({ input, evaluation });
  const shape = allowedShape(lineCells({ input, evaluation }));
  const most = Math.max(...shape.map(({ high }) => high));
  return stages.flatMap(({ stage }) => {
    const corner = shape.filter((each) => each.stage === stage).at(-1);
    const finding = evaluation.findings.find(
      ({ code, facts }) => facts['stage'] === stage && (code.startsWith('span-') || code.startsWith('offset-')),
    );
    if (finding === undefined || corner === undefined || corner.high < ROOM * most) return [];
    const isLow = Number(finding.facts['kPa']) < 0;
    const says = findingText(setting.words, names, finding);
    return [
      Plot.text([{ stage, kPa: corner.kPa, at: isLow ? corner.high : corner.low, says }], {
        ...{ fx: 'stage', x: 'kPa', y: 'at', text: 'says', fill: setting.ink.ink, fontWeight: 'bold' },
        ...{ textAnchor: 'end', lineAnchor: isLow ? 'top' : 'bottom', dx: -size / 2, dy: isLow ? size / 2 : -size / 2 },
        ...{ lineWidth: (0.6 * setting.width) / stages.length / size, className: 'remark' },
      }),
    ];
  });
}
