import { parentPort } from 'node:worker_threads';

/** One trip to come: so long after it was asked for. */
export interface Ask {
  readonly number: number;
  readonly afterMs: number;
}

/** It happened: the instant on the clock that every thread of the process shares, ns. */
export interface Happened {
  readonly number: number;
  readonly atNs: bigint;
}

/**
 * The outside of a station's process: a thread that nothing in the station can hold up. At the instant it was asked
 * for it notes the time and reports, as the driver of a wired input does.
 */
const pause = new Int32Array(new SharedArrayBuffer(4));
parentPort?.on('message', ({ number, afterMs }: Ask) => {
  Atomics.wait(pause, 0, 0, afterMs);
  parentPort?.postMessage({ number, atNs: process.hrtime.bigint() } satisfies Happened);
});
