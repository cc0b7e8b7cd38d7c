import { HttpProblem } from '../http/problem.ts';
import { PROGRAM } from '../program.ts';
import { lotDecisions } from '../records/lot-decisions.ts';
import type { Disposition } from '../store/entry-format.ts';
import type { Place } from '../store/ledger.ts';
import type { LedgerReader } from '../store/reader.ts';
import type { Comparable } from './comparison/contract.ts';
import type { AuditLine, AuditView, Decided, StageRun } from './contract.ts';
import type { Evaluation } from './evaluation/contract.ts';
import { lineResults } from './line-results.ts';
import { AuditMemory, outcomeOf, wholeOf } from './memory.ts';
import type { AuditOutcome, WholeAudit } from './memory.ts';
import { rigsInForce } from './rig-in-force.ts';
import { auditState, placeOf } from './state.ts';
import type { AuditCycle, AuditState } from './state.ts';

const TREND = 6;
const MOST_DRAWS = 10_000;

/** The latest audits, the newest first. `stop` is called between them: what it throws ends the work. */
export function latestAudits(
  reader: LedgerReader,
  { partNumber, lot }: { readonly partNumber: string | null; readonly lot: string | null },
  limit: number,
  { memory = new AuditMemory(), stop }: { readonly memory?: AuditMemory; readonly stop?: () => void } = {},
): AuditLine[] {
  return reader.audits.drawn({ partNumber, lot }, limit).flatMap(({ audit }) => {
    stop?.();
    const outcome = memory.outcome(reader, audit);
    return outcome === null ? [] : [lineOf(reader, outcome)];
  });
}

/** An audit as the ledger tells it. Throws the HttpProblem `no-such-audit`. */
export function stateOfAudit(reader: LedgerReader, audit: string): AuditState {
  const state = auditState(reader.auditEntries(audit));
  if (state === null) throw noSuchAudit(audit);
  return state;
}

export const noSuchAudit = (audit: string): HttpProblem =>
  new HttpProblem(404, 'no-such-audit', 'There is no audit under this id. Open it from its lot.', { audit });

/** An audit with what its own entries say. Throws the HttpProblem `no-such-audit`. */
export function wholeAuditOf(reader: LedgerReader, audit: string, memory: AuditMemory): WholeAudit {
  const whole = memory.whole(reader, audit);
  if (whole === null) throw noSuchAudit(audit);
  return whole;
}

/**
 * Everything of an audit. `stop` is called between the audits of its trend: what it throws ends the work. Throws the
 * HttpProblem `no-such-audit`.
 */
export function auditView(
  reader: LedgerReader,
  audit: string,
  plant: string,
  memory = new AuditMemory(),
  stop: () => void = () => undefined,
): AuditView {
  const whole = wholeAuditOf(reader, audit, memory);
  const { state, profile } = whole;
  const { drawn } = state;
  const { content } = drawn;
  const comparable = comparableOf(reader, whole);
  return {
    ...comparable,
    before: decisionsOf(reader, state).slice(1),
    lotNow: lotNowOf(reader, state),
    plant,
    title: profile.title,
    pressureClass: profile.pressureClass,
    profile: {
      ...comparable.profile,
      document: `${profile.document.title}, ${profile.document.revision}`,
    },
    program: state.cycles.at(0)?.record.circumstances.program ?? PROGRAM,
    draw: {
      at: drawn.at,
      by: content.actor.name,
      method: content.method,
      seed: content.seed,
      lotSize: content.lotSize,
      lotHash: content.lotHash,
      serials: content.serials,
      sequence: drawn.sequence,
      hash: drawn.hash,
      number: reader.audits
        .drawn({ partNumber: content.partNumber, lot: content.lot }, MOST_DRAWS)
        .filter(({ sequence }) => sequence <= drawn.sequence).length,
      severity: content.severity ?? null,
      leftOut: profile.conditions.flatMap(({ id }) => (content.conditions.includes(id) ? [] : [id])),
    },
    sample: sampleOf(reader, state),
    nests: comparable.nests,
    runs: state.cycles.map(runOf),
    interruptions: state.interruptions.map(({ at, load, stage, why }) => ({ at, load, stage, what: why })),
    trend: trendOf(reader, state, memory, stop),
  };
}

/** How each drawn part stands, and where and when it passed at the line last. */
function sampleOf(reader: LedgerReader, state: AuditState): AuditView['sample'] {
  const { partNumber, lot } = state.drawn.content;
  const passedAt = new Map(
    lineResults(reader, partNumber, lot).flatMap(({ serial, verdict, station, at }) =>
      verdict === 'pass' ? [[serial, { station, at }]] : [],
    ),
  );
  return [...state.sample].map(([serial, part]) => ({
    serial,
    ...part,
    ...placeOf(state, serial),
    line: passedAt.get(serial) ?? null,
  }));
}

/** What an audit is, was judged by and measured, without what only its own page tells. */
export function comparableOf(
  reader: LedgerReader,
  whole: WholeAudit,
): Comparable & Pick<AuditView, 'weakest' | 'nests'> {
  const { state, profile, input, evaluation } = whole;
  const { profile: hash, partNumber } = state.drawn.content;
  const { parts: _parts, ...line } = lineOf(reader, outcomeOf(whole));
  const { nests, ...rig } = rigOf(reader, state);
  return {
    ...line,
    profile: {
      revision: reader.profileRevisionOf(partNumber, hash) ?? 0,
      hash,
      errorKpa: profile.errorBand.kPa,
      factors: profile.errorBand.factors,
    },
    rig,
    nests,
    rule: profile.rules.audit,
    input,
    evaluation,
  };
}

/** What was decided because of this audit, the latest first. */
export function decisionsOf(reader: LedgerReader, { audit, drawn }: Pick<AuditState, 'audit' | 'drawn'>): Decided[] {
  const { partNumber, lot } = drawn.content;
  return reader
    .dispositions(partNumber, lot, MOST_DRAWS)
    .filter(({ content }) => content.audit === audit)
    .map(decidedOf);
}

/** The decision by which the lot stands where that is another than the latest because of this audit; null otherwise. */
function lotNowOf(reader: LedgerReader, state: AuditState): AuditView['lotNow'] {
  const { partNumber, lot } = state.drawn.content;
  const { standing } = lotDecisions(reader, partNumber, lot);
  return standing === null || standing.content.audit === state.audit ? null : decidedOf(standing);
}

export function decidedOf({ at, sequence, hash, content }: Place & { readonly content: Disposition }): Decided {
  const { decision, reason, concession, terms, actor, decidedAt } = content;
  const granted =
    concession === null
      ? null
      : { reference: concession, quantity: terms?.quantity ?? null, until: terms?.until ?? null };
  const { name, role, proof } = actor;
  return { decision, at: decidedAt ?? at, by: name, role, proof, reason, concession: granted, sequence, hash };
}

function lineOf(reader: LedgerReader, { state, parts, phase, origin, weakest }: AuditOutcome): AuditLine {
  const { drawn, audit } = state;
  const { partNumber, lot, station } = drawn.content;
  const [decision = null] = decisionsOf(reader, state);
  return {
    ...{ audit, partNumber, lot, station },
    // Before its first cycle: of the rig that the station has now.
    origin: origin ?? reader.latestRigRevision(station)?.revision.origin ?? 'simulated',
    drawnAt: drawn.at,
    phase: decision === null ? phase.undecided : phase.decided,
    parts,
    decision,
    weakest: weakestOf(weakest),
  };
}

function weakestOf(cell: AuditOutcome['weakest']): AuditLine['weakest'] {
  if (cell === null || cell.ppk === null || cell.atLeast === null) return null;
  return { stage: cell.stage, step: cell.step, ppk: cell.ppk, atLeast: cell.atLeast };
}

/** What follows from what an audit has measured so far. */
export const evaluationOf = (reader: LedgerReader, state: AuditState): Evaluation => wholeOf(reader, state).evaluation;

/** Of the rig that the cycles ran on, or would run on. */
function rigOf(reader: LedgerReader, state: AuditState): AuditView['rig'] & { readonly nests: number } {
  const { station } = state.drawn.content;
  const inForce = rigsInForce(reader, state);
  const [first] = inForce;
  if (first !== undefined) {
    const { issue, hash } = first;
    const calibration = [...new Set(inForce.flatMap((each) => each.calibration?.evidence ?? []))].join('; ');
    return { issue, hash, calibration, inForce, nests: reader.document('rig', hash).nests };
  }
  const latest = reader.latestRigRevision(station);
  return {
    issue: latest?.revision.issue ?? 0,
    hash: latest?.hash ?? '',
    calibration: reader.latestProof(station, 'calibration')?.content.evidence ?? '',
    inForce,
    nests: latest?.revision.nests ?? 0,
  };
}

function runOf({ load, stage, record, sequence, hash }: AuditCycle): StageRun {
  const { measurement, circumstances } = record;
  const temperatures = measurement.readings.flatMap((reading) =>
    reading.kind === 'output' ? [reading.partC.value] : [],
  );
  const { soak } = measurement;
  return {
    load,
    stage,
    cycle: circumstances.cycle,
    openedAt: circumstances.openedAt,
    closedAt: circumstances.closedAt,
    sequence,
    hash,
    faults: measurement.faults.map(({ code }) => code),
    soak:
      soak === undefined
        ? null
        : {
            airC: soak.state.airC,
            coreLowC: soak.state.coreC.low,
            coreHighC: soak.state.coreC.high,
            tookMs: soak.tookMs,
            lags: soak.lags,
          },
    partLowC: temperatures.length === 0 ? null : Math.min(...temperatures),
    partHighC: temperatures.length === 0 ? null : Math.max(...temperatures),
  };
}

/**
 * The weakest cell of this audit and of those of the same part number that were drawn before it, gone through and decided:
 * as the ledger was when this one was decided, so that a report is the same whenever it is made again.
 */
function trendOf(reader: LedgerReader, state: AuditState, memory: AuditMemory, stop: () => void): AuditView['trend'] {
  const { partNumber } = state.drawn.content;
  const upTo = decisionsOf(reader, state)[0]?.sequence ?? Number.MAX_SAFE_INTEGER;
  return reader.audits
    .drawn({ partNumber, lot: null }, TREND, state.drawn.sequence)
    .flatMap(({ audit, lot }) => {
      stop();
      const isOwn = audit === state.audit;
      const outcome = isOwn ? memory.outcome(reader, audit) : decidedBefore(reader, audit, upTo, memory);
      const weakest = outcome?.weakest ?? null;
      return outcome === null || weakest === null || weakest.ppk === null
        ? []
        : [{ audit, lot, at: outcome.state.drawn.at, ppk: weakest.ppk, atLeast: weakest.atLeast }];
    })
    .reverse();
}

/** What an audit had come to at an entry of the ledger; null when it was not gone through and decided by then. */
function decidedBefore(reader: LedgerReader, audit: string, upTo: number, memory: AuditMemory): AuditOutcome | null {
  const last = reader.audits.lastSequenceOf(audit);
  const outcome = last !== null && last < upTo ? memory.outcome(reader, audit) : outcomeAt(reader, audit, upTo);
  if (outcome?.phase.decided !== 'decided') return null;
  return decisionsOf(reader, outcome.state).some(({ sequence }) => sequence < upTo) ? outcome : null;
}

function outcomeAt(reader: LedgerReader, audit: string, upTo: number): AuditOutcome | null {
  const state = auditState(reader.auditEntries(audit).filter(({ sequence }) => sequence < upTo));
  return state === null ? null : outcomeOf(wholeOf(reader, state));
}
