import type { RigRevision } from '../../station/rig/revision.ts';
import type { LedgerReader } from '../store/reader.ts';
import type { RigInForce } from './contract.ts';
import type { AuditCycle, AuditState } from './state.ts';

/**
 * The rig and the calibration of an audit's cycles as they stood when each was opened, in the order of the ledger; cycles
 * one after the other under the same two are one line. The rig is that of the cycle's frozen plan, the calibration the
 * last that was kept of its station before the cycle's opening. Empty before the first cycle.
 */
export function rigsInForce(reader: LedgerReader, { cycles }: Pick<AuditState, 'cycles'>): RigInForce[] {
  const rigs = new Map<string, { readonly revision: RigRevision; readonly hash: string }>();
  const rigOf = (plan: string) => {
    const rig = rigs.get(plan) ?? reader.document('plan', plan).rig;
    rigs.set(plan, rig);
    return rig;
  };
  const lines: RigInForce[] = [];
  for (const cycle of cycles) {
    const { openedAt, closedAt } = cycle.record.circumstances;
    const { revision, hash } = rigOf(cycle.record.measurement.plan);
    const calibration = calibrationOf(reader, cycle);
    const last = lines.at(-1);
    if (last?.hash === hash && last.calibration?.sequence === calibration?.sequence)
      lines[lines.length - 1] = { ...last, tests: last.tests + 1, to: closedAt };
    else lines.push({ issue: revision.issue, hash, calibration, tests: 1, from: openedAt, to: closedAt });
  }
  return lines;
}

function calibrationOf(reader: LedgerReader, { record, sequence }: AuditCycle): RigInForce['calibration'] {
  const { cycle, station } = record.circumstances;
  const kept = reader.proofBefore(station, 'calibration', reader.openingSequenceOf(cycle) ?? sequence);
  if (kept === undefined) return null;
  const { at, content } = kept;
  return { evidence: content.evidence, state: content.state, until: content.until, at, sequence: kept.sequence };
}
