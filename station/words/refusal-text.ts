import type { Facts } from '../faults.ts';
import type { Catalogue } from './catalogue.ts';
import type { DeskWords } from './desk-en.ts';
import { fill, placesOf } from './fill.ts';

/** What a problem document (RFC 9457) tells: why something was not done. */
interface Told {
  readonly code: string;
  /** In English. */
  readonly detail: string;
  readonly facts: Facts;
}

/** Words for refusals: the desk's and the audit lab's, and those of the rig's side. */
export interface RefusalWords {
  readonly desk: Pick<DeskWords, 'refusals' | 'conditions'>;
  readonly words: { readonly line: Pick<Catalogue['line'], 'refusals' | 'proofs'> };
}

/** Why something was not done; a code without words, or whose words ask for more than it tells, as the server said it. */
export function refusalText({ desk, words }: RefusalWords, { code, detail, facts }: Told): string {
  const { says, states } = desk.refusals;
  const said =
    entryOf(says, `${code}/${facts['why'] ?? ''}`) ?? entryOf(says, code) ?? entryOf(words.line.refusals, code);
  if (said === undefined) return detail;
  const named = (table: Readonly<Record<string, string>>, name: string): Facts => {
    const fact = facts[name];
    return typeof fact === 'string' ? { [name]: entryOf(table, fact) ?? fact } : {};
  };
  const { until } = facts;
  const text = fill(said, {
    ...facts,
    ...named(states, 'state'),
    ...named(words.line.proofs, 'proof'),
    ...named(desk.conditions, 'condition'),
    ...(typeof until === 'string' ? { until: until.slice(0, 10) } : {}),
  });
  return placesOf(said).every((place) => Object.hasOwn(facts, place)) ? text : detail;
}

const entryOf = (table: Readonly<Record<string, string>>, key: string): string | undefined =>
  Object.hasOwn(table, key) ? table[key] : undefined;
