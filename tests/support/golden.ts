import Database from 'better-sqlite3';
import { APPLICATION_ID, LEDGER_FORMAT } from '../../server/store/database.ts';
import { KEPT_TABLES } from '../../server/store/foundation.ts';
import type { EntryRow } from '../../server/store/ledger.ts';

/** A whole ledger as text: the stored rows, and what they said to the program that wrote them. */
export interface Golden {
  readonly about: string;
  readonly entries: readonly EntryRow[];
  readonly documents: readonly { readonly hash: string; readonly kind: string; readonly content: string }[];
  /** `content` in base64. */
  readonly traces: readonly { readonly hash: string; readonly content: string }[];
  /** Verdicts of each serial in the order of its cycles. */
  readonly verdicts: Readonly<Record<string, readonly string[]>>;
}

/** The stored rows of a ledger's file, read as they are. */
export function exportGolden(path: string, about: string): Golden {
  const raw = new Database(path, { readonly: true });
  const serials = raw
    .prepare<[], { serial: string; verdict: string }>(
      'SELECT serial, verdict FROM serial ORDER BY serial, sequence, nest',
    )
    .all();
  const golden: Golden = {
    about,
    entries: raw.prepare<[], EntryRow>('SELECT * FROM entry ORDER BY sequence').all(),
    documents: raw.prepare<[], Golden['documents'][number]>('SELECT * FROM document ORDER BY hash').all(),
    traces: raw
      .prepare<[], { hash: string; content: Buffer }>('SELECT * FROM trace ORDER BY hash')
      .all()
      .map((trace) => ({ ...trace, content: trace.content.toString('base64') })),
    verdicts: Object.fromEntries(
      serials.map(({ serial }) => [
        serial,
        serials.filter((line) => line.serial === serial).map(({ verdict }) => verdict),
      ]),
    ),
  };
  raw.close();
  return golden;
}

/** Lays the rows into a new file, with no index table: those are for the program of today to make. */
export function layGolden(path: string, golden: Golden): void {
  const raw = new Database(path);
  for (const statement of KEPT_TABLES) raw.exec(statement);
  raw.pragma(`application_id = ${APPLICATION_ID}`);
  raw.pragma(`user_version = ${LEDGER_FORMAT}`);
  const entry = raw.prepare('INSERT INTO entry VALUES (?, ?, ?, ?, ?, ?, ?, ?)');
  for (const row of golden.entries)
    entry.run(
      row.sequence,
      row.kind,
      row.format,
      row.at,
      row.content,
      row.content_hash,
      row.previous_hash,
      row.entry_hash,
    );
  const document = raw.prepare('INSERT INTO document VALUES (?, ?, ?)');
  for (const { hash, kind, content } of golden.documents) document.run(hash, kind, content);
  const trace = raw.prepare('INSERT INTO trace VALUES (?, ?)');
  for (const { hash, content } of golden.traces) trace.run(hash, Buffer.from(content, 'base64'));
  raw.close();
}
