import type { CycleRecord } from '../../station/cycle/record.ts';
import type { FaultCode } from '../../station/faults.ts';
import type { RunningCycle } from './running-cycle.ts';

/**
 * What is shown of a cycle that has no record, because it could not be stored or was not even begun: no reading and no
 * verdict, every part not judged. It is nowhere kept; if it was opened, the ledger says the same of it after the next
 * start of the server.
 */
export function unkeptRecord(
  test: RunningCycle,
  code: FaultCode,
  at: { readonly closedAt: string; readonly nowMs: number },
): CycleRecord {
  const { opening } = test;
  const { plan, load } = test.opened;
  return {
    measurement: {
      format: 1,
      kind: plan.kind,
      plan: '',
      load,
      phases: [],
      readings: [],
      judgements: [],
      results: test.parts.map(({ nest, serial }) => ({
        nest: nest - 1,
        serial,
        verdict: 'none',
        why: [{ by: 'station', code, facts: {} }],
      })),
      faults: [{ code, phase: test.phase ?? 'ready', nest: null, facts: {} }],
      vented: test.vented ?? false,
    },
    circumstances: {
      ...opening,
      closedAt: at.closedAt,
      closedMonotonicMs: at.nowMs,
      trace: null,
      barometerKpaAbs: null,
      roomC: null,
    },
  };
}
