import type { Database as Connection, Statement } from 'better-sqlite3';

/** Where an audit was drawn, newest first. */
export interface DrawnAudit {
  readonly audit: string;
  readonly partNumber: string;
  readonly lot: string;
  readonly sequence: number;
}

const DRAWN = `
  SELECT audit, part_number AS partNumber, lot, sequence FROM audit
  WHERE act = 'drawn' AND part_number = ifnull(@partNumber, part_number) AND lot = ifnull(@lot, lot)
    AND sequence <= @upTo
  ORDER BY sequence DESC LIMIT @limit`;
/** Loads are opened one after the other: an audit with more loads than doors opened on them has its last one inside. */
const INSIDE = `
  SELECT audit FROM audit GROUP BY audit
  HAVING sum(act = 'load') > sum(act = 'opened') ORDER BY max(sequence) DESC`;
const LAST = `SELECT max(sequence) FROM audit WHERE audit = ?`;
const SEQUENCES = `SELECT sequence FROM audit WHERE audit = ? ORDER BY sequence`;

/** The index tables asked about audits. */
export class AuditHistory {
  readonly #inside: Statement<[], { readonly audit: string }>;
  readonly #drawn: Statement<
    [{ partNumber: string | null; lot: string | null; limit: number; upTo: number }],
    DrawnAudit
  >;
  readonly #last: Statement<[string], number | null>;
  readonly #sequences: Statement<[string], { readonly sequence: number }>;

  constructor(connection: Connection) {
    this.#drawn = connection.prepare(DRAWN);
    this.#inside = connection.prepare(INSIDE);
    this.#last = connection.prepare<[string], number | null>(LAST).pluck();
    this.#sequences = connection.prepare(SEQUENCES);
  }

  /** Audits drawn, the newest first: of a part number, of a lot, or (null) of any; up to an entry of the ledger. */
  drawn(
    of: { readonly partNumber: string | null; readonly lot: string | null },
    limit: number,
    upTo = Number.MAX_SAFE_INTEGER,
  ): DrawnAudit[] {
    return this.#drawn.all({ partNumber: of.partNumber, lot: of.lot, limit, upTo });
  }

  /** Audits with a load that was put into a chamber and not taken out, whatever became of the audit; the latest first. */
  inside(): string[] {
    return this.#inside.all().map(({ audit }) => audit);
  }

  /** The last entry of an audit, an act or a closed cycle; null for one that is not known. */
  lastSequenceOf(audit: string): number | null {
    return this.#last.get(audit) ?? null;
  }

  /** The entries of an audit in order: its acts and its closed cycles; empty for one that is not known. */
  sequencesOf(audit: string): number[] {
    return this.#sequences.all(audit).map(({ sequence }) => sequence);
  }
}
