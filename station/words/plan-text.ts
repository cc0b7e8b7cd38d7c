import type { AuditWords } from './audit-en.ts';
import { fill } from './fill.ts';
import { plainText } from './number-text.ts';
import type { Language } from './number-text.ts';

/** What a sampling plan lets through, and why inspection stands where it does, in words. Pure. */

interface PlanTongue {
  readonly language: Language;
  readonly words: Pick<AuditWords, 'planMisses' | 'switching'>;
}

/** What a plan lets through, in one sentence; probabilities and shares are fractions. A code without words stays as it is. */
export function missesText(
  tongue: PlanTongue,
  { code, facts }: { readonly code: string; readonly facts: Readonly<Record<string, number>> },
): string {
  const { planMisses } = tongue.words;
  const said = entryOf(planMisses.says, code === 'process-audit' && facts['n'] === 1 ? 'process-audit-one' : code);
  const share = (fraction: number): string => shareText(tongue, fraction);
  const bads = (n: number): string => (n === 1 ? planMisses.oneBad : fill(planMisses.bad, { n }));
  const { lot = 1, c = 0, few = 0, bad = 0, accepted = 0, missed = 0, usual = 0, stopped = 0 } = facts;
  return fill(said ?? code, {
    ...facts,
    allowedParts: bads(c),
    fewParts: bads(few),
    badParts: bads(bad),
    fewShare: share(few / lot),
    badShare: share(bad / lot),
    share: share(facts['share'] ?? 0),
    usual: share(usual),
    stopped: share(stopped),
    accepted: countText(tongue, accepted),
    cases: casesText(tongue, missed),
  });
}

/** Why inspection stands where it does after a lot. A code without words stays as it is. */
export function switchingText(
  { words: { switching } }: PlanTongue,
  { code, facts }: { readonly code: string; readonly facts: Readonly<Record<string, number | string>> },
): string {
  const verdict = entryOf(switching.verdicts, String(facts['verdict'] ?? '')) ?? '';
  return fill(entryOf(switching.says, code) ?? code, { ...facts, verdict });
}

/** A fraction that no sample will ever show. */
const NEXT_TO_NOTHING = 1e-9;

/** "6.4 %". */
export const shareText = ({ language, words: { planMisses } }: PlanTongue, fraction: number): string =>
  fraction > 0 && fraction < NEXT_TO_NOTHING ? planMisses.nextToNothing : `${figuresText(100 * fraction, language)} %`;

/** Two figures, three from 100 on, never in powers of ten. */
export const figuresText = (value: number, language: Language): string =>
  value === 0
    ? '0'
    : plainText(value, Math.min(20, Math.max(0, 1 - Math.floor(Math.log10(Math.abs(value))))), language);

/** "96 of 100": a probability as a count that is never rounded to certainty. */
export function countText({ words: { planMisses } }: PlanTongue, probability: number): string {
  if (probability === 0) return planMisses.noLots;
  return probability === 1 ? planMisses.allLots : fill(planMisses.lots, { count: hundredths(planMisses, probability) });
}

/** "10 of 100 cases", in the same way. */
function casesText({ words: { planMisses } }: PlanTongue, probability: number): string {
  if (probability === 0) return planMisses.noCase;
  return probability === 1
    ? planMisses.everyCase
    : fill(planMisses.cases, { count: hundredths(planMisses, probability) });
}

function hundredths(words: AuditWords['planMisses'], probability: number): string {
  const count = Math.round(100 * probability);
  if (count === 0) return words.lessThanOne;
  return count === 100 ? words.moreThanMost : String(count);
}

const entryOf = (table: Readonly<Record<string, string>>, key: string): string | undefined =>
  Object.hasOwn(table, key) ? table[key] : undefined;
