import type { Database as Connection, Statement } from 'better-sqlite3';
import { canonicalJson } from '../../station/hash.ts';
import type { Hash } from '../../station/hash.ts';
import { sha256 } from './digest.ts';
import { DOCUMENT_READERS } from './document-format.ts';
import type { DocumentKind, Documents } from './document-format.ts';
import { fromJson, parsed } from './entry-format.ts';
import { StoreError } from './errors.ts';

/** What many entries rest on, once each, under the hash of its canonical JSON. */
export const DOCUMENT_TABLES = [
  `CREATE TABLE document (
    hash TEXT NOT NULL PRIMARY KEY,
    kind TEXT NOT NULL,
    content TEXT NOT NULL
  ) STRICT`,
  `CREATE TRIGGER document_is_new BEFORE INSERT ON document
    WHEN EXISTS (SELECT 1 FROM document WHERE hash = NEW.hash)
    BEGIN SELECT RAISE(ABORT, 'a document is stored once'); END`,
  `CREATE TRIGGER document_stays BEFORE DELETE ON document
    BEGIN SELECT RAISE(ABORT, 'documents are never deleted'); END`,
  `CREATE TRIGGER document_is_frozen BEFORE UPDATE ON document
    BEGIN SELECT RAISE(ABORT, 'documents are never changed'); END`,
];

interface DocumentRow {
  readonly kind: string;
  readonly content: string;
}

export class DocumentTable {
  readonly #has: Statement<[string, string], number>;
  readonly #insert: Statement<[string, string, string]>;
  readonly #one: Statement<[string], DocumentRow>;

  constructor(connection: Connection) {
    this.#has = connection
      .prepare<[string, string], number>('SELECT 1 FROM document WHERE hash = ? AND kind = ?')
      .pluck();
    this.#insert = connection.prepare('INSERT INTO document (hash, kind, content) VALUES (?, ?, ?)');
    this.#one = connection.prepare('SELECT kind, content FROM document WHERE hash = ?');
  }

  has(kind: DocumentKind, hash: Hash): boolean {
    return this.#has.get(hash, kind) !== undefined;
  }

  /**
   * Stores a document unless it is there; only inside a transaction. Throws `invalid-content`.
   */
  put<K extends DocumentKind>(kind: K, document: Documents[K]): Hash {
    const content = canonicalJson(document);
    const hash = sha256(content);
    if (this.has(kind, hash)) return hash;
    // A schema that trims or defaults would hide that the stored text is not what is read back.
    if (canonicalJson(readDocument(kind, content)) !== content)
      throw new StoreError('invalid-content', `${kind}: reads back otherwise than it is written`, { facts: { kind } });
    this.#insert.run(hash, kind, content);
    return hash;
  }

  /** The document of this hash. Throws `damaged`, `unknown-format`, `invalid-content`. */
  get<K extends DocumentKind>(kind: K, hash: Hash): Documents[K] | undefined {
    const row = this.#one.get(hash);
    if (row?.kind !== kind) return undefined;
    if (sha256(row.content) !== hash)
      throw new StoreError('damaged', `document ${hash} is not what was written`, { facts: { hash } });
    return readDocument(kind, row.content);
  }
}

/** What a stored document says, in today's type. Throws `damaged`, `unknown-format`, `invalid-content`. */
export function readDocument<K extends DocumentKind>(kind: K, content: string): Documents[K] {
  const value = fromJson(content);
  const format = typeof value === 'object' && value !== null && 'format' in value ? value.format : undefined;
  const reader = typeof format === 'number' ? DOCUMENT_READERS[kind][format] : undefined;
  if (reader === undefined)
    throw new StoreError('unknown-format', `no reader for format ${String(format)} of ${kind}`, { facts: { kind } });
  return parsed<Documents[K]>(reader, value, kind);
}
