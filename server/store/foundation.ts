import { randomUUID } from 'node:crypto';
import type { Database as Connection } from 'better-sqlite3';
import type { Clock } from '../../station/clock.ts';
import { APPLICATION_ID, LEDGER_FORMAT } from './database.ts';
import { DOCUMENT_TABLES } from './documents.ts';
import { INDEX_VERSION, Indexes, indexVersionOf, rebuildIndexes } from './indexes.ts';
import { LEDGER_TABLES, Ledger, ready } from './ledger.ts';
import { TRACE_TABLES } from './traces.ts';

/** The tables that never migrate, in the order in which they are made. */
export const KEPT_TABLES: readonly string[] = [...LEDGER_TABLES, ...DOCUMENT_TABLES, ...TRACE_TABLES];

/** All tables, marks and the first entry in one transaction: a cut leaves an empty file or a whole ledger. */
export function createLedger(
  connection: Connection,
  options: { clock: Clock; program: string; server?: string },
): Indexes {
  return connection
    .transaction(() => {
      for (const statement of KEPT_TABLES) connection.exec(statement);
      connection.pragma(`application_id = ${APPLICATION_ID}`);
      connection.pragma(`user_version = ${LEDGER_FORMAT}`);
      const createdAt = options.clock.wallTime().toISOString();
      const server = options.server ?? randomUUID();
      new Ledger(connection).append(ready('server', { server, createdAt, program: options.program }), createdAt);
      return rebuildIndexes(connection);
    })
    .immediate();
}

/** The index tables, caught up with the ledger; made anew when they are of another version or are not up to their mark. */
export function currentIndexes(connection: Connection): Indexes {
  return connection
    .transaction(() => {
      if (indexVersionOf(connection) === INDEX_VERSION) {
        const indexes = new Indexes(connection);
        if (indexes.catchUp()) return indexes;
      }
      return rebuildIndexes(connection);
    })
    .immediate();
}
