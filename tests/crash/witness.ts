import { writeSync } from 'node:fs';
import type { NestResult } from '../../station/cycle/result.ts';
import { hashOf } from '../../station/hash.ts';
import type { Hash } from '../../station/hash.ts';

/**
 * What somebody outside of the process saw: one line each, handed over before the process goes on. A line is never
 * taken back, so whatever it says must be in the ledger for good.
 */
export type Saying =
  | { readonly says: 'ready' }
  | { readonly says: 'opened'; readonly cycle: string }
  | { readonly says: 'phase'; readonly phase: string }
  /** The results that were shown, by their hash: a line is short enough to be written whole. */
  | { readonly says: 'shown'; readonly cycle: string; readonly results: Hash }
  | { readonly says: 'refused'; readonly code: string }
  | { readonly says: 'done' };

/** What is said when the verdicts of a cycle are shown. */
export const shown = (cycle: string, results: readonly NestResult[]): Saying => ({
  says: 'shown',
  cycle,
  results: hashOf(results),
});

/** Writes one line to an open file or pipe; a short line is written whole or not at all. */
export function say(file: number, saying: Saying): void {
  writeSync(file, `${JSON.stringify(saying)}\n`);
}

/** The whole lines of what was written. */
export function sayingsOf(text: string): Saying[] {
  return text
    .split('\n')
    .slice(0, -1)
    .map((line) => JSON.parse(line) as Saying);
}
