import type { Judgement } from '../../station/cycle/judge.ts';
import { mayHaveMoved } from '../../station/cycle/record.ts';
import type { CycleRecord } from '../../station/cycle/record.ts';
import { readTrace } from '../../station/cycle/trace.ts';
import { hashOf } from '../../station/hash.ts';
import type { Hash } from '../../station/hash.ts';
import type { PhaseId, Plan } from '../../station/profile/plan.ts';
import { pointOfStep } from '../../station/profile/audit-points.ts';
import type { ProfileContent } from '../../station/profile/schema.ts';
import { HttpProblem } from '../http/problem.ts';
import type { Frame } from '../line/contract.ts';
import { takenOf } from '../line/outcome.ts';
import { StoreError } from '../store/errors.ts';
import type { KeptCycle, LedgerReader } from '../store/reader.ts';
import type { CycleLine, CyclePage, JudgedReading, RecordView, SerialLife } from './contract.ts';
import { lotDecisions } from './lot-decisions.ts';

const MOST_FRAMES = 600;

/** The latest cycles before an entry, the newest first. */
export function pageOf(reader: LedgerReader, limit: number, before: number | undefined): CyclePage {
  const kept = reader.latest(limit + 1, before);
  const cycles = kept.slice(0, limit).map((each) => lineOf(each, planOf(reader, each.record)));
  return { cycles, next: kept.length > limit ? (cycles.at(-1)?.sequence ?? null) : null };
}

/** The life of a serial. Throws the HttpProblem `no-such-serial`. */
export function lifeOf(reader: LedgerReader, serial: string): SerialLife {
  const cycles = reader.bySerial(serial).map((each) => lineOf(each, planOf(reader, each.record)));
  if (cycles.length === 0)
    throw new HttpProblem(404, 'no-such-serial', `No cycle of ${serial} is kept here. Check the serial.`, { serial });
  return { serial, cycles, lots: lotsOf(reader, cycles) };
}

function lotsOf(reader: LedgerReader, cycles: readonly CycleLine[]): SerialLife['lots'] {
  const lots = new Map(cycles.map(({ partNumber, lot }) => [JSON.stringify([partNumber, lot]), { partNumber, lot }]));
  return [...lots.values()].map((of) => ({
    ...of,
    decision: lotDecisions(reader, of.partNumber, of.lot).standing?.content.decision ?? null,
  }));
}

/** The record of a cycle with what the ledger's bytes say about it. Throws the HttpProblem `no-such-cycle`. */
export function recordOf(reader: LedgerReader, cycle: string): RecordView {
  const kept = cycleOf(reader, cycle);
  const { record } = kept;
  const { measurement, circumstances } = record;
  const plan = planOf(reader, record);
  const { content, revision, hash } = plan.profile;
  const trace = traceOf(reader, circumstances.trace);
  const chain = reader.chainAt(kept.sequence);
  const { openedAt, closedAt, program, barometerKpaAbs, roomC, seed, actor } = circumstances;
  return {
    line: lineOf(kept, plan),
    title: content.title,
    pressureClass: content.pressureClass,
    profileRevision: revision,
    document: content.document,
    rigIssue: plan.rig.revision.issue,
    rule: plan.rule,
    readings: measurement.judgements.map((judgement) => judgedOf(judgement, content)),
    phases: measurement.phases.map(({ phase, fromMs, toMs }) => ({
      phase,
      ms: toMs - fromMs,
      kPaAbs: endOf(phase, content),
    })),
    vented: mayHaveMoved(measurement) ? measurement.vented : null,
    circumstances: { openedAt, closedAt, program, operator: actor.name, barometerKpaAbs, roomC, seed },
    proof: actor.proof,
    hashes: {
      plan: measurement.plan,
      profile: hash,
      rig: plan.rig.hash,
      measurement: hashOf(measurement),
      trace: circumstances.trace,
      entry: kept.hash,
      before: chain.before,
    },
    verified: {
      // Reading it recomputed both hashes, and would have thrown `damaged`.
      entry: true,
      chain: chain.holds,
      trace: circumstances.trace === null ? null : trace !== null,
    },
    frames: trace === null ? [] : thinned(trace),
    taken: measurement.readings.flatMap((reading) => takenOf(reading) ?? []),
  };
}

/**
 * The bytes that a record names, where they are there and hash to it; null otherwise. Damage to them is a finding about
 * the record, not the end of showing it.
 */
function traceOf(reader: LedgerReader, hash: Hash | null): Uint8Array | null {
  try {
    return hash === null ? null : (reader.trace(hash) ?? null);
  } catch (error) {
    if (error instanceof StoreError && error.code === 'damaged') return null;
    throw error;
  }
}

/** The pressure that a phase goes to, kPa abs; null: ambient. */
function endOf(phase: PhaseId, content: ProfileContent): number | null {
  if (phase === 'fill' || phase === 'stabilise' || phase === 'measure') return content.leakHold.testKpaAbs;
  return pointOf(content, phase.replace(/^point:/, ''));
}

function pointOf(content: ProfileContent, step: string): number | null {
  const at = pointOfStep(content, step)?.at;
  return at?.kind === 'absolute' ? at.kPaAbs : null;
}

function judgedOf(judgement: Judgement, content: ProfileContent): JudgedReading {
  const { nest, step, quantity, value, u, unit, low, high, guard, margin, verdict, inGuardBand } = judgement;
  const arithmetic = judgement.arithmetic.map(([term, amount, of]) => ({ term, value: amount, unit: of }));
  return {
    nest: nest + 1,
    step,
    quantity,
    pointKpaAbs: quantity === 'output' ? pointOf(content, step) : null,
    value,
    u,
    unit,
    low,
    high,
    guard,
    margin,
    verdict,
    inGuardBand,
    arithmetic,
  };
}

/** A kept cycle. Throws the HttpProblem `no-such-cycle`. */
export function cycleOf(reader: LedgerReader, cycle: string): KeptCycle {
  const kept = reader.byCycle(cycle);
  if (kept === undefined)
    throw new HttpProblem(404, 'no-such-cycle', `No closed cycle ${cycle} is kept here.`, { cycle });
  return kept;
}

export const planOf = (reader: LedgerReader, { measurement }: CycleRecord): Plan =>
  reader.document('plan', measurement.plan);

function lineOf({ sequence, record }: KeptCycle, plan: Plan): CycleLine {
  const { measurement, circumstances } = record;
  const { cycle, station, origin, lot, closedAt, actor } = circumstances;
  return {
    sequence,
    cycle,
    station,
    origin,
    kind: measurement.kind,
    condition: plan.condition,
    partNumber: plan.profile.content.partNumber,
    lot,
    audit: circumstances.audit?.audit ?? null,
    closedAt,
    operator: actor.name,
    nests: measurement.results.map(({ nest, serial, verdict, why }) => ({
      nest: nest + 1,
      serial,
      verdict,
      why: why[0] ?? null,
    })),
    faults: measurement.faults.map((fault) => ({ ...fault, nest: fault.nest === null ? null : fault.nest + 1 })),
  };
}

/** Every so manieth instant of a trace, the last one included. */
function thinned(trace: Uint8Array): Frame[] {
  const rows = readTrace(trace);
  const every = Math.max(1, Math.ceil(rows.length / (MOST_FRAMES - 1)));
  return rows
    .filter((_, at) => at % every === 0 || at === rows.length - 1)
    .map(({ atMs, controllerKpaAbs, nests }) => ({
      atMs,
      kPaAbs: controllerKpaAbs,
      nests: nests.map(({ referenceKpaAbs, outputV }) => ({ kPaAbs: referenceKpaAbs, outputV })),
    }));
}
