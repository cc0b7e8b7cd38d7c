import { type ChildProcess, fork } from 'node:child_process';
import { extname } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Clock } from '../../station/clock.ts';
import type { Demo } from '../../station/host/demo.ts';
import type { Command, Message } from '../../station/host/message.ts';

/** Which simulated rig a station's process is started with. */
export interface StationSetup {
  readonly station: string;
  readonly simulated: {
    readonly nests: number;
    readonly rigSeed: number;
    readonly barometerKpaAbs: number | null;
    readonly chamber: boolean;
    /** How much faster than the wall the rig runs; 1 is as long as a real one takes. */
    readonly pace: number;
    /** The same while it rests and a chamber is waited for. */
    readonly soakPace: number;
  };
}

/** What is told of the process: its messages, and that it is gone (it will be started again). */
export interface StationListener {
  message(message: Message): void;
  lost(why: string): void;
}

/** A rig at rest is looked at twice a second, a cycle says something ten times: silence this long is a hang. */
const SILENT_MS = 5000;
/** Between two starts: doubled each time up to the most, back to the least once a station was awake this long. */
const RESTART = { leastMs: 250, mostMs: 10_000, settledMs: 30_000 } as const;
/** How long a station may take to stop a cycle and make its rig safe. */
const END_MS = 8000;

/** The station's main, beside this file's own place in the sources or in what was built of them. */
const HOST = fileURLToPath(new URL(`../../station/host/main${extname(import.meta.url)}`, import.meta.url));

/**
 * A station's process as the server has it: started, listened to, started again with growing pauses when it dies or
 * falls silent, ended gracefully. Commands to a process that is not there are dropped: who sent one learns of it by
 * `lost`.
 */
export class StationProcess {
  readonly #main: string;
  readonly #setup: StationSetup;
  readonly #clock: Clock;
  readonly #listener: StationListener;
  readonly #over = new AbortController();
  #child: ChildProcess | null = null;
  #heardMs = 0;
  #running: Promise<void> | null = null;

  /** `main` is the station's program. */
  constructor(setup: StationSetup, clock: Clock, listener: StationListener, main = HOST) {
    this.#main = main;
    this.#setup = setup;
    this.#clock = clock;
    this.#listener = listener;
  }

  /** The process's id, for an outside witness; null while it is not there. */
  get pid(): number | null {
    return this.#child?.pid ?? null;
  }

  start(): void {
    this.#running ??= this.#keepRunning();
  }

  send(command: Command<Demo>): void {
    if (this.#child?.connected === true) this.#child.send(command);
  }

  /** Ends the process: a running cycle is stopped, the rig made safe. Killed when it does not. */
  async end(): Promise<void> {
    this.#over.abort();
    const child = this.#child;
    if (child !== null && child.exitCode === null) {
      this.send({ type: 'end' });
      const late = new AbortController();
      void this.#clock.sleep(END_MS, late.signal).then(
        () => child.kill('SIGKILL'),
        () => undefined,
      );
      await exitOf(child);
      late.abort();
    }
    await this.#running;
  }

  async #keepRunning(): Promise<void> {
    const { signal } = this.#over;
    const isOver = (): boolean => signal.aborted;
    let pauseMs: number = RESTART.leastMs;
    while (!isOver()) {
      const fromMs = this.#clock.nowMs();
      const why = await this.#live();
      if (isOver()) return;
      this.#listener.lost(why);
      if (this.#clock.nowMs() - fromMs > RESTART.settledMs) pauseMs = RESTART.leastMs;
      await this.#clock.sleep(pauseMs, signal).catch(() => undefined);
      pauseMs = Math.min(2 * pauseMs, RESTART.mostMs);
    }
  }

  /** One life of the process; resolves with how it ended. */
  async #live(): Promise<string> {
    const child = fork(this.#main, [JSON.stringify(this.#setup)], {
      serialization: 'advanced',
      stdio: ['ignore', 'ignore', 'inherit', 'ipc'],
    });
    this.#child = child;
    this.#heardMs = this.#clock.nowMs();
    child.on('message', (message: Message) => {
      this.#heardMs = this.#clock.nowMs();
      this.#listener.message(message);
    });
    const gone = new AbortController();
    const hang = this.#watch(child, gone.signal);
    const ended = await exitOf(child);
    gone.abort();
    this.#child = null;
    return (await hang) ? 'silent' : ended;
  }

  /** Kills a process that fell silent; resolves with whether it had to. */
  async #watch(child: ChildProcess, gone: AbortSignal): Promise<boolean> {
    const isGone = (): boolean => gone.aborted;
    while (!isGone()) {
      const fromMs = this.#clock.nowMs();
      await this.#clock.sleep(SILENT_MS / 5, gone).catch(() => undefined);
      // Time in which this program itself stood still is no silence of the station's: what it said waits to be read.
      const stoodMs = this.#clock.nowMs() - fromMs - SILENT_MS / 5;
      if (stoodMs > SILENT_MS / 5) this.#heardMs += stoodMs;
      if (isGone() || this.#clock.nowMs() - this.#heardMs <= SILENT_MS) continue;
      child.kill('SIGKILL');
      return true;
    }
    return false;
  }
}

function exitOf(child: ChildProcess): Promise<string> {
  return new Promise((resolve) => {
    if (child.exitCode !== null || child.signalCode !== null) {
      resolve(String(child.exitCode ?? child.signalCode));
      return;
    }
    child.once('exit', (code, signal) => {
      resolve(signal ?? `exit ${code ?? 0}`);
    });
    child.once('error', (error) => {
      resolve(error.message);
    });
  });
}
