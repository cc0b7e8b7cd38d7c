import { randomUUID } from 'node:crypto';
import { type Keep, conduct } from '../../station/cycle/conduct.ts';
import type { Clock } from '../../station/clock.ts';
import type { CycleEvent, Load } from '../../station/cycle/event.ts';
import { measurementOf } from '../../station/cycle/fold.ts';
import type { Proof } from '../../station/cycle/proof.ts';
import type { Circumstances, CycleRecord } from '../../station/cycle/record.ts';
import { Trace } from '../../station/cycle/trace.ts';
import type { Plan } from '../../station/profile/plan.ts';
import type { Rig } from '../../station/rig/port.ts';
import type { Store } from '../store/store.ts';
import { traceHash } from '../store/traces.ts';

/** What is known of a cycle besides plan and load. */
export interface Occasion {
  readonly lot: string;
  readonly program: string;
  readonly actor: Circumstances['actor'];
  readonly seed: number | null;
}

/** A cycle's record, kept if there was a store to keep it in; or why there is none. */
export type Kept =
  | { readonly record: CycleRecord; readonly problem: null }
  | { readonly record: null; readonly problem: unknown };

/**
 * Runs a cycle and makes its record. With a store, `opened` and `closed` are on its disk before the cycle goes on;
 * without, the record is only returned. `onEvent` sees every event after it was kept and must not throw. When the
 * opening cannot be kept nothing moves, when the closing cannot there is no verdict: both give the problem and no
 * record.
 */
export async function runAndKeep(
  rig: Rig,
  start: { plan: Plan; load: Load; proofs: readonly Proof[] },
  occasion: Occasion,
  given: { clock: Clock; store: Store | null; stop: AbortSignal; onEvent?: (event: CycleEvent) => void },
): Promise<Kept> {
  const { plan, load } = start;
  const { clock, store } = given;
  const { station, origin } = plan.rig.revision;
  const opening = {
    cycle: randomUUID(),
    station,
    origin,
    ...occasion,
    openedAt: clock.wallTime().toISOString(),
    openedMonotonicMs: clock.nowMs(),
  };
  const trace = new Trace(plan.rig.revision.nests);
  const events: CycleEvent[] = [];
  const made: { record: CycleRecord | null; problem: unknown } = { record: null, problem: null };

  const keep: Keep = (event) => {
    events.push(event);
    // While the cycle runs there is time; at its end a verdict waits.
    if (event.type === 'reading') store?.makeReady(event.reading);
    if (event.type === 'judgement') store?.makeReady(event.judgement);
    try {
      if (event.type === 'opened') {
        store?.openCycle({ ...opening, load: [...load] }, plan);
      } else if (event.type === 'closed') {
        const bytes = trace.bytes();
        const record = {
          measurement: measurementOf(events),
          circumstances: {
            ...opening,
            closedAt: clock.wallTime().toISOString(),
            closedMonotonicMs: clock.nowMs(),
            trace: traceHash(bytes),
            ...air,
          },
        };
        store?.closeCycle(record, bytes);
        made.record = record;
      }
    } catch (cause) {
      made.problem = cause;
      throw cause;
    }
    given.onEvent?.(event);
  };
  const air: { barometerKpaAbs: number | null; roomC: number | null } = { barometerKpaAbs: null, roomC: null };
  await conduct(rig, start, given.stop, keep, (block, atMs) => {
    air.barometerKpaAbs ??= block.barometerKpaAbs;
    air.roomC ??= block.roomC;
    trace.add(block, atMs);
  });
  return made.record === null ? { record: null, problem: made.problem } : { record: made.record, problem: null };
}
