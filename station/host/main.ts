import * as z from 'zod';
import { systemClock } from '../clock.ts';
import type { CycleEvent } from '../cycle/event.ts';
import { type Demo, partsFor, strikeIn } from './demo.ts';
import { StationHost } from './host.ts';
import type { Command, Message } from './message.ts';
import { PacedRig } from './pacing.ts';
import { firstRevision, nextRevision, simulatedRig } from './simulated-station.ts';

/** What a station's process is started with: one JSON argument. */
const Setup = z.strictObject({
  station: z.string(),
  simulated: z.strictObject({
    nests: z.int().min(1).max(16),
    rigSeed: z.int().min(0),
    barometerKpaAbs: z.number().nullable(),
    chamber: z.boolean(),
  }),
});

const { station, simulated } = Setup.parse(JSON.parse(process.argv[2] ?? '{}'));
const rig = simulatedRig(simulated);
let demo: Demo | null = null;

const host = new StationHost<Demo>({
  rig: new PacedRig(rig, systemClock),
  clock: systemClock,
  revision: firstRevision(rig, station),
  send: (message: Message) => {
    // A server that is gone hears nothing more; `disconnect` ends this process.
    if (process.connected) process.send?.(message);
  },
  load: (next) => {
    demo = next;
    rig.mend();
    rig.loadParts(partsFor(next.content, next.plant, next.seed, rig.abilities.nests, next.parts), next.seed);
  },
  demo: (next) => {
    rig.mend();
    for (const { fault, afterMs } of next.faults) rig.strike(fault, afterMs);
  },
  onEvent: (event: CycleEvent) => {
    if (demo !== null) strikeIn(rig, event, demo.faults);
  },
  // Holds of masters on the simulated rig need no wall time; its own rig time passes all the same.
  characterise: ({ profile, revision }, stop) => nextRevision(rig, revision, profile, stop),
});

process.on('message', (command: Command<Demo>) => {
  host.command(command);
});
// Losing the server, or being asked to go, is a stop: rig safe, then the end.
for (const signal of ['disconnect', 'SIGTERM', 'SIGINT'] as const) {
  process.on(signal, () => {
    host.end();
  });
}
// What nobody foresaw must not leave pressure on.
process.on('uncaughtException', (error) => {
  console.error(error);
  void rig.safe().finally(() => process.exit(1));
});

await host.run();
process.exit(0);
