import type { Rig } from '../rig/port.ts';
import type { CycleEvent } from './event.ts';
import { type CycleEnd, type Kept, runCycle, type Start } from './run.ts';
import type { Onlooker } from './sampling.ts';

/** Keeps an event: for `opened` and `closed` it returns, or resolves, only when the event is on disk. */
export type Keep = (event: CycleEvent) => void | Promise<void>;

/**
 * The supervisor beside a cycle: drives it, has its events kept, and owns the rig's trip. A generator that waits for a
 * disk would learn of a trip late, so the supervisor itself makes the rig safe the moment a trip or a stop arrives.
 *
 * `operatorStop` aborts with a StationFault (`operator-stop`) as reason. What `keep` throws means that the event is
 * not kept; for other events than `opened` and `closed` it is the caller's own bug and is passed on, rig safe first.
 */
export async function conduct(
  rig: Rig,
  start: Start,
  operatorStop: AbortSignal,
  keep: Keep,
  onlooker?: Onlooker,
): Promise<CycleEnd> {
  // What still stands of an earlier trip rejects here, leaves the trip aborted and so stops this cycle, on record.
  await rig.rearm(operatorStop).catch(() => undefined);
  const stop = AbortSignal.any([operatorStop, rig.trip]);
  const makeSafe = (): void => void rig.safe();
  stop.addEventListener('abort', makeSafe, { once: true });
  const cycle = runCycle(rig, start, stop, onlooker);
  let finished = false;
  try {
    let answer: Kept = 'kept';
    for (;;) {
      const step = await cycle.next(answer);
      if (step.done === true) {
        finished = true;
        return step.value;
      }
      answer = await offer(keep, step.value);
    }
  } finally {
    stop.removeEventListener('abort', makeSafe);
    if (!finished) await rig.safe();
  }
}

async function offer(keep: Keep, event: CycleEvent): Promise<Kept> {
  if (event.type !== 'opened' && event.type !== 'closed') {
    await keep(event);
    return 'kept';
  }
  try {
    await keep(event);
    return 'kept';
  } catch {
    // Why it was not kept is the keeper's to log; the cycle only has to know that there is no record.
    return 'lost';
  }
}
