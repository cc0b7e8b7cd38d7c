import * as z from 'zod';
import { systemClock } from '../clock.ts';
import type { Demo } from './demo.ts';
import type { Command } from './message.ts';
import { PacedRig } from './pacing.ts';
import { simulatedHost } from './simulated-host.ts';
import { simulatedRig } from './simulated-station.ts';

/** What a station's process is started with: one JSON argument. */
const Setup = z.strictObject({
  station: z.string(),
  simulated: z.strictObject({
    nests: z.int().min(1).max(16),
    rigSeed: z.int().min(0),
    barometerKpaAbs: z.number().nullable(),
    chamber: z.boolean(),
    /** How much faster than the wall the simulated rig runs. */
    pace: z.number().min(1).max(50),
    /** The same while it rests and a chamber is waited for. */
    soakPace: z.number().min(1).max(5000),
  }),
});

const { station, simulated } = Setup.parse(JSON.parse(process.argv[2] ?? '{}'));
const rig = simulatedRig(simulated);
const host = simulatedHost(rig, new PacedRig(rig, systemClock, simulated.pace, simulated.soakPace), {
  station,
  clock: systemClock,
  send: (message) => {
    // A server that is gone hears nothing more; `disconnect` ends this process.
    if (process.connected) process.send?.(message);
  },
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

// A server that was gone while this program was being read told nobody any more.
if (process.send !== undefined && !process.connected) host.end();
await host.run();
process.exit(0);
