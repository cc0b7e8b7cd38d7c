import type { Database as Connection, Statement } from 'better-sqlite3';
import type { Verdict } from '../../station/cycle/result.ts';

/** What became of one nest in one cycle of a station. */
export interface StationResult {
  readonly sequence: number;
  readonly at: string;
  /** From opening to verdict, ms; null for a cycle that was cut off. */
  readonly tookMs: number | null;
  readonly nest: number;
  readonly serial: string;
  readonly verdict: Verdict;
  /** Whether the part was judged on the line before; for parts without serials it never was. */
  readonly wasJudgedBefore: boolean;
}

/** A part's own reason in one nest. */
export interface NestReason {
  readonly sequence: number;
  readonly verdict: Verdict;
  /** Null for a pass. */
  readonly reason: string | null;
}

const RESULTS_SINCE = `
  SELECT c.sequence, c.at, c.took_ms AS tookMs, r.nest, r.serial, r.verdict,
    EXISTS (SELECT 1 FROM serial s WHERE s.serial = r.serial AND s.sequence < c.sequence
            AND s.kind = 'line' AND s.verdict <> 'none') AS wasJudgedBefore
  FROM station_cycle c JOIN result r ON r.sequence = c.sequence
  WHERE c.station = ? AND c.kind = 'line' AND c.sequence >= ? AND c.at >= ?
  ORDER BY c.sequence, r.nest`;

/** Where a station's cycles of the last while begin: reading backwards, the first that is too old ends it. */
const BEFORE = 'SELECT sequence FROM station_cycle WHERE station = ? AND at < ? ORDER BY sequence DESC LIMIT 1';

/** What the part, not the station, was the reason of; and passes, which end a run of the same reason. */
const NEST_REASONS = `
  SELECT r.sequence, r.verdict, r.reason
  FROM station_cycle c JOIN result r ON r.sequence = c.sequence
  WHERE c.station = ? AND c.kind = 'line' AND r.nest = ? AND c.sequence > ?
    AND (r.blame = 'part' OR r.verdict = 'pass')
  ORDER BY r.sequence DESC LIMIT ?`;

/** The index tables asked about one station: for its start, when everything is in them. */
export class StationHistory {
  readonly #last: Statement<[string], number>;
  readonly #before: Statement<[string, string], number>;
  readonly #since: Statement<
    [string, number, string],
    Omit<StationResult, 'wasJudgedBefore'> & { wasJudgedBefore: number }
  >;
  readonly #reasons: Statement<[string, number, number, number], NestReason>;
  readonly #journal: Statement<[string, number], number>;
  readonly #numbered: Statement<[string, string], number>;

  constructor(connection: Connection) {
    const number = <P extends unknown[]>(sql: string) =>
      connection.prepare<P, number>(sql).pluck() as Statement<P, number>;
    this.#last = number('SELECT max(sequence) FROM station_cycle WHERE station = ? HAVING max(sequence) IS NOT NULL');
    this.#before = number(BEFORE);
    this.#since = connection.prepare(RESULTS_SINCE);
    this.#reasons = connection.prepare(NEST_REASONS);
    this.#journal = number('SELECT sequence FROM journal WHERE subject = ? ORDER BY sequence DESC LIMIT ?');
    this.#numbered = number('SELECT count(*) FROM serial WHERE serial >= ? AND serial < ?');
  }

  /** The number of the closing entry of a station's last cycle. */
  lastCycle(station: string): number | undefined {
    return this.#last.get(station);
  }

  /** What the line cycles of a station gave since an instant (UTC, ISO 8601), in order. */
  resultsSince(station: string, instant: string): StationResult[] {
    const from = (this.#before.get(station, instant) ?? 0) + 1;
    return this.#since
      .all(station, from, instant)
      .map((row) => ({ ...row, wasJudgedBefore: row.wasJudgedBefore === 1 }));
  }

  /** The latest results of a nest (from 0) that its parts gave themselves, after an entry, the newest first. */
  reasonsOf(station: string, nest: number, after: number, limit: number): NestReason[] {
    return this.#reasons.all(station, nest, after, limit);
  }

  /** Numbers of the latest journal entries about a subject, the newest first. */
  journal(subject: string, limit: number): number[] {
    return this.#journal.all(subject, limit);
  }

  /** How many results stand under serials that begin so: the running number of parts without serials. */
  resultsUnder(prefix: string): number {
    return this.#numbered.get(prefix, `${prefix}\u{10ffff}`) ?? 0;
  }
}
