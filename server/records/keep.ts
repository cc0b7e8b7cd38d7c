import { type Keep, conduct } from '../../station/cycle/conduct.ts';
import type { Clock } from '../../station/clock.ts';
import type { CycleEvent } from '../../station/cycle/event.ts';
import type { CycleRecord } from '../../station/cycle/record.ts';
import { Trace } from '../../station/cycle/trace.ts';
import type { Start } from '../../station/cycle/run.ts';
import type { Rig } from '../../station/rig/port.ts';
import type { Store } from '../store/store.ts';
import { CycleKeeper, type Occasion } from './keeper.ts';

/** A cycle's record with the bytes of its trace, kept if there was a store to keep it in; or why there is none. */
export type Kept =
  | { readonly record: CycleRecord; readonly trace: Uint8Array; readonly problem: null }
  | { readonly record: null; readonly problem: unknown };

/**
 * Runs a cycle in this process and makes its record. With a store, `opened` and `closed` are on its disk before the
 * cycle goes on; without, the record is only returned. `onEvent` sees every event after it was kept and must not throw.
 * When the opening cannot be kept nothing moves, when the closing cannot there is no verdict: both give the problem and
 * no record.
 */
export async function runAndKeep(
  rig: Rig,
  start: Start,
  occasion: Occasion,
  given: { clock: Clock; store: Store | null; stop: AbortSignal; onEvent?: (event: CycleEvent) => void },
): Promise<Kept> {
  const keeper = new CycleKeeper(start, occasion, given);
  const trace = new Trace(start.plan.rig.revision.nests);
  const air: { barometerKpaAbs: number | null; roomC: number | null } = { barometerKpaAbs: null, roomC: null };
  let bytes: Uint8Array = new Uint8Array();
  const keep: Keep = (event) => {
    keeper.take(event, () => {
      // Samples go on to the release: what belongs to the record is what was seen by its end.
      bytes = trace.bytes();
      return { trace: bytes, ...air };
    });
    given.onEvent?.(event);
  };
  await conduct(rig, start, given.stop, keep, (block, atMs) => {
    air.barometerKpaAbs ??= block.barometerKpaAbs;
    air.roomC ??= block.roomC;
    trace.add(block, atMs);
  });
  const { record, problem } = keeper;
  return record === null ? { record, problem } : { record, trace: bytes, problem: null };
}
