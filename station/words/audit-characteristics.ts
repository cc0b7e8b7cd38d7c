import type { AuditNames, AuditTongue } from './audit-text.ts';
import { pointText } from './audit-text.ts';
import { fill } from './fill.ts';
import { numberText, plainText, signedText } from './number-text.ts';

/** Hysteresis, linearity, effect of the supply and response in words and figures: the same for screen and report. Pure. */

interface Spread {
  readonly stage: number;
  readonly n: number;
  readonly mean: number;
  readonly sd: number | null;
  readonly largest: number;
  readonly serial: string;
}

/** What is told of; an evaluation's `characteristics` is one. kPa, and ms for the response. */
export interface NamedCharacteristics {
  readonly hysteresis: readonly (Spread & { readonly step: string })[];
  readonly linearity: readonly Spread[];
  readonly supply: readonly (Spread & { readonly step: string })[];
  readonly response: readonly (Spread & { readonly limitMs: number })[];
}

/** One characteristic in one stage. `percent` is null where nothing is a share of the span. */
export interface CharacteristicCell {
  readonly stage: number;
  readonly n: number;
  readonly largest: string;
  readonly percent: string | null;
  readonly mean: string;
  readonly sd: string | null;
  readonly serial: string;
}

/** One characteristic over the stages. */
export interface CharacteristicRow {
  readonly name: string;
  readonly unit: 'kPa' | 'ms';
  readonly cells: readonly CharacteristicCell[];
}

/** Digits of a difference of two readings in kPa, of its share of the span in percent, and of a lag in ms. */
const DIGITS = { kPa: 3, percent: 2, ms: 1 } as const;

/** Every characteristic that was measured, as rows: hysteresis by pressure, linearity, supplies, response. */
export function characteristicRows(
  tongue: AuditTongue,
  names: AuditNames,
  { hysteresis, linearity, supply, response }: NamedCharacteristics,
  spanKpa: number,
): CharacteristicRow[] {
  const words = tongue.words.characteristics;
  const row = (name: string, unit: CharacteristicRow['unit'], spreads: readonly Spread[]): CharacteristicRow[] =>
    spreads.length === 0 ? [] : [{ name, unit, cells: spreads.map((spread) => cellOf(tongue, spread, unit, spanKpa)) }];
  const byStep = (spreads: readonly (Spread & { readonly step: string })[], name: string): CharacteristicRow[] =>
    [...new Set(spreads.map(({ step }) => step))].flatMap((step) =>
      row(
        fill(name, { point: pointText(tongue, names, step) }),
        'kPa',
        spreads.filter((each) => each.step === step),
      ),
    );
  const limit = plainText(response[0]?.limitMs ?? 0, 1, tongue.language);
  return [
    ...byStep(hysteresis, words.hysteresis),
    ...row(words.linearity, 'kPa', linearity),
    ...byStep(supply, words.supply),
    ...row(fill(words.response, { limit }), 'ms', response),
  ];
}

/** What the rows are called together: where a profile asks for no points of an audit's own, there is the response alone. */
export const characteristicTitle = (
  { words: { characteristics: words } }: AuditTongue,
  { hysteresis, linearity, supply }: NamedCharacteristics,
): string => (hysteresis.length + linearity.length + supply.length === 0 ? words.titleResponse : words.title);

/** What stands under the rows: what each of them is. */
export function characteristicNotes(tongue: AuditTongue, of: NamedCharacteristics, spanKpa: number): string {
  const words = tongue.words.characteristics;
  const n = Math.max(0, ...of.response.map((each) => each.n), ...of.supply.map((each) => each.n));
  return [
    fill(words.note, { n }),
    ...(of.hysteresis.length > 0 ? [fill(words.swept, { span: plainText(spanKpa, 1, tongue.language) })] : []),
    ...(of.supply.length > 0 ? [words.supplied] : []),
    ...(of.response.length > 0 ? [words.responded] : []),
  ].join(' ');
}

function cellOf(
  { language }: AuditTongue,
  { stage, n, mean, sd, largest, serial }: Spread,
  unit: CharacteristicRow['unit'],
  spanKpa: number,
): CharacteristicCell {
  const digits = DIGITS[unit];
  return {
    ...{ stage, n, serial },
    largest: signedText(largest, digits, language),
    percent: unit === 'ms' ? null : signedText((100 * largest) / spanKpa, DIGITS.percent, language),
    mean: signedText(mean, digits, language),
    sd: sd === null ? null : numberText(sd, digits, language),
  };
}
