import { auditState, nextStage, openLoad, partsToLoad, stagesOf } from '../audit/state.ts';
import type { AuditState } from '../audit/state.ts';
import { HttpProblem } from '../http/problem.ts';
import type { LedgerReader } from '../store/reader.ts';
import type { LabView } from './contract.ts';

/** The audit whose load is in a station's chamber; null when none is. */
export function auditInside(reader: LedgerReader, station: string): AuditState | null {
  for (const audit of reader.audits.inside()) {
    const state = auditState(reader.auditEntries(audit));
    if (state?.drawn.content.station === station && openLoad(state) !== null) return state;
  }
  return null;
}

/** The load of an audit that is in the chamber, and the stage that is next, or last when all are through. */
export function loadView(state: AuditState): LabView['load'] {
  const { partNumber, lot } = state.drawn.content;
  const load = openLoad(state);
  const stages = stagesOf(state);
  const stage = load === null ? null : (nextStage(state, load.load) ?? stages.length);
  const condition = stage === null ? undefined : stages[stage - 1];
  if (load === null || stage === null || condition === undefined) return null;
  return {
    audit: state.audit,
    partNumber,
    lot,
    load: load.load,
    stage,
    stages: stages.length,
    condition,
    places: load.places,
  };
}

/** Throws the HttpProblem `other-station`. */
export function mustBeDrawnFor({ drawn }: AuditState, here: string): void {
  const { station } = drawn.content;
  if (station !== here)
    throw new HttpProblem(409, 'other-station', `This audit was drawn for ${station}.`, { station });
}

/** Throws the HttpProblems `wrong-nests`, `nothing-loaded`, `scanned-twice`, `not-drawn`. */
export function checkPlaces(state: AuditState, places: readonly (string | null)[], nests: number): void {
  const serials = places.filter((serial) => serial !== null);
  if (places.length !== nests)
    throw new HttpProblem(409, 'wrong-nests', `A load has one place for each of the ${nests} nests.`, { nests });
  if (serials.length === 0)
    throw new HttpProblem(409, 'nothing-loaded', 'No part is in the load. Scan at least one.', { nests });
  const twice = serials.find((serial, at) => serials.indexOf(serial) < at);
  if (twice !== undefined)
    throw new HttpProblem(409, 'scanned-twice', 'A serial stands in two nests.', { nests, serial: twice });
  const due = new Set(partsToLoad(state));
  const other = serials.find((serial) => !due.has(serial));
  if (other !== undefined)
    throw new HttpProblem(409, 'not-drawn', `${other} is not a part that this audit still waits for.`, {
      nests,
      serial: other,
      why: 'not-due',
    });
}
