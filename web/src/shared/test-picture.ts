import type { ExpectedPhase, Frame, Taken } from '../../../server/line/contract.ts';

/** Time constant with which pressure is drawn to arrive, ms: a picture of what is to come, not a prediction. */
const ARRIVAL_MS = 130;
const STEP_MS = 40;

/** Where everything of the picture lies. Times in ms, pressures in kPa abs. */
export interface Scale {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
  readonly ticks: readonly number[];
  readonly seconds: readonly number[];
  readonly legendMs: number;
  readonly legendY: number;
  readonly x: (ms: number) => number;
  readonly y: (kPa: number) => number;
}

/** The scale of a test: as long as it is expected to take or took, from vacuum to a little above its highest pressure. */
export function scaleOf(
  phases: readonly ExpectedPhase[],
  frames: readonly Frame[],
  { width, height }: { readonly width: number; readonly height: number },
): Scale {
  const [left, right, top, bottom] = [50, width - 14, 28, height - 28];
  const expectedMs = phases.reduce((sum, { ms }) => sum + ms, 0);
  const endMs = Math.max(expectedMs, frames.at(-1)?.atMs ?? 0, 1000);
  const highest = Math.max(110, ...phases.map(({ kPaAbs }) => kPaAbs ?? 0), ...frames.map(({ kPaAbs }) => kPaAbs));
  const step = [50, 100, 200].find((each) => highest / each <= 4) ?? 500;
  const topKpa = Math.max(highest * 1.1, Math.ceil(highest / step - 0.1) * step * 1.08);
  const every = Math.max(1, Math.ceil(endMs / 6000));
  const x = (ms: number): number => left + (ms / endMs) * (right - left);
  const y = (kPa: number): number => bottom - (kPa / topKpa) * (bottom - top);
  const legendAt = phases.findIndex(({ phase }) => phase === 'stabilise');
  return {
    left,
    right,
    top,
    bottom,
    x,
    y,
    ticks: Array.from({ length: Math.floor(topKpa / step) + 1 }, (_, at) => at * step),
    seconds: Array.from({ length: Math.floor(endMs / (1000 * every)) + 1 }, (_, at) => at * every),
    legendMs: beginOf(phases, Math.max(0, legendAt)),
    legendY: y(72),
  };
}

/** The pressure as it is expected, in steps that arrive as gas does. */
export function expectedLine(
  phases: readonly ExpectedPhase[],
  ambientKpaAbs: number,
): { readonly ms: number; readonly kPa: number }[] {
  const line = [{ ms: 0, kPa: ambientKpaAbs }];
  let [fromMs, kPa] = [0, ambientKpaAbs];
  for (const phase of phases) {
    const target = phase.kPaAbs ?? ambientKpaAbs;
    for (let ms = STEP_MS; ms <= phase.ms; ms += STEP_MS) {
      line.push({ ms: fromMs + ms, kPa: target + (kPa - target) * Math.exp(-ms / ARRIVAL_MS) });
    }
    fromMs += phase.ms;
    kPa = line.at(-1)?.kPa ?? target;
  }
  return line;
}

/** Phases as they are named above the picture: the leak hold is one name, points are pressures, the rest has none. */
export interface PhaseLabel {
  readonly key: string;
  readonly fromMs: number;
  readonly toMs: number;
  readonly kind: 'leak-hold' | 'point' | null;
  readonly kPaAbs: number | null;
  readonly isShaded: boolean;
}

export function phaseLabels(phases: readonly ExpectedPhase[]): PhaseLabel[] {
  const labels: Omit<PhaseLabel, 'isShaded'>[] = [];
  let fromMs = 0;
  for (const { phase, ms, kPaAbs } of phases) {
    const toMs = fromMs + ms;
    const isHold = phase === 'fill' || phase === 'stabilise' || phase === 'measure';
    const last = labels.at(-1);
    if (isHold && last?.kind === 'leak-hold') labels[labels.length - 1] = { ...last, toMs };
    else if (isHold) labels.push({ key: 'leak-hold', fromMs, toMs, kind: 'leak-hold', kPaAbs });
    else if (phase.startsWith('point:')) labels.push({ key: phase, fromMs, toMs, kind: 'point', kPaAbs });
    else labels.push({ key: phase, fromMs, toMs, kind: null, kPaAbs });
    fromMs = toMs;
  }
  return labels.map((label, at) => ({ ...label, isShaded: label.kind !== null && at % 2 === 0 }));
}

function beginOf(phases: readonly ExpectedPhase[], index: number): number {
  return phases.slice(0, index).reduce((sum, { ms }) => sum + ms, 0);
}

/** Width of a letter at the size of the picture, px, and the least room between two names. */
const LETTER = 11.5;
const BETWEEN = 8;

/** The names that stand beside each other without touching; of points too near to one another every other is named. */
export function labelsThatFit<T extends PhaseLabel & { readonly text: string }>(
  labels: readonly T[],
  x: (ms: number) => number,
): T[] {
  let free = Number.NEGATIVE_INFINITY;
  return labels.filter(({ kind, fromMs, toMs, text }) => {
    if (kind === null) return false;
    const half = (text.length * LETTER) / 2;
    const middle = x((fromMs + toMs) / 2);
    if (middle - half < free) return false;
    free = middle + half + BETWEEN;
    return true;
  });
}

/** What ran: the pressure in the nest that is looked at, the manifold's where it has none. */
export const ranLine = (
  frames: readonly Frame[],
  nest: number | undefined,
): { readonly ms: number; readonly kPa: number }[] =>
  frames.map(({ atMs, kPaAbs, nests }) => ({ ms: atMs, kPa: nests[(nest ?? 0) - 1]?.kPaAbs ?? kPaAbs }));

/** The nest in which most was read: what ran there is the test; one that was shut off early has none. */
export function mostRead(nests: readonly number[], taken: readonly Taken[]): number | undefined {
  const count = (nest: number): number => taken.filter((each) => each.nest === nest).length;
  return nests.reduce<number | undefined>(
    (best, nest) => (best === undefined || count(nest) > count(best) ? nest : best),
    undefined,
  );
}
