import type { CycleRecord } from '../../station/cycle/record.ts';
import { LastOutcome } from './last-outcome.ts';
import type { RigSideGiven } from './rig-given.ts';
import type { RunningCycle } from './running-cycle.ts';

/**
 * What is shown of a cycle whose record could not be stored: no reading and no verdict, every part not judged. It is
 * nowhere kept; if it was opened, the ledger says the same of it after the next start of the server.
 */
function unkeptRecord(test: RunningCycle, at: { readonly closedAt: string; readonly nowMs: number }): CycleRecord {
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

/** A cycle as it is shown after it closed: its record, or that there is none. */
export function outcomeNow(
  test: RunningCycle,
  record: CycleRecord | null,
  { clock }: Pick<RigSideGiven, 'clock'>,
): LastOutcome {
  const at = { closedAt: clock.wallTime().toISOString(), nowMs: clock.nowMs() };
  return LastOutcome.now(record ?? unkeptRecord(test, at), test.opened.plan, record !== null);
}

/** Closes a cycle whose station is gone. What cannot be closed now is closed at the next start; it is logged. */
export function closeCutOff(station: string, test: RunningCycle, given: RigSideGiven): LastOutcome {
  let record: CycleRecord | undefined;
  try {
    record = given.store.closeInterrupted(station).find(({ circumstances }) => circumstances.cycle === test.cycle);
  } catch (cause) {
    given.log.error({ station, cycle: test.cycle, err: cause }, 'a cycle could not be closed');
  }
  return outcomeNow(test, record ?? null, given);
}
