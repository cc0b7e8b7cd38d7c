import type { Database as Connection, Statement } from 'better-sqlite3';
import type { Hash } from '../../station/hash.ts';
import type { Verdict } from '../../station/cycle/result.ts';

/** A lot by its part number and code, with its last closed cycle's entry. */
export interface LotPlace {
  readonly partNumber: string;
  readonly lot: string;
  readonly last: number;
}

/** What became of one part of a lot in one cycle. */
export interface LotResult {
  readonly sequence: number;
  readonly station: string;
  readonly kind: string;
  readonly at: string;
  readonly nest: number;
  readonly serial: string;
  readonly verdict: Verdict;
  readonly blame: string | null;
  readonly reason: string | null;
  readonly origin: 'real' | 'simulated';
  readonly plan: Hash;
}

/** One judged reading of a lot. */
export interface LotReading {
  readonly sequence: number;
  readonly nest: number;
  readonly condition: string;
  readonly value: number;
  readonly low: number | null;
  readonly high: number | null;
}

/** Distinct lots one after the other by the key of their table, not by reading it whole. */
const LOTS = `
  WITH RECURSIVE each(part_number, lot) AS (
    SELECT * FROM (SELECT part_number, lot FROM lot ORDER BY part_number, lot LIMIT 1)
    UNION ALL
    SELECT (SELECT part_number FROM lot l WHERE (l.part_number, l.lot) > (each.part_number, each.lot)
            ORDER BY l.part_number, l.lot LIMIT 1),
           (SELECT lot FROM lot l WHERE (l.part_number, l.lot) > (each.part_number, each.lot)
            ORDER BY l.part_number, l.lot LIMIT 1)
    FROM each WHERE each.part_number IS NOT NULL)
  SELECT part_number AS partNumber, lot,
    (SELECT max(sequence) FROM lot l WHERE l.part_number = each.part_number AND l.lot = each.lot) AS last
  FROM each WHERE part_number IS NOT NULL ORDER BY last DESC LIMIT ?`;

/** Cycles are found by their station: there are few, and each is asked whether it was there. */
const RESULTS = `
  WITH RECURSIVE station(name) AS (
    SELECT min(station) FROM station_cycle
    UNION ALL
    SELECT (SELECT min(c.station) FROM station_cycle c WHERE c.station > station.name)
    FROM station WHERE station.name IS NOT NULL)
  SELECT r.sequence, c.station, c.kind, c.at, r.nest, r.serial, r.verdict, r.blame, r.reason, c.origin, c.plan
  FROM lot l CROSS JOIN station s
    JOIN station_cycle c ON c.station = s.name AND c.sequence = l.sequence
    JOIN result r ON r.sequence = l.sequence
  WHERE l.part_number = ? AND l.lot = ?
  ORDER BY r.sequence, r.nest`;

const READINGS = `
  SELECT m.sequence, m.nest, m.condition, m.value, m.low, m.high
  FROM measurement m
  WHERE m.part_number = ? AND m.step = ? AND m.quantity = ? AND m.condition = ? AND m.at BETWEEN ? AND ?
    AND EXISTS (SELECT 1 FROM lot l WHERE l.part_number = m.part_number AND l.lot = ? AND l.sequence = m.sequence)
  ORDER BY m.sequence, m.nest`;

/** The index tables asked about one lot, as far as the writer has caught up. */
export class LotHistory {
  readonly #lots: Statement<[number], LotPlace>;
  readonly #results: Statement<[string, string], LotResult>;
  readonly #readings: Statement<[string, string, string, string, string, string, string], LotReading>;

  constructor(connection: Connection) {
    this.#lots = connection.prepare(LOTS);
    this.#results = connection.prepare(RESULTS);
    this.#readings = connection.prepare(READINGS);
  }

  /** The lots with the latest cycles, the newest first. */
  lots(limit: number): LotPlace[] {
    return this.#lots.all(limit);
  }

  /** What became of every part in every cycle of a lot, in the order of the ledger; empty for a lot that is not known. */
  results(partNumber: string, lot: string): LotResult[] {
    return this.#results.all(partNumber, lot);
  }

  /** The judged readings of one quantity at one step of a lot between two instants (UTC, ISO 8601), in order. */
  readings(
    of: { readonly partNumber: string; readonly lot: string; readonly step: string; readonly quantity: string },
    when: { readonly condition: string; readonly from: string; readonly to: string },
  ): LotReading[] {
    return this.#readings.all(of.partNumber, of.step, of.quantity, when.condition, when.from, when.to, of.lot);
  }
}
