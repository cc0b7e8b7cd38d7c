import Database from 'better-sqlite3';
import type { Database as Connection } from 'better-sqlite3';
import { KEPT_TABLES } from './foundation.ts';
import { INDEX_SCHEMA, INDEX_VERSION, indexVersionOf } from './indexes.ts';
import type { Problems } from './problem.ts';

interface SchemaRow {
  readonly type: string;
  readonly name: string;
  readonly tbl_name: string;
  readonly sql: string | null;
}

// SQLite's own statistics of its tables come and go with `optimize` and decide about speed only.
const SCHEMA =
  "SELECT type, name, tbl_name, sql FROM sqlite_schema WHERE name NOT LIKE 'sqlite_stat%' ORDER BY type, name";

/** Tables and triggers are those that the program makes: a trigger that is gone would let the ledger be rewritten. */
export function verifySchema(connection: Connection, problems: Problems): void {
  const version = indexVersionOf(connection);
  if (version !== INDEX_VERSION)
    problems.add(
      'index',
      `index tables are of version ${version ?? 'none'}, not ${INDEX_VERSION}: open the ledger for writing once`,
    );
  const expected = new Map(schemaRows(expectedSchema()).map((row) => [row.name, row]));
  for (const row of schemaRows(connection)) {
    const should = expected.get(row.name);
    expected.delete(row.name);
    if (should === undefined) problems.add('schema', `${row.type} ${row.name} does not belong to a ledger`);
    else if (row.type !== should.type || row.tbl_name !== should.tbl_name || row.sql !== should.sql)
      problems.add('schema', `${row.type} ${row.name} is not as it was made`);
  }
  for (const { type, name } of expected.values()) problems.add('schema', `${type} ${name} is missing`);
}

function schemaRows(connection: Connection): SchemaRow[] {
  return connection.prepare<[], SchemaRow>(SCHEMA).all();
}

function expectedSchema(): Connection {
  const connection = new Database(':memory:');
  for (const statement of [...KEPT_TABLES, ...INDEX_SCHEMA]) connection.exec(statement);
  return connection;
}
