import type { LotCounts, LotPoint, LotReason, LotView, PointGroup } from '../../../server/audit/contract.ts';
import { fill } from '../../../station/words/fill.ts';
import { readingName, sayingOf } from '../line/wording.ts';
import { shownUnit } from '../shared/figures.ts';
import { numberText } from '../../../station/words/number-text.ts';
import type { DeskVoice } from './desk-voice.ts';

/** Words and figures of one lot. Pure. */

export const lotPath = (partNumber: string, lot: string): string =>
  `/lots/${encodeURIComponent(partNumber)}/${encodeURIComponent(lot)}`;

/** Percent of the judged serials that passed at once; a dash where none was judged. */
export function firstPassText({ wish }: DeskVoice, { firstPass: { passed, of } }: LotCounts): string {
  return of === 0 ? '–' : `${numberText((100 * passed) / of, 1, wish.language)} %`;
}

/** The one sentence that answers. */
export function answerText({ desk, wish }: DeskVoice, { passed, parts, firstPass }: LotCounts): string {
  const { lots } = desk;
  if (firstPass.of === 0) return lots.answerNone;
  const percent = numberText((100 * firstPass.passed) / firstPass.of, 1, wish.language);
  return `${fill(lots.answer, { passed, parts })}, ${fill(lots.answerFirst, { percent })}`;
}

/** A nest gives so many times its share of a reason's parts before it is suspected. Common practice, no source. */
const SUSPECT_TIMES = 1.5;
const LEAST_PARTS = 3;

/** The nest that most parts of a reason come from though it tested fewer; null when they come from everywhere. */
export function suspectNest({ parts, nests }: LotReason, all: number): LotReason['nests'][number] | null {
  const [most] = nests;
  if (most === undefined || most.parts < LEAST_PARTS || all === 0 || most.of === all) return null;
  return most.parts / parts >= Math.min(0.9, (SUSPECT_TIMES * most.of) / all) ? most : null;
}

/** What a nest's part in a reason says, in one sentence; null when it says nothing. */
export function suspectText(voice: DeskVoice, reason: LotReason, { counts }: LotView): string | null {
  const suspect = suspectNest(reason, counts.firstPass.of);
  if (suspect === null) return null;
  return fill(voice.desk.lots.mostly, {
    reason: reasonText(voice, reason.reason),
    parts: suspect.parts,
    all: reason.parts,
    station: suspect.station,
    nest: suspect.nest,
    share: numberText((100 * suspect.of) / counts.firstPass.of, 0, voice.wish.language),
  });
}

export const reasonText = (voice: DeskVoice, code: string): string => sayingOf(voice, 'part', code).says;

export const pointName = (voice: DeskVoice, point: LotPoint): string => readingName(voice, point);

/** Digits of a value: a hundredth of its spread is worth showing, or of its room where there is one part only. */
function digitsOf({ quantity, unit, all, low, high }: LotPoint): number {
  const { factor } = shownUnit(quantity, unit);
  const room = Math.abs((high ?? 1) - (low ?? 0)) / 100;
  const step = ((all.sd ?? 0) > 0 ? (all.sd ?? 0) / 5 : room) * factor;
  return Math.min(5, Math.max(0, Math.ceil(-Math.log10(step))));
}

export function groupFigures(
  voice: DeskVoice,
  point: LotPoint,
  group: PointGroup,
): { mean: string; sd: string; cpk: string } {
  const { factor } = shownUnit(point.quantity, point.unit);
  const digits = digitsOf(point);
  const { language } = voice.wish;
  return {
    mean: numberText(group.mean * factor, digits, language),
    sd: group.sd === null ? '–' : numberText(group.sd * factor, digits + 1, language),
    cpk: group.cpk === null ? '–' : numberText(group.cpk, 2, language),
  };
}

export function allowedText(voice: DeskVoice, point: LotPoint): string {
  const { factor } = shownUnit(point.quantity, point.unit);
  const limit = (value: number): string => numberText(value * factor, digitsOf(point), voice.wish.language);
  const { low, high } = point;
  if (low !== null && high !== null) return `${limit(low)} … ${limit(high)}`;
  return high === null ? '' : fill(voice.desk.lots.atMost, { limit: limit(high) });
}
