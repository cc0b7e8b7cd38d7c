import type { Database as Connection } from 'better-sqlite3';
import { openForReading } from './database.ts';
import { StoreError } from './errors.ts';
import { PROBLEM_LIMIT, Problems, saying } from './problem.ts';
import type { Problem } from './problem.ts';
import { verifyDocuments, verifyTraces } from './verify-contents.ts';
import { verifyEntries } from './verify-entries.ts';
import { verifySchema } from './verify-schema.ts';
import { brokenLog } from './write-ahead-log.ts';

export interface Verification {
  readonly ok: boolean;
  /** How many entries were found, and the hash of the last: written down elsewhere, it proves that none was replaced. */
  readonly entries: number;
  readonly head: string | null;
  readonly problems: readonly Problem[];
}

/** An entry's place as somebody noted it outside of the ledger. */
export interface Noted {
  readonly sequence: number;
  readonly hash: string;
}

/**
 * Walks a ledger from its file's structure to the last index row and names everything that is not as it was written.
 * Writes nothing, and sees one moment of a ledger in use. The chain finds any change that leaves a hash unchanged
 * behind; who can rewrite the whole chain is found by `noted` places only, kept where he cannot write.
 * Throws `cannot-open` when there is nothing to verify; damage is never thrown.
 */
export function verify(path: string, noted: readonly Noted[] = []): Verification {
  const problems = new Problems();
  problems.within('log', () => {
    const broken = brokenLog(path);
    if (broken !== undefined) problems.add('log', broken);
  });
  let connection: Connection;
  try {
    connection = openForReading(path);
  } catch (cause) {
    if (cause instanceof StoreError && cause.code === 'cannot-open') throw cause;
    problems.add('file', saying(cause));
    return { ok: false, entries: 0, head: null, problems: problems.list };
  }
  try {
    let walked = { entries: 0, head: null as string | null };
    // One read transaction, so that a writer beside it changes nothing between two looks.
    problems.within('file', () => {
      connection.transaction(() => {
        problems.within('file', () => {
          verifyFile(connection, problems);
        });
        problems.within('schema', () => {
          verifySchema(connection, problems);
        });
        const documents = verifyDocuments(connection, problems);
        const traces = verifyTraces(connection, problems);
        walked = verifyEntries(connection, { documents, traces, noted }, problems);
      })();
    });
    return { ok: problems.list.length === 0, ...walked, problems: problems.list };
  } finally {
    connection.close();
  }
}

function verifyFile(connection: Connection, problems: Problems): void {
  const found = connection.pragma(`integrity_check(${PROBLEM_LIMIT})`) as readonly { integrity_check: string }[];
  for (const { integrity_check: what } of found) if (what !== 'ok') problems.add('file', what);
}
