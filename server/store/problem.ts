import { translated } from './database.ts';
import { StoreError } from './errors.ts';

/** One thing that is not as it was written. `sequence` is the entry's, where it is about one. */
export interface Problem {
  readonly where: 'file' | 'schema' | 'log' | 'entry' | 'document' | 'trace' | 'index';
  readonly sequence?: number;
  readonly what: string;
}

/** More would help nobody to understand what happened. */
export const PROBLEM_LIMIT = 200;

/** What is wrong so far, at most PROBLEM_LIMIT of it. */
export class Problems {
  readonly list: Problem[] = [];

  add(where: Problem['where'], what: string, sequence?: number): void {
    if (this.list.length >= PROBLEM_LIMIT) return;
    this.list.push(sequence === undefined ? { where, what } : { where, sequence, what });
  }

  /** Runs one part of the walk; that the storage cannot even be read is a finding. Returns whether it came to its end. */
  within(where: Problem['where'], walk: () => void): boolean {
    try {
      walk();
      return true;
    } catch (cause) {
      this.add(where, saying(cause));
      return false;
    }
  }
}

/** What an error says about stored bytes: SQLite's own words behind the store's. */
export function saying(cause: unknown): string {
  const error = translated(cause);
  const own = error instanceof Error ? error.message : String(error);
  const inner = error instanceof StoreError && error.cause instanceof Error ? `: ${error.cause.message}` : '';
  return own + inner;
}
