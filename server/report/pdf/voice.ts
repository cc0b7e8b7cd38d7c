import { auditEnglish } from '../../../station/words/audit-en.ts';
import { auditSpanish } from '../../../station/words/audit-es.ts';
import { namesOf } from '../../../station/words/audit-text.ts';
import type { AuditNames, AuditTongue } from '../../../station/words/audit-text.ts';
import { english } from '../../../station/words/en.ts';
import { spanish } from '../../../station/words/es.ts';
import { numberText, plainText, signedText } from '../../../station/words/number-text.ts';
import type { Language } from '../../../station/words/number-text.ts';
import { reportEnglish } from '../../../station/words/report-en.ts';
import type { ReportWords } from '../../../station/words/report-en.ts';
import { reportSpanish } from '../../../station/words/report-es.ts';
import type { AuditView } from '../../audit/contract.ts';

/** How one report speaks: its words, its numbers, its times, and the names of this audit's stages and points. */
export interface Voice {
  readonly tongue: AuditTongue;
  readonly report: ReportWords;
  readonly names: AuditNames;
  /** An instant with date, time and zone. */
  time(instant: string): string;
  /** An instant without its zone, for tables under a heading that names it. */
  shortTime(instant: string): string;
  number(value: number | null, digits: number): string;
  signed(value: number | null, digits: number): string;
  plain(value: number): string;
}

/** "0.080 … 0.084", or one number where both are written alike. */
export function rangeText([low, high]: readonly [number, number], textOf: (value: number) => string): string {
  const [from, to] = [textOf(low), textOf(high)];
  return from === to ? from : `${from} … ${to}`;
}

/** @throws RangeError for a time zone that is none */
export function voiceOf(view: AuditView, language: Language, timeZone: string): Voice {
  const isSpanish = language === 'es';
  const report = isSpanish ? reportSpanish : reportEnglish;
  const date = { day: 'numeric', month: 'short', year: 'numeric' } as const;
  const clock = { hour: '2-digit', minute: '2-digit', hourCycle: 'h23' } as const;
  // British English for the order of a date that cannot be misread: 24 Nov 2026.
  const locale = isSpanish ? 'es' : 'en-GB';
  const long = new Intl.DateTimeFormat(locale, { ...date, ...clock, timeZone, timeZoneName: 'short' });
  const short = new Intl.DateTimeFormat(locale, { ...date, ...clock, timeZone });
  return {
    tongue: {
      language,
      words: isSpanish ? auditSpanish : auditEnglish,
      catalogue: isSpanish ? spanish : english,
    },
    report,
    names: namesOf(view),
    time: (instant) => long.format(new Date(instant)),
    shortTime: (instant) => short.format(new Date(instant)),
    number: (value, digits) => (value === null ? report.unknown : numberText(value, digits, language)),
    signed: (value, digits) => (value === null ? report.unknown : signedText(value, digits, language)),
    plain: (value) => plainText(value, 4, language),
  };
}
