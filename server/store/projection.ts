import type { Hash } from '../../station/hash.ts';
import type { Plan } from '../../station/profile/plan.ts';
import type { Entry } from './ledger.ts';

/** A row of an index table, in the order of its columns. */
export type IndexRow = readonly (string | number | null)[];

/** What an entry says to the index tables: rows to put, a later one of the same key in place of the earlier. */
export type IndexChange = { readonly table: IndexTable; readonly row: IndexRow };

export type IndexTable =
  | 'cycle'
  | 'serial'
  | 'lot'
  | 'measurement'
  | 'station_cycle'
  | 'result'
  | 'journal'
  | 'profile_revision'
  | 'rig_revision'
  | 'disposition'
  | 'sampling_plan'
  | 'audit'
  | 'proof';

/** What a projection asks of what was stored before the entry. */
export interface Past {
  planFacts(plan: Hash): PlanFacts;
  /** The opening entry's number of a cycle. */
  openedSequence(cycle: string): number;
}

/** What a plan says about every reading taken under it. */
export interface PlanFacts {
  readonly partNumber: string;
  readonly condition: string;
}

export const planFactsOf = (plan: Plan): PlanFacts => ({
  partNumber: plan.profile.content.partNumber,
  condition: plan.condition,
});

type ClosedEntry = Extract<Entry, { kind: 'cycle-closed' }>;

/** The index rows of one entry: nothing else writes index tables, so they can be made again from the ledger. */
export function changesOf(entry: Entry, past: Past): IndexChange[] {
  return [...promptChangesOf(entry, past), ...laterChangesOf(entry, past)];
}

/** Those that are written with the entry: whose cycle it was, and what else the next cycle may rest on. */
export function promptChangesOf(entry: Entry, past: Past): IndexChange[] {
  switch (entry.kind) {
    case 'cycle-opened': {
      const { cycle, station, kind, plan, lot } = entry.content;
      const { partNumber } = past.planFacts(plan);
      return [{ table: 'cycle', row: [cycle, station, kind, partNumber, lot, entry.sequence, null] }];
    }
    case 'cycle-closed':
      return closedRows(entry, past);
    case 'profile-issue': {
      const { partNumber, revision, content } = entry.content;
      return [{ table: 'profile_revision', row: [partNumber, revision, content, entry.sequence] }];
    }
    case 'rig-revision': {
      const { station, issue, content } = entry.content;
      return [{ table: 'rig_revision', row: [station, issue, content, entry.sequence] }];
    }
    case 'disposition': {
      const { partNumber, lot, decision } = entry.content;
      return [{ table: 'disposition', row: [partNumber, lot, entry.sequence, decision] }];
    }
    case 'proof': {
      const { station, proof, state, until } = entry.content;
      return [{ table: 'proof', row: [station, proof, entry.sequence, state, until] }];
    }
    case 'sampling-plan':
      return [{ table: 'sampling_plan', row: [entry.content.partNumber, entry.sequence] }];
    case 'audit': {
      const { audit, act } = entry.content;
      const drawn = entry.content.act === 'drawn' ? entry.content : null;
      return [{ table: 'audit', row: [audit, entry.sequence, act, drawn?.partNumber ?? null, drawn?.lot ?? null] }];
    }
    case 'server':
    case 'journal':
    case 'clock-set-back':
      return [];
  }
}

function closedRows(entry: ClosedEntry, past: Past): IndexChange[] {
  const { sequence } = entry;
  const { measurement, circumstances } = entry.content;
  const { cycle, station, lot } = circumstances;
  const { kind } = measurement;
  const { partNumber } = past.planFacts(measurement.plan);
  const { audit } = circumstances;
  return [
    { table: 'cycle', row: [cycle, station, kind, partNumber, lot, past.openedSequence(cycle), sequence] },
    ...(audit === undefined
      ? []
      : [{ table: 'audit', row: [audit.audit, sequence, 'cycle', null, null] } satisfies IndexChange]),
    ...measurement.results.map(
      ({ nest, serial, verdict }): IndexChange => ({ table: 'serial', row: [serial, sequence, nest, verdict, kind] }),
    ),
  ];
}

/** From opening to verdict, ms; null when two processes' clocks would be compared: the cycle was cut off. */
function tookMs({ measurement, circumstances }: ClosedEntry['content']): number | null {
  if (measurement.phases.length === 0) return null;
  return circumstances.closedMonotonicMs - circumstances.openedMonotonicMs;
}

/** Those that may come later, because they are many or asked for at leisure: readings, lots, what a start asks for. */
export function laterChangesOf(entry: Entry, past: Past): IndexChange[] {
  if (entry.kind === 'journal') {
    const { subject, action } = entry.content;
    return [{ table: 'journal', row: [subject, entry.sequence, action] }];
  }
  if (entry.kind !== 'cycle-closed') return [];
  const { sequence } = entry;
  const { measurement, circumstances } = entry.content;
  const { origin, lot, closedAt, station } = circumstances;
  const { kind } = measurement;
  const { partNumber, condition } = past.planFacts(measurement.plan);
  return [
    { table: 'lot', row: [partNumber, lot, sequence] },
    {
      table: 'station_cycle',
      row: [station, sequence, kind, closedAt, tookMs(entry.content), origin, measurement.plan],
    },
    ...measurement.results.map(
      ({ nest, serial, verdict, why }): IndexChange => ({
        table: 'result',
        row: [sequence, nest, serial, verdict, why[0]?.by ?? null, why[0]?.code ?? null],
      }),
    ),
    ...measurement.judgements.map(
      ({ nest, step, quantity, value, u, low, high, margin, verdict }): IndexChange => ({
        table: 'measurement',
        row: [
          ...[partNumber, step, quantity, condition, closedAt, sequence, nest, kind, origin],
          ...[value, u, low, high, margin].map(unsigned),
          verdict,
        ],
      }),
    ),
  ];
}

/** JSON knows one zero, so a negative one must not make a difference between first writing and rebuilding. */
const unsigned = (value: number | null): number | null => (value === null ? null : value + 0);
