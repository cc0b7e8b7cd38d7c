import type { ConditionId } from '../profile/schema.ts';
import type { AuditWords } from './audit-en.ts';
import type { Catalogue } from './catalogue.ts';
import { fill } from './fill.ts';
import { belowText, numberText, plainText, probabilityText, signedText } from './number-text.ts';
import type { Language } from './number-text.ts';

/** Findings, reasons, stages and plans of an audit in words: the same for screen and report. Pure. */

/** The language with its words. `catalogue` holds the reasons of parts and the faults of stations. */
export interface AuditTongue {
  readonly language: Language;
  readonly words: AuditWords;
  readonly catalogue: Pick<Catalogue, 'reasons' | 'faults'>;
}

/** What was noticed or reasoned: a code and what belongs to it. */
export interface Coded {
  readonly code: string;
  readonly facts: Readonly<Record<string, number | string>>;
}

/** A condition in its place in an audit. */
export interface NamedStage {
  readonly stage: number;
  readonly condition: ConditionId;
  readonly targetC: number;
  readonly isAgain: boolean;
}

/** A pressure point; `kPaAbs` is null where it is whatever the barometer says. */
export interface NamedPoint {
  readonly step: string;
  readonly kPaAbs: number | null;
  readonly branch?: 'falling' | 'rising';
  /** What only audits take: the pressure of `of` from the other side, or at another supply in V. */
  readonly again?: { readonly of: string; readonly supplyV: number | null } | null;
}

/** Stages and points of one audit by number and step, with what the barometer said. */
export interface AuditNames {
  readonly stages: readonly NamedStage[];
  readonly points: readonly NamedPoint[];
  /** Pressure of each cell, kPa abs. */
  readonly cells: readonly { readonly stage: number; readonly step: string; readonly pointKpaAbs: number }[];
}

/** What an audit's texts are told of it; an `AuditView` is one. */
export const namesOf = (of: {
  readonly input: Pick<AuditNames, 'stages' | 'points'>;
  readonly evaluation: Pick<AuditNames, 'cells'>;
}): AuditNames => ({ stages: of.input.stages, points: of.input.points, cells: of.evaluation.cells });

/** How the lot is sampled, as `SamplingPlan` says it. */
export type NamedPlan =
  | { readonly kind: 'zero-acceptance'; readonly confidence: number; readonly badShare: number }
  | { readonly kind: 'attributes'; readonly n: number; readonly c: number; readonly reference: string | null }
  | { readonly kind: 'variables'; readonly n: number; readonly k: number; readonly reference: string | null }
  | { readonly kind: 'fixed'; readonly n: number };

/** "Hot", "Ambient again". */
export const conditionText = ({ words }: AuditTongue, { condition, isAgain }: NamedStage): string =>
  (isAgain ? words.conditionsAgain : words.conditions)[condition];

/** "+125", "−40"; the temperature of a room has no sign. */
export const targetText = ({ language }: AuditTongue, { condition, targetC }: NamedStage): string =>
  condition === 'ambient'
    ? plainText(targetC, 1, language)
    : `${targetC > 0 ? '+' : ''}${plainText(targetC, 1, language)}`;

/** "Hot +125 °C". */
export const stageText = (tongue: AuditTongue, stage: NamedStage): string =>
  fill(tongue.words.stage, { condition: conditionText(tongue, stage), target: targetText(tongue, stage) });

/** That conditions of the profile were not chosen; null when all were. */
export const leftOutText = ({ words }: AuditTongue, leftOut: readonly ConditionId[]): string | null =>
  leftOut.length === 0
    ? null
    : fill(words.leftOut, { conditions: leftOut.map((condition) => words.conditions[condition]).join(', ') });

/** "at hot", "back at ambient". */
export const atText = ({ words }: AuditTongue, { condition, isAgain }: NamedStage): string =>
  (isAgain ? words.atAgain : words.at)[condition];

/** "Hot +125 °C"; a condition that is returned to by what lies between: "Ambient again 23 °C: difference to before, after hot". */
export function driftHeading(tongue: AuditTongue, stages: readonly NamedStage[], stage: NamedStage): string {
  const before = stages.filter((each) => each.stage < stage.stage).at(-1);
  const named = stageText(tongue, stage);
  if (stage.condition !== 'ambient' || before === undefined) return named;
  const { hysteresis, after } = tongue.words.drift;
  return fill(hysteresis, { stage: named, after: after[before.condition] });
}

/** The pressure of a point, kPa abs: its own, or the mean of what the barometer said at it; null before any reading. */
export function pointKpaAbs({ points, cells }: AuditNames, step: string): number | null {
  const own = points.find((point) => point.step === step)?.kPaAbs;
  if (own !== null && own !== undefined) return own;
  const read = cells.filter((cell) => cell.step === step);
  return read.length === 0 ? null : read.reduce((sum, cell) => sum + cell.pointKpaAbs, 0) / read.length;
}

/** "80 kPa", "80 kPa rising", "80 kPa at 4.85 V"; the barometer's point by what it said, in whole kPa. */
export function pointText(tongue: AuditTongue, names: AuditNames, step: string): string {
  const kPa = pointKpaAbs(names, step);
  const named = names.points.find((point) => point.step === step);
  const point =
    kPa === null
      ? tongue.words.barometer
      : fill(tongue.words.point, { kPa: plainText(kPa, named?.kPaAbs === null ? 0 : 2, tongue.language) });
  return againText(tongue, named, point);
}

/** A point's pressure with how it was taken; the line's points as they are. */
export function againText({ words, language }: AuditTongue, named: NamedPoint | undefined, point: string): string {
  const again = named?.again ?? null;
  if (named === undefined || again === null) return point;
  return again.supplyV === null
    ? fill(words.again[named.branch ?? 'rising'], { point })
    : fill(words.again.supply, { point, volts: plainText(again.supplyV, 2, language) });
}

/** What stands under the errors over pressure. */
export const errorNote = (
  of: { readonly input: { readonly points: readonly NamedPoint[] } },
  { words: { notes } }: AuditTongue,
): string => {
  const hasWayBack = of.input.points.some(
    ({ again }) => again !== null && again !== undefined && again.supplyV === null,
  );
  return hasWayBack ? `${notes.errorOverPressure} ${notes.wayBack}` : notes.errorOverPressure;
};

/** "Hot, 95 kPa". */
export function cellText(tongue: AuditTongue, names: AuditNames, cell: { stage: number; step: string }): string {
  const stage = names.stages.find((each) => each.stage === cell.stage);
  const point = pointText(tongue, names, cell.step);
  return stage === undefined ? point : fill(tongue.words.cell, { stage: conditionText(tongue, stage), point });
}

/** Why a part failed or was not judged, or what a station suffered; a code without words stays as it is. */
export function reasonText({ catalogue, words }: AuditTongue, code: string): string {
  if (code === '' || code === 'unknown') return words.noReason;
  return entryOf(catalogue.reasons, code)?.says ?? entryOf(catalogue.faults, code)?.says ?? code;
}

/** What was noticed, in one line. */
export function findingText(tongue: AuditTongue, names: AuditNames, { code, facts }: Coded): string {
  const { words, language } = tongue;
  const kPa = Number(facts['kPa'] ?? 0);
  const parts = Number(facts['parts'] ?? 0);
  const of = Number(facts['of'] ?? 0);
  const nest = code === 'nest-low' || code === 'nest-high';
  const key = code === 'line-off' ? (kPa < 0 ? 'line-low' : 'line-high') : code;
  return fill(entryOf(words.findings, key) ?? code, {
    ...placeFacts(tongue, names, facts),
    serial: facts['serial'] ?? '',
    nest: facts['nest'] ?? '',
    reason: reasonText(tongue, String(facts['reason'] ?? '')),
    // What reads low or high says so in words.
    kPa: nest || code === 'line-off' ? numberText(Math.abs(kPa), 2, language) : signedText(kPa, 2, language),
    allowed: numberText(Number(facts['allowedKpa'] ?? 0), 2, language),
    alike: fill(parts === of ? words.alike : words.some, { parts, of }),
    p: probabilityText(Number(facts['p'] ?? 0), language),
  });
}

/** A reason of a proposal, in one line. */
export function becauseText(tongue: AuditTongue, names: AuditNames, { code, facts }: Coded): string {
  const { words, language } = tongue;
  const number = (name: string): number => Number(facts[name] ?? 0);
  const isBelow = code.endsWith('-below');
  const index = (value: number, limit: number): string =>
    isBelow ? belowText(value, limit, language) : numberText(value, 2, language);
  return fill(entryOf(words.because, code) ?? code, {
    ...facts,
    ...placeFacts(tongue, names, facts),
    ppk: index(number('ppk'), number('wanted')),
    wanted: plainText(number('wanted'), 2, language),
    quality: index(number('quality'), number('k')),
    k: plainText(number('k'), 3, language),
  });
}

/** What fewer parts than the plan asks for let through, in one sentence. */
export function judgedText({ words, language }: AuditTongue, { code, facts }: Coded): string {
  const { misses } = words;
  const number = (name: string): number => Number(facts[name] ?? 0);
  const share = Object.hasOwn(facts, 'share') ? number('share') : number('bad') / Math.max(1, number('lot'));
  const cases = Math.round(100 * number('missed'));
  const exact = number('missed') === 1;
  return fill(entryOf(misses, code) ?? code, {
    ...facts,
    share: plainText(100 * share, 2, language),
    cases: exact
      ? misses.everyCase
      : cases === 0
        ? misses.fewCases
        : cases === 100
          ? misses.mostCases
          : fill(misses.cases, { cases }),
  });
}

/** "Proposed: hold". */
export const proposedText = ({ words }: AuditTongue, decision: 'accept' | 'hold' | 'reject' | null): string =>
  words.proposed[decision ?? 'none'];

/** How many parts are looked at and by what rule, `n` of them. */
export function planText({ words, language }: AuditTongue, plan: NamedPlan, n: number): string {
  const said = fill(words.plans[plan.kind], {
    n,
    ...('c' in plan ? { c: plan.c } : {}),
    ...('k' in plan ? { k: plainText(plan.k, 3, language) } : {}),
    ...('badShare' in plan
      ? {
          share: plainText(100 * plan.badShare, 2, language),
          confidence: plainText(100 * plan.confidence, 2, language),
        }
      : {}),
  });
  const reference = 'reference' in plan ? plan.reference : null;
  return reference === null ? said : `${said} ${fill(words.plans.reference, { reference })}`;
}

/** Where something was noticed: `at` and `point`, as far as its facts say. */
function placeFacts(tongue: AuditTongue, names: AuditNames, facts: Coded['facts']): { at: string; point: string } {
  const stage = names.stages.find((each) => each.stage === facts['stage']);
  const step = facts['step'];
  return {
    at: stage === undefined ? '' : atText(tongue, stage),
    point: typeof step === 'string' ? pointText(tongue, names, step) : '',
  };
}

const entryOf = <T>(table: Readonly<Record<string, T>>, key: string): T | undefined =>
  Object.hasOwn(table, key) ? table[key] : undefined;
