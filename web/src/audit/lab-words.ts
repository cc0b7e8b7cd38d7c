import type { AuditView } from '../../../server/audit/contract.ts';
import type { LabView } from '../../../server/lab/contract.ts';
import { stageText } from '../../../station/words/audit-text.ts';
import { fill } from '../../../station/words/fill.ts';
import { numberText } from '../../../station/words/number-text.ts';
import { clockTime, dateAndTime } from '../shared/figures.ts';
import type { AuditVoice } from './audit-voice.ts';

/** What a lab station does, says and waits for, in words. Pure. */

/** What the station does now; that it is not there comes first. */
export function doingText(
  { lab: { lab: words }, wish }: AuditVoice,
  lab: Pick<LabView, 'link' | 'doing' | 'soak'>,
): string {
  if (lab.link !== 'up') return words.links[lab.link];
  // Before the chamber says where it goes there is no temperature to name.
  if (lab.doing === 'soaking' && lab.soak === null) return words.doing.setting;
  return fill(words.doing[lab.doing], { target: numberText(lab.soak?.targetC ?? 0, 0, wish.language) });
}

export function stageLine(voice: AuditVoice, { load }: LabView, view: AuditView): string {
  const stage = view.input.stages.find((each) => each.stage === load?.stage);
  if (load === null || stage === undefined) return '';
  return fill(voice.lab.lab.stage, { ...load, places: '', condition: stageText(voice.tongue, stage) });
}

export function stoppedText(voice: AuditVoice, view: AuditView, { load }: LabView): string {
  const last = view.interruptions.at(-1);
  const stage = view.input.stages.find((each) => each.stage === (load?.stage ?? last?.stage));
  return fill(voice.lab.lab.stopped, {
    load: load?.load ?? last?.load ?? 1,
    condition: stage === undefined ? '' : stageText(voice.tongue, stage),
  });
}

export function doorText({ lab: { lab: words }, wish }: AuditVoice, { door, touch }: LabView): string {
  const text = (value: number): string => numberText(value, 0, wish.language);
  return fill(words.door[door], { low: text(touch.lowC), high: text(touch.highC) });
}

/**
 * A time as one says it: "40 s" (to 10 s), "12 min", from an hour on "2 h 10 min" (to 5 min). Never less than 10 s.
 */
export function durationText({ lab: { lab: words } }: Pick<AuditVoice, 'lab'>, seconds: number): string {
  if (seconds < 55) return fill(words.seconds, { seconds: Math.max(10, 10 * Math.round(seconds / 10)) });
  const exact = Math.max(1, Math.round(seconds / 60));
  if (exact < 60) return fill(words.minutes, { minutes: exact });
  const minutes = 5 * Math.round(seconds / 300);
  return fill(words.hours, { hours: Math.floor(minutes / 60), minutes: minutes % 60 });
}

/** An estimated end: how long yet, and by the clock; of another day with its date. */
export function endingText(voice: AuditVoice, { at, leftS }: { readonly at: string; readonly leftS: number }): string {
  const { language } = voice.wish;
  const isToday = new Date(at).toDateString() === new Date().toDateString();
  const time = isToday ? clockTime(at, language) : dateAndTime(at, language);
  return fill(voice.lab.lab.ends, { duration: durationText(voice, leftS), time });
}

/** A station that nobody hears from: what it measured is not known any more, and the door least of all. */
export const unheard = (lab: LabView): LabView => ({
  ...lab,
  ...{
    ends: null,
    soak: null,
    chamberC: null,
    roomC: null,
    partC: [],
    isVented: null,
    guardShut: null,
    door: 'not-measured',
  },
});

/** How long a wait is yet: by the chamber, and where its waits pass faster also as long as they last here. */
export function waitText(voice: AuditVoice, leftS: number, soakPace: number | null): string {
  const duration = durationText(voice, leftS);
  if (soakPace === null) return duration;
  return fill(voice.lab.lab.waitHere, { duration, here: durationText(voice, leftS / soakPace) });
}
