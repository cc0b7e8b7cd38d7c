import { extname } from 'node:path';
import { fileURLToPath } from 'node:url';
import { Worker } from 'node:worker_threads';
import { systemClock } from '../../station/clock.ts';
import type { Demo } from '../../station/host/demo.ts';
import type { Command, Message } from '../../station/host/message.ts';
import { PacedRig } from '../../station/host/pacing.ts';
import { simulatedHost } from '../../station/host/simulated-host.ts';
import { type SimulatedChoice, simulatedRig } from '../../station/host/simulated-station.ts';
import { stream } from '../../station/random.ts';
import type { SafeState } from '../../station/rig/port.ts';
import type { Ask, Happened } from './trip-wire.ts';

/** What the bench's station is started with, as JSON. `seed` is that of its instants and causes. */
export interface TripSetup {
  readonly station: string;
  readonly simulated: SimulatedChoice & { readonly chamber: boolean };
  readonly seed: number;
}

/** What this station says beside a station's own messages. */
export type TripWord =
  /** One trip: from its instant until the station's process heard of it, and until it commanded the exhaust. */
  | {
      readonly type: 'tripped';
      readonly cause: string;
      readonly phase: string;
      readonly heardMs: number;
      readonly commandedMs: number;
    }
  /** The cycle was over before its trip came. */
  | { readonly type: 'missed' }
  /** The program had already commanded the exhaust open and nothing shut it since: there was nothing left to command. */
  | { readonly type: 'open-already'; readonly phase: string }
  /** The cycle ended and nobody had commanded the exhaust. */
  | { readonly type: 'unanswered'; readonly cause: string; readonly phase: string };

const CAUSES = ['guard-open', 'stop-chain-open', 'air-lost', 'vacuum-lost'] as const;

/** The paced rig, noting when somebody next commands its exhaust. What is wired inside the rig does not count. */
class NotingRig extends PacedRig {
  onCommand: (() => void) | null = null;
  /** Whether the exhaust was last commanded open. */
  isOpen = true;

  override setPressure(kPaAbs: number, stop: AbortSignal): Promise<void> {
    this.isOpen = false;
    return super.setPressure(kPaAbs, stop);
  }

  override close(stop: AbortSignal): Promise<void> {
    this.isOpen = false;
    return super.close(stop);
  }

  override vent(stop: AbortSignal): Promise<void> {
    const commanded = super.vent(stop);
    this.#note();
    return commanded;
  }

  override safe(): Promise<SafeState> {
    // The simulated rig opens its exhaust first and then computes, unpaced, what it reaches.
    this.#note();
    return super.safe();
  }

  #note(): void {
    this.isOpen = true;
    this.onCommand?.();
    this.onCommand = null;
  }
}

const setup = JSON.parse(process.argv[2] ?? '{}') as TripSetup;
const rig = simulatedRig(setup.simulated);
const seen = new NotingRig(rig, systemClock);
const draw = stream(setup.seed, 'trip', 0);
const wire = new Worker(fileURLToPath(new URL(`trip-wire${extname(import.meta.url)}`, import.meta.url)));
/** How long a cycle is that nothing happens to, ms; known after the first. */
let lengthMs: number | null = null;
let openedMs = 0;
let phase = '';
/** Numbers the cycles; a trip is of one of them. */
let number = 0;
let isRunning = false;
/** What tripped and was not answered yet. */
let struck: { readonly cause: string; readonly phase: string } | null = null;

const say = (message: Message | TripWord): void => {
  if (process.connected) process.send?.(message);
};

const host = simulatedHost(rig, seen, {
  station: setup.station,
  clock: systemClock,
  send: (message) => {
    watch(message);
    say(message);
  },
});

function watch(message: Message): void {
  if (message.type === 'event' && message.event.type === 'opened') {
    number += 1;
    isRunning = true;
    phase = 'opened';
    openedMs = systemClock.nowMs();
    if (lengthMs !== null) wire.postMessage({ number, afterMs: lengthMs * draw.uniform() } satisfies Ask);
  } else if (message.type === 'event' && message.event.type === 'phase') {
    phase = message.event.phase;
  } else if (message.type === 'event' && message.event.type === 'closed') {
    phase = 'closed';
  } else if (message.type === 'ended') {
    isRunning = false;
    if (struck !== null) say({ type: 'unanswered', ...struck });
    struck = null;
    lengthMs ??= systemClock.nowMs() - openedMs;
  }
}

wire.on('message', (happened: Happened) => {
  if (!isRunning || happened.number !== number) {
    say({ type: 'missed' });
    return;
  }
  if (seen.isOpen) {
    say({ type: 'open-already', phase });
    return;
  }
  const cause = CAUSES[Math.floor(CAUSES.length * draw.uniform())] ?? 'guard-open';
  const sinceMs = (): number => Number(process.hrtime.bigint() - happened.atNs) / 1e6;
  struck = { cause, phase };
  const heardMs = sinceMs();
  seen.onCommand = () => {
    struck = null;
    say({ type: 'tripped', cause, phase, heardMs, commandedMs: sinceMs() });
  };
  rig.strike({ what: cause, where: {}, size: 0 });
});

process.on('message', (command: Command<Demo>) => {
  host.command(command);
});
for (const signal of ['disconnect', 'SIGTERM', 'SIGINT'] as const) {
  process.on(signal, () => {
    host.end();
  });
}
await host.run();
process.exit(0);
