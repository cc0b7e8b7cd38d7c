import type { Database as Connection } from 'better-sqlite3';
import type { Hash } from '../../station/hash.ts';
import { sha256 } from './digest.ts';
import { DOCUMENT_READERS } from './document-format.ts';
import type { DocumentKind, Documents } from './document-format.ts';
import { readDocument } from './documents.ts';
import { checkTrace } from './traces.ts';
import type { StoredTrace } from './traces.ts';
import { saying } from './problem.ts';
import type { Problems } from './problem.ts';

/** A document that is as it was written, and whether an entry names it. */
export type SoundDocument = {
  readonly [K in DocumentKind]: { readonly kind: K; readonly content: Documents[K]; named: boolean };
}[DocumentKind];

interface DocumentBytes {
  readonly hash: unknown;
  readonly kind: unknown;
  readonly type: string;
  readonly bytes: Buffer | null;
}

/** The stored bytes themselves are hashed: a text read as characters would hide bytes that are none. */
export function verifyDocuments(connection: Connection, problems: Problems): Map<Hash, SoundDocument> {
  const sound = new Map<Hash, SoundDocument>();
  problems.within('document', () => {
    const all = connection.prepare<[], DocumentBytes>(
      'SELECT hash, kind, typeof(content) AS type, CAST(content AS BLOB) AS bytes FROM document',
    );
    for (const { hash, kind, type, bytes } of all.iterate()) {
      const name = `document ${String(hash)}`;
      if (type !== 'text' || bytes === null || typeof hash !== 'string' || sha256(bytes) !== hash) {
        problems.add('document', `${name} is not what was written`);
        continue;
      }
      if (typeof kind !== 'string' || !isDocumentKind(kind)) {
        problems.add('document', `${name} is of a kind that there is not`);
        continue;
      }
      try {
        sound.set(hash, { kind, content: readDocument(kind, bytes.toString('utf8')), named: false } as SoundDocument);
      } catch (cause) {
        problems.add('document', `${name}: ${saying(cause)}`);
      }
    }
  });
  return sound;
}

/** The names of all traces that are as they were written, each with whether a record names it. */
export function verifyTraces(connection: Connection, problems: Problems): Map<Hash, { named: boolean }> {
  const sound = new Map<Hash, { named: boolean }>();
  problems.within('trace', () => {
    const all = connection.prepare<[], StoredTrace>('SELECT hash, content FROM trace');
    for (const row of all.iterate()) {
      try {
        checkTrace(row);
        sound.set(row.hash, { named: false });
      } catch (cause) {
        problems.add('trace', saying(cause));
      }
    }
  });
  return sound;
}

const isDocumentKind = (kind: string): kind is DocumentKind => Object.hasOwn(DOCUMENT_READERS, kind);
