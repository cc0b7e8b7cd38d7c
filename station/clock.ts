/** Time as a port: nobody else reads the wall clock, a timer or a monotonic counter. */
export interface Clock {
  /** Monotonic milliseconds from an arbitrary start: elapsed time and deadlines. */
  nowMs(): number;
  /** UTC wall time: for what is kept, never for control; it may jump. */
  wallTime(): Date;
  /** Resolves after `ms`, at once when that is zero or less. Rejects with the signal's reason when it aborts before. */
  sleep(ms: number, stop: AbortSignal): Promise<void>;
}

/** The computer's own clocks. */
export const systemClock: Clock = {
  nowMs: () => performance.now(),
  wallTime: () => new Date(),
  sleep: (ms, stop) =>
    new Promise((resolve, reject) => {
      if (stop.aborted) {
        reject(stop.reason as Error);
        return;
      }
      const end = (): void => {
        stop.removeEventListener('abort', cut);
        resolve();
      };
      const timer = setTimeout(end, Math.max(0, ms));
      const cut = (): void => {
        clearTimeout(timer);
        reject(stop.reason as Error);
      };
      stop.addEventListener('abort', cut, { once: true });
    }),
};
