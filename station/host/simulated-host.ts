import type { Clock } from '../clock.ts';
import type { CycleEvent } from '../cycle/event.ts';
import type { Rig } from '../rig/port.ts';
import type { SimulatedRig } from '../rig/simulated/rig.ts';
import { type Demo, partsFor, strikeIn } from './demo.ts';
import { StationHost } from './host.ts';
import type { Message } from './message.ts';
import { dummyRuns, firstRevision, nextRevision } from './simulated-station.ts';

/**
 * A host on a simulated rig, which is loaded with the parts of a demo and suffers its faults. `seen` is the rig as the
 * host uses it: the same, or one that paces it.
 */
export function simulatedHost(
  rig: SimulatedRig,
  seen: Rig,
  given: { readonly station: string; readonly clock: Clock; send(message: Message): void },
): StationHost<Demo> {
  let demo: Demo | null = null;
  return new StationHost<Demo>({
    rig: seen,
    clock: given.clock,
    revision: firstRevision(rig, given.station),
    send: (message) => given.send(message),
    load: (next) => {
      demo = next;
      rig.mend();
      rig.loadParts(partsFor(next.content, next.plant, next.draws, next.parts, next.spread), next.seed);
    },
    demo: (next) => {
      rig.mend();
      for (const { fault, afterMs } of next.faults) rig.strike(fault, afterMs);
    },
    onEvent: (event: CycleEvent) => {
      if (demo !== null) strikeIn(rig, event, demo.faults);
    },
    // Holds of masters on the simulated rig need no wall time; its own rig time passes all the same.
    studySoak: ({ profile, targetsC }, stop, onRun) => dummyRuns(rig, profile.content, targetsC, { stop, onRun }),
    characterise: ({ profile, revision }, stop, onHold) => nextRevision(rig, revision, profile, stop, onHold),
  });
}
