import type { CycleRecord } from '../../station/cycle/record.ts';
import type { RunningCycle } from './running-cycle.ts';

/**
 * What is shown of a cycle whose record could not be stored: no reading and no verdict, every part not judged. It is
 * nowhere kept; if it was opened, the ledger says the same of it after the next start of the server.
 */
export function unkeptRecord(
  test: RunningCycle,
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
        why: [{ by: 'station', code: 'not-kept', facts: {} }],
      })),
      faults: [{ code: 'not-kept', phase: test.phase ?? 'ready', nest: null, facts: {} }],
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
