import type { CycleRecord } from '../../station/cycle/record.ts';
import type { ConditionId } from '../../station/profile/schema.ts';
import type { AuditAct } from '../store/entry-format.ts';
import type { Entry, Place } from '../store/ledger.ts';
import type { AuditPhase } from './contract.ts';

type Act<K extends AuditAct['act']> = Extract<AuditAct, { readonly act: K }>;
export type AuditEntry = Extract<Entry, { kind: 'audit' | 'cycle-closed' }>;

/** One cycle of an audit, with its place in the ledger. */
export interface AuditCycle extends Place {
  readonly load: number;
  readonly stage: number;
  readonly record: CycleRecord;
}

export interface AuditLoad {
  readonly load: number;
  /** One place a nest; null is empty. */
  readonly places: readonly (string | null)[];
  /** The door was opened on it after its last stage. */
  readonly isOpened: boolean;
}

/** An audit as the ledger tells it. Loads and stages count from 1. */
export interface AuditState {
  readonly audit: string;
  readonly drawn: Place & { readonly content: Act<'drawn'> };
  /** The drawn serials in order, and what became of each. */
  readonly sample: ReadonlyMap<
    string,
    { readonly state: 'drawn' | 'found' | 'missing'; readonly reason: string | null }
  >;
  readonly loads: readonly AuditLoad[];
  readonly cycles: readonly AuditCycle[];
  readonly interruptions: readonly {
    readonly at: string;
    readonly load: number;
    readonly stage: number;
    readonly why: string;
  }[];
  /** The stage that was cut off or stopped and that nobody has said to go on with. */
  readonly stopped: { readonly load: number; readonly stage: number } | null;
  readonly abandoned: string | null;
}

/** The stages of an audit in order; `condition` by stage number less one. */
export const stagesOf = ({ drawn }: AuditState): readonly ConditionId[] => drawn.content.conditions;

/** Folds the entries of one audit, in order; null when there is no draw among them. Pure. */
export function auditState(entries: readonly AuditEntry[]): AuditState | null {
  const first = entries[0];
  if (first?.kind !== 'audit' || first.content.act !== 'drawn') return null;
  const { sequence, hash, content } = first;
  const at = content.happenedAt ?? first.at;
  let state: AuditState = {
    audit: content.audit,
    drawn: { sequence, at, hash, content },
    sample: new Map(content.serials.map((serial) => [serial, { state: 'drawn', reason: null }])),
    loads: [],
    cycles: [],
    interruptions: [],
    stopped: null,
    abandoned: null,
  };
  for (const entry of entries.slice(1)) state = next(state, entry);
  return state;
}

function next(state: AuditState, entry: AuditEntry): AuditState {
  if (entry.kind === 'cycle-closed') return withCycle(state, entry);
  const { content } = entry;
  const at = content.happenedAt ?? entry.at;
  switch (content.act) {
    case 'drawn':
      return state;
    case 'found':
      return withPart(state, content.serial, { state: 'found', reason: null });
    case 'missing':
      return withPart(state, content.serial, { state: 'missing', reason: content.reason });
    case 'load': {
      const found = content.places.reduce<AuditState>(
        (before, serial) => (serial === null ? before : withPart(before, serial, { state: 'found', reason: null })),
        state,
      );
      return { ...found, loads: [...state.loads, { load: content.load, places: content.places, isOpened: false }] };
    }
    case 'interrupted': {
      const { load, stage, why } = content;
      return {
        ...state,
        interruptions: [...state.interruptions, { at, load, stage, why }],
        stopped: { load, stage },
      };
    }
    case 'resumed':
      return { ...state, stopped: null };
    case 'opened':
      return {
        ...state,
        loads: state.loads.map((load) => (load.load === content.load ? { ...load, isOpened: true } : load)),
      };
    case 'abandoned':
      return { ...state, abandoned: content.reason, stopped: null };
  }
}

function withCycle(state: AuditState, entry: Extract<AuditEntry, { kind: 'cycle-closed' }>): AuditState {
  const place = entry.content.circumstances.audit;
  if (place === undefined) return state;
  const { sequence, at, hash, content } = entry;
  const { load, stage } = place;
  return { ...state, cycles: [...state.cycles, { sequence, at, hash, load, stage, record: content }] };
}

function withPart(
  state: AuditState,
  serial: string,
  part: { readonly state: 'found' | 'missing'; readonly reason: string | null },
): AuditState {
  if (!state.sample.has(serial)) return state;
  return { ...state, sample: new Map([...state.sample, [serial, part]]) };
}

/** The cycle that counts for a stage of a load: the last without a fault of the station; undefined before one. */
export const doneCycle = ({ cycles }: AuditState, load: number, stage: number): AuditCycle | undefined =>
  cycles
    .filter((each) => each.load === load && each.stage === stage && each.record.measurement.faults.length === 0)
    .at(-1);

/** The load and nest that a part was tested in, from 1; null before that. */
export function placeOf(
  { loads }: AuditState,
  serial: string,
): { readonly load: number | null; readonly nest: number | null } {
  const load = loads.find(({ places }) => places.includes(serial));
  return load === undefined ? { load: null, nest: null } : { load: load.load, nest: load.places.indexOf(serial) + 1 };
}

/** The first stage of a load that has no such cycle; null when all have. */
export function nextStage(state: AuditState, load: number): number | null {
  const stage = stagesOf(state).findIndex((_, index) => doneCycle(state, load, index + 1) === undefined);
  return stage < 0 ? null : stage + 1;
}

/** The load that is in the chamber; null when none is. */
export function openLoad(state: AuditState): AuditLoad | null {
  const last = state.loads.at(-1);
  return last === undefined || last.isOpened ? null : last;
}

/** The drawn parts that are there and were in no load yet, in the order drawn. */
export function partsToLoad(state: AuditState): string[] {
  const loaded = new Set(state.loads.flatMap(({ places }) => places));
  return [...state.sample].flatMap(([serial, part]) =>
    part.state === 'missing' || loaded.has(serial) ? [] : [serial],
  );
}

/** What an audit waits for, or does. `isDecided`: a decision rests on it; a hold before its end does not end it. */
export function phaseOf(state: AuditState, isDecided: boolean): AuditPhase {
  if (state.abandoned !== null) return 'abandoned';
  const load = openLoad(state);
  if (load !== null) {
    if (state.stopped !== null) return 'stopped';
    return nextStage(state, load.load) === null ? 'opening' : 'running';
  }
  if (partsToLoad(state).length > 0)
    return state.loads.length === 0 && [...state.sample.values()].every((part) => part.state === 'drawn')
      ? 'finding'
      : 'loading';
  return isDecided ? 'decided' : 'deciding';
}
