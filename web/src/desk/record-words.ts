import type { CycleLine, JudgedReading } from '../../../server/records/contract.ts';
import type { Why } from '../../../station/cycle/result.ts';
import type { Facts } from '../../../station/faults.ts';
import { fill } from '../../../station/words/fill.ts';
import { readingName, sayingOf } from '../line/wording.ts';
import { digitsFor, plainFigure, shownUnit } from '../shared/figures.ts';
import { numberText } from '../../../station/words/number-text.ts';
import type { DeskVoice } from './desk-voice.ts';

/** Words and figures of one record. Pure. */

const DAY_MS = 86_400_000;
const MONTH_DAYS = 30.44;
const YEAR_DAYS = 365.25;

/** So many more digits has a sum than what it sums up to: it can be added up again. */
export const SUM_DIGITS = 2;

/** The sheet of a nest: what was judged there; the plausibility before the fill only where it is what failed. */
export const sheetOf = (readings: readonly JudgedReading[], nest: number): JudgedReading[] =>
  readings.filter((each) => each.nest === nest && (each.step !== 'ambient-check' || each.verdict === 'fail'));

export const sameReading = (a: JudgedReading, b: JudgedReading): boolean =>
  a.step === b.step && a.quantity === b.quantity;

/** The reading that decides: the one that the first reason names, else the worst that failed, else the closest. */
export function decidingReading(readings: readonly JudgedReading[], why: Why | null): JudgedReading | null {
  const failed = readings.filter(({ verdict }) => verdict === 'fail');
  const named = failed.find(({ step }) => step === why?.facts['step']);
  if (named !== undefined) return named;
  const among = failed.length > 0 ? failed : readings;
  return among.reduce<JudgedReading | null>((a, b) => (a === null || b.margin < a.margin ? b : a), null);
}

/**
 * A number of a reading's own unit as it is shown: factor and digits are the reading's. `more` digits show what the
 * uncertainty alone would round away: on which side of a limit a value lies.
 */
export function readingNumber({ wish }: DeskVoice, reading: JudgedReading, value: number, more = 0): string {
  const { factor } = shownUnit(reading.quantity, reading.unit);
  return numberText(value * factor, digitsFor(reading.u * factor) + more, wish.language);
}

/** A difference, its sign always shown; what rounds to nothing has none. */
export function signedNumber(voice: DeskVoice, reading: JudgedReading, value: number): string {
  const text = readingNumber(voice, reading, value);
  return value > 0 && /[1-9]/.test(text) ? `+${text}` : text;
}

/** An amount behind a judgement: enough digits to add it up again. */
export const amount = ({ wish }: DeskVoice, value: number): string =>
  Math.abs(value) !== 0 && Math.abs(value) < 1e-3
    ? `${plainFigure(value * 1e6, wish.language)} · 10⁻⁶`
    : new Intl.NumberFormat(wish.language, { maximumSignificantDigits: 6, useGrouping: false })
        .format(value)
        .replace('-', '−');

export const unitOf = (reading: JudgedReading): string => shownUnit(reading.quantity, reading.unit).unit;

export function allowedText(voice: DeskVoice, reading: JudgedReading): string {
  const { atMost, between } = voice.desk.record;
  const high = readingNumber(voice, reading, reading.high ?? 0);
  return reading.low === null
    ? fill(atMost, { limit: high })
    : fill(between, { low: readingNumber(voice, reading, reading.low), high });
}

/** A reading with what is allowed, as one line: "2.41 std cm³/min, at most 0.50 allowed". */
export function numberLine(voice: DeskVoice, reading: JudgedReading): string {
  const { atMost, between, inGuardBand } = voice.words.line.outcome;
  const facts = { value: readingNumber(voice, reading, reading.value, 1), unit: unitOf(reading) };
  const high = readingNumber(voice, reading, reading.high ?? 0, 1);
  const text =
    reading.low === null
      ? fill(atMost, { ...facts, limit: high })
      : fill(between, { ...facts, low: readingNumber(voice, reading, reading.low, 1), high });
  return reading.inGuardBand ? `${text}, ${inGuardBand}` : text;
}

/** Which values the rule accepts, in the reading's unit. */
export function acceptedText(voice: DeskVoice, reading: JudgedReading): string {
  const { acceptedAtMost, acceptedBetween } = voice.desk.record;
  const high = readingNumber(voice, reading, (reading.high ?? 0) - reading.guard, SUM_DIGITS);
  return reading.low === null
    ? fill(acceptedAtMost, { high })
    : fill(acceptedBetween, { low: readingNumber(voice, reading, reading.low + reading.guard, SUM_DIGITS), high });
}

/** The name of a term; one that a newer program added is shown as it is stored. */
export function termText({ desk }: DeskVoice, term: string): string {
  const terms: Readonly<Record<string, string>> = desk.terms;
  return terms[term] ?? term;
}

/** Units as people write them. */
const UNITS: Readonly<Record<string, string>> = {
  'std cm3/min': 'std cm³/min',
  'Pa m3/s': 'Pa·m³/s',
  cm3: 'cm³',
};
export const unitText = (unit: string): string => UNITS[unit] ?? unit;

/** The word for why a nest did not pass, a part of another class named by what it reads like; empty for a pass. */
export function reasonText(voice: DeskVoice, why: Why | null): string {
  if (why === null) return '';
  const { says } = sayingOf(voice, why.by, why.code);
  const like = why.facts['readsLike'];
  return why.code === 'other-class' && typeof like === 'string' ? `${says}: ${like}` : says;
}

/** What the person does about it. */
export const nextText = (voice: DeskVoice, why: Why | null): string =>
  why === null ? voice.words.passNext : sayingOf(voice, why.by, why.code).next;

export const nameOf = (voice: DeskVoice, reading: JudgedReading): string => readingName(voice, reading);

/** What kind of test it was, with its condition where that is not the room's. */
export function testText({ desk }: DeskVoice, { kind, condition }: Pick<CycleLine, 'kind' | 'condition'>): string {
  return kind === 'audit' || condition !== 'ambient'
    ? `${desk.kinds[kind]}, ${desk.conditions[condition]}`
    : desk.kinds[kind];
}

/** The time between two tests where it is a day or more, in the unit that fits; null when it is less. */
export function gapText({ desk, wish }: DeskVoice, fromIso: string, toIso: string): string | null {
  const days = (Date.parse(toIso) - Date.parse(fromIso)) / DAY_MS;
  if (!(days >= 1)) return null;
  const { gap, day, days: many, month, months, year, years } = desk.record;
  const [n, one, more] =
    days >= 2 * YEAR_DAYS
      ? [days / YEAR_DAYS, year, years]
      : days >= 2 * MONTH_DAYS
        ? [days / MONTH_DAYS, month, months]
        : [days, day, many];
  const whole = Math.floor(n);
  return fill(gap, { n: plainFigure(whole, wish.language), unit: whole === 1 ? one : more });
}

/** Where the record of a serial stands; with the cycle that is chosen. */
export const recordPath = (serial: string, cycle?: string): string =>
  `/records/${encodeURIComponent(serial)}${cycle === undefined ? '' : `?cycle=${encodeURIComponent(cycle)}`}`;

/** A hash in groups, so that two can be compared by eye. */
export const hashText = (hash: string): string => hash.slice(0, 16).replace(/(.{4})(?=.)/g, '$1 ');

/** Units at the end of a fact's name, as people write them; the longer ones first. */
const FACT_UNITS: readonly (readonly [string, string])[] = [
  ['KpaAbs', 'kPa abs'],
  ['Kpa', 'kPa'],
  ['PaPerS', 'Pa/s'],
  ['Ms', 'ms'],
  ['Ma', 'mA'],
  ['V', 'V'],
  ['C', '°C'],
];

/** The facts behind a fault as the station gave them; a proof by its word. Empty when there are none. */
export function factsText({ words, wish }: DeskVoice, facts: Facts): string {
  const proofs: Readonly<Record<string, string>> = words.line.proofs;
  return Object.entries(facts)
    .map(([name, value]) => {
      if (name === 'proof') return proofs[value] ?? String(value);
      const [end, unit] = FACT_UNITS.find(([suffix]) => name.endsWith(suffix)) ?? ['', ''];
      const bare = name.slice(0, name.length - end.length).replace(/[A-Z]/g, (letter) => ` ${letter.toLowerCase()}`);
      return `${bare} ${typeof value === 'number' ? plainFigure(value, wish.language) : value} ${unit}`.trim();
    })
    .join(', ');
}
