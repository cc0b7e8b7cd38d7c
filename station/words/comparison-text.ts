import { atText, planText, pointText } from './audit-text.ts';
import type { AuditNames, AuditTongue, Coded, NamedPlan } from './audit-text.ts';
import type { comparisonEnglish } from './comparison-en.ts';
import { fill } from './fill.ts';
import type { Worded } from './line-en.ts';
import { numberText, plainText } from './number-text.ts';

/** What two audits came to, in words. Pure. */

export type ComparisonWords = Worded<typeof comparisonEnglish>;

/** One of the two as its texts need it: a `ComparedSide` is one. */
export interface SideTold extends AuditNames {
  readonly plan: NamedPlan;
  readonly parts: number;
}

interface Place {
  readonly stage: number;
  readonly step: string;
  readonly kPa: number;
}

/** What a comparison found: an `AuditComparison` is one. */
export interface ComparisonTold {
  readonly here: SideTold;
  readonly there: SideTold;
  readonly standing: 'differs' | 'alike' | 'untested' | 'nothing-common';
  readonly differences: readonly Coded[];
  readonly unseen: { readonly best: Place; readonly worst: Place } | null;
}

/** What each of the two is called: its lot, and when it was drawn where both are of one lot. */
export interface SideNames {
  readonly here: string;
  readonly there: string;
}

/** The answer, what else differs, and what a comparison of so few parts cannot see. */
export interface ComparisonAnswer {
  readonly says: string;
  readonly more: readonly string[];
  readonly note: string;
}

type Say = readonly [tongue: AuditTongue, words: ComparisonWords];

/** What differs beyond chance, the largest first; what could not have been seen where that is not all. */
export function comparisonAnswer(say: Say, told: ComparisonTold, names: SideNames): ComparisonAnswer {
  const [, { answers }] = say;
  const { standing, differences } = told;
  const note = standing === 'differs' || standing === 'alike' ? unseenText(say, told) : '';
  if (standing !== 'differs') return { says: fill(answers[standing], { ...names }), more: [], note };
  const [difference = '', ...more] = differences.map((each) => differenceText(say, told.here, each));
  const says = fill(more.length === 0 ? answers.differs : answers.differsMore, { ...names, difference });
  return { says, more: more.length === 0 ? [] : [...more.map(sentence), answers.nothingElse], note };
}

const sentence = (text: string): string => `${text.charAt(0).toUpperCase()}${text.slice(1)}.`;

/** "mean at hot, 101 kPa lower by 2.9 kPa (2.7 to 3.1)". */
function differenceText([tongue, words]: Say, here: AuditNames, { code, facts }: Coded): string {
  const number = (name: string): number => Number(facts[name] ?? 0);
  const table = number('points') > 1 ? words.severalDifferences : words.differences;
  const isMean = code.startsWith('mean-');
  const [value, low, high] = [number('value'), number('low'), number('high')];
  const digits = isMean ? digitsOf((high - low) / 2) : 2;
  const text = (each: number): string => numberText(isMean ? Math.abs(each) : each, digits, tongue.language);
  // What is lower by 2.7 to 3.1 counts downwards.
  const [least, most] = code === 'mean-lower' ? [high, low] : [low, high];
  return fill(entryOf(table, code) ?? code, {
    ...placeText(tongue, here, String(facts['step'] ?? ''), number('stage')),
    points: number('points'),
    of: number('of'),
    value: text(value),
    low: text(least),
    high: text(most),
  });
}

/** Digits after the point that half a width of bounds earns, so that its first digit is the last one shown: one to three. */
export const digitsOf = (half: number): number =>
  half > 0 ? Math.min(3, Math.max(1, Math.ceil(-Math.log10(half)))) : 3;

function unseenText([tongue, { answers }]: Say, { here, there, unseen }: ComparisonTold): string {
  if (unseen === null) return '';
  const { best, worst } = unseen;
  const kPa = (value: number): string => numberText(value, 2, tongue.language);
  const at = placeText(tongue, here, worst.step, worst.stage);
  const bestAt = placeText(tongue, here, best.step, best.stage);
  const isOne = best.stage === worst.stage && best.step === worst.step;
  return fill(isOne ? answers.unseenOne : answers.unseen, {
    ...at,
    n: here.parts,
    m: there.parts,
    kPa: kPa(worst.kPa),
    bestAt: bestAt.at,
    bestPoint: bestAt.point,
    best: kPa(best.kPa),
  });
}

function placeText(tongue: AuditTongue, names: AuditNames, step: string, stage: number) {
  const named = names.stages.find((each) => each.stage === stage);
  return { at: named === undefined ? '' : atText(tongue, named), point: pointText(tongue, names, step) };
}

/** Why a difference need not be the parts', in one sentence. */
export function caveatText(
  [tongue, words]: Say,
  { here, there }: Pick<ComparisonTold, 'here' | 'there'>,
  names: SideNames,
  { code, facts }: Coded,
): string {
  const text = (name: string): string => {
    const fact = facts[name] ?? '';
    return typeof fact === 'number' ? plainText(fact, 3, tongue.language) : fact;
  };
  const both = (textOf: (side: 'here' | 'there') => string) => ({ here: textOf('here'), there: textOf('there') });
  const which = facts['which'] === 'there' ? names.there : names.here;
  const own = { ...facts, which };
  const template = entryOf(words.caveats, code) ?? code;
  switch (code) {
    case 'other-rule':
      return fill(
        template,
        both((side) => fill(entryOf(words.rules, text(side)) ?? text(side), { factor: text(`${side}Factor`) })),
      );
    case 'other-rig':
      return fill(
        template,
        both((side) => fill(words.rig, { station: text(side), issue: text(`${side}Issue`) })),
      );
    case 'other-plan':
      return fill(template, {
        here: planText(tongue, here.plan, here.parts),
        there: planText(tongue, there.plan, there.parts),
      });
    case 'other-limits':
      return fill(template, both(text));
    default:
      return fill(template, own);
  }
}

const entryOf = <T>(table: Readonly<Record<string, T>>, key: string): T | undefined =>
  Object.hasOwn(table, key) ? table[key] : undefined;
