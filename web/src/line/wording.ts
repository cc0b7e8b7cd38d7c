import type {
  ExpectedPhase,
  LineView,
  NestOutcome,
  NestView,
  Prompt,
  ReadingView,
  RefusalCode,
  SheetRow,
} from '../../../server/line/contract.ts';
import type { Why } from '../../../station/cycle/result.ts';
import type { Facts } from '../../../station/faults.ts';
import type { PhaseId } from '../../../station/profile/plan.ts';
import type { ReasonCode } from '../../../station/reasons.ts';
import type { Catalogue, Saying } from '../../../station/words/catalogue.ts';
import { fill } from '../../../station/words/fill.ts';
import { digitsFor, plainFigure, pointFigure, shownUnit } from '../shared/figures.ts';
import { numberText } from '../../../station/words/number-text.ts';
import type { Preferences } from '../shared/preferences.ts';

/** A person's language with how figures are written in it. */
export interface Voice {
  readonly words: Catalogue;
  readonly wish: Preferences;
}

/** What a fault or a reason says; a code of a newer server is shown as it stands. */
export function sayingOf({ words }: Voice, by: Why['by'], code: string): Saying {
  const table: Readonly<Record<string, Saying>> = by === 'part' ? words.reasons : words.faults;
  return table[code] ?? { says: code, next: words.faults.program.next };
}

/** The line of the band. */
export function promptText(voice: Voice, { code, facts, key }: Prompt): string {
  const { line } = voice.words;
  const text = line.prompts[code];
  // The way on that a fault names may be done already.
  if (code === 'fault' && facts['code'] === 'guard-open' && key?.code === 'repeat') return line.outcome.guardShut;
  if (code === 'fault') return sayingOf(voice, 'station', String(facts['code'])).next;
  if (code === 'not-judged') return sayingOf(voice, 'part', String(facts['code'])).next;
  if (code === 'proof-due') return fill(text, { proof: proofName(voice, String(facts['proof'])) });
  return fill(text, facts);
}

/** What the band asks for is what the demo broke, and nobody's hand can mend it but the demo's. */
export const isMendNeeded = ({ demo, prompt }: Pick<LineView, 'demo' | 'prompt'>): boolean =>
  demo !== null &&
  prompt.key === null &&
  (prompt.code === 'close-guard' || (prompt.code === 'fault' && prompt.facts['code'] === 'guard-open'));

export function refusalText(voice: Voice, code: RefusalCode | 'no-answer' | 'not-accepted', facts: Facts): string {
  const text = voice.words.line.refusals[code];
  const shown = typeof facts['serial'] === 'string' ? { ...facts, serial: shortSerial(facts['serial']) } : facts;
  if (code === 'proof-due') return fill(text, { proof: proofName(voice, String(facts['proof'])) });
  return fill(text, shown);
}

export function proofName({ words }: Voice, proof: string): string {
  const names: Readonly<Record<string, string>> = words.line.proofs;
  return names[proof] ?? proof;
}

/** A verdict of more letters than PASS and FAIL have is set smaller, so that its mark stays beside it. */
export const wordClass = (word: string): string => (word.length > 4 && !word.includes(' ') ? 'word wide' : 'word');

/** The last five of a serial are what tells parts apart at the station. */
export const tailOf = (serial: string): string => serial.slice(-5);
const shortSerial = (serial: string): string => (serial.length > 12 ? `…${tailOf(serial)}` : serial);

/** A reading's short name: its pressure point, or what it is. */
export function readingName({ words, wish }: Voice, row: Pick<SheetRow, 'step' | 'quantity' | 'pointKpaAbs'>): string {
  const { readings } = words.line;
  if (row.quantity !== 'output') return readings[row.quantity];
  if (row.step === 'ambient-check') return readings['ambient-check'];
  return takenText(words, row.step, row.pointKpaAbs === null ? readings.ambient : pointFigure(row.pointKpaAbs, wish));
}

/** A point's text with how an audit took it, which stands behind the colon of its step or phase; the line's as it is. */
function takenText({ line }: Voice['words'], step: string, point: string): string {
  const taken: Readonly<Record<string, string>> = line.taken;
  const how = taken[step.replace(/^point:/, '').split(':')[1] ?? ''];
  return how === undefined ? point : fill(how, { point });
}

/** A row of the sheet with the reading that fills it, if there is one. */
export const readingOf = (row: SheetRow, readings: readonly ReadingView[]): ReadingView | null =>
  readings.find(({ step, quantity }) => step === row.step && quantity === row.quantity) ?? null;

/** The number of a reading with the digits that it earns, and its unit. */
export function readingFigure({ wish }: Voice, reading: Pick<ReadingView, 'quantity' | 'value' | 'u' | 'unit'>) {
  const { unit, factor } = shownUnit(reading.quantity, reading.unit);
  return { number: numberText(reading.value * factor, digitsFor(reading.u * factor), wish.language), unit };
}

export const outcomeOf = (view: LineView, { nest }: Pick<NestView, 'nest'>): NestOutcome | null =>
  view.outcome?.nests.find((each) => each.nest === nest) ?? null;

/** Whether the next scan belongs to this nest, and the band asks for it. */
export const isFedNow = (view: LineView, nest: NestView): boolean => nest.isFed && view.prompt.code === 'scan';

/** What the band asks about a verdict is done before a stopped nest takes its place. */
const ABOUT_VERDICTS: readonly Prompt['code'][] = ['reject', 'read-verdicts', 'fault', 'not-judged'];

export const isLockShown = (view: LineView, { lock }: NestView): boolean =>
  lock !== null && !ABOUT_VERDICTS.includes(view.prompt.code);

/** Whether the reading that failed left its room at the low side. */
export function isLowSide({ readings }: NestOutcome): boolean {
  const failed = worstFailed(readings);
  if (failed === null || failed.low === null || failed.high === null) return false;
  return failed.value < (failed.low + failed.high) / 2;
}

const worstFailed = (readings: readonly ReadingView[]): ReadingView | null =>
  readings
    .filter(({ verdict }) => verdict === 'fail')
    .reduce<ReadingView | null>((a, b) => (a === null || b.margin < a.margin ? b : a), null);

/** A reject that lies in its bin: nothing is left to be done about it. */
export const isBinned = (view: LineView, { verdict, isWaiting }: NestOutcome): boolean =>
  verdict === 'fail' && !isWaiting && view.outcome?.isPerhapsUnseen === false;

/** Why a nest did not pass, or where its part goes, in two lines: the word, and the number behind it. */
export function whyText(voice: Voice, nest: NestOutcome, sheet: readonly SheetRow[]): { says: string; detail: string } {
  const first = nest.why[0];
  if (first === undefined) return passText(voice, nest, sheet);
  const { says } = sayingOf(voice, first.by, first.code);
  const failed = nest.readings.filter(({ verdict }) => verdict === 'fail');
  const named = failed.find(({ step }) => step === first.facts['step']) ?? worstFailed(nest.readings);
  const behind = named === null ? '' : numberBehind(voice, named, sheet);
  const like = likeWhat(first);
  return { says, detail: like === null ? behind : behind === '' ? like : `${like} (${behind})` };
}

/** A part of another class is named by what it reads like. */
function likeWhat({ by, code, facts }: Why): string | null {
  const like = facts['readsLike'];
  return by === 'part' && code === ('other-class' satisfies ReasonCode) && typeof like === 'string' ? like : null;
}

function numberBehind(voice: Voice, reading: ReadingView, sheet: readonly SheetRow[]): string {
  const { outcome } = voice.words.line;
  const { unit, factor } = shownUnit(reading.quantity, reading.unit);
  const earned = digitsFor(reading.u * factor);
  // A value just outside must not read like its limit.
  const isLike = [reading.low, reading.high].some(
    (limit) => limit !== null && (limit * factor).toFixed(earned) === (reading.value * factor).toFixed(earned),
  );
  const digits = isLike ? earned + 1 : earned;
  const limit = (value: number | null): string => numberText((value ?? 0) * factor, digits, voice.wish.language);
  const value = numberText(reading.value * factor, digits, voice.wish.language);
  const text =
    reading.low === null
      ? fill(outcome.atMost, { value, unit, limit: limit(reading.high) })
      : fill(outcome.between, { value, unit, low: limit(reading.low), high: limit(reading.high) });
  const row = sheet.find(({ step, quantity }) => step === reading.step && quantity === reading.quantity);
  const name = reading.quantity === 'output' && row !== undefined ? `${readingName(voice, row)}: ` : '';
  return `${name}${text}${reading.inGuardBand ? `, ${outcome.inGuardBand}` : ''}`;
}

function passText(voice: Voice, { readings }: NestOutcome, sheet: readonly SheetRow[]) {
  const { outcome } = voice.words.line;
  const closest = readings.reduce<ReadingView | null>((a, b) => (a === null || b.margin < a.margin ? b : a), null);
  const row = sheet.find(({ step, quantity }) => step === closest?.step && quantity === closest.quantity);
  const detail =
    closest === null || row === undefined
      ? ''
      : fill(outcome.closest, {
          n: readings.length,
          reading: readingName(voice, row),
          percent: numberText(100 * closest.margin, 0, voice.wish.language),
        });
  return { says: outcome.good, detail };
}

/** A phase in plain words; a pressure point by its pressure. */
export function phaseText(voice: Voice, phase: PhaseId | null, phases: readonly ExpectedPhase[]): string {
  const { line } = voice.words;
  if (phase === null) return line.phases.ready;
  if (!phase.startsWith('point:')) return line.phases[phase as keyof typeof line.phases];
  const kPaAbs = phases.find((each) => each.phase === phase)?.kPaAbs ?? null;
  const point =
    kPaAbs === null
      ? line.phases['point-ambient']
      : fill(line.phases.point, { pressure: pointFigure(kPaAbs, voice.wish) });
  return takenText(voice.words, phase, point);
}

/** The same in one word, under the bar of the test. */
export function stepText(voice: Voice, { phase, kPaAbs }: ExpectedPhase): string {
  const { steps } = voice.words.line;
  if (!phase.startsWith('point:')) return steps[phase as keyof typeof steps];
  return kPaAbs === null
    ? steps['point-ambient']
    : plainFigure(Number(pointFigure(kPaAbs, { ...voice.wish, language: 'en' }).split(' ')[0]), voice.wish.language);
}

/** Seconds that a test has left, as it is expected to go. */
export function secondsLeft(view: LineView, atMs: number): number {
  const total = view.work?.phases.reduce((sum, { ms }) => sum + ms, 0) ?? 0;
  return Math.max(0, Math.ceil((total - atMs) / 1000));
}
