import type { Clock } from '../../station/clock.ts';

/** A clock that a test moves: whoever sleeps wakes when its time has come. */
export interface VirtualClock extends Clock {
  /** Moves the time on and wakes, in order, who is due; lets what follows of it happen. */
  advance(ms: number): Promise<void>;
}

export function virtualClock(): VirtualClock {
  let nowMs = 0;
  const sleepers: { readonly atMs: number; wake(): void }[] = [];
  const settle = (): Promise<void> => new Promise((resolve) => setImmediate(resolve));
  return {
    nowMs: () => nowMs,
    wallTime: () => new Date(Date.UTC(2025, 0, 1) + nowMs),
    sleep: (ms, stop) =>
      new Promise((resolve, reject) => {
        if (stop.aborted) {
          reject(stop.reason as Error);
          return;
        }
        const cut = (): void => {
          sleepers.splice(sleepers.indexOf(sleeper), 1);
          reject(stop.reason as Error);
        };
        const wake = (): void => {
          stop.removeEventListener('abort', cut);
          resolve();
        };
        const sleeper = { atMs: nowMs + Math.max(0, ms), wake };
        sleepers.push(sleeper);
        stop.addEventListener('abort', cut);
      }),
    advance: async (ms) => {
      const untilMs = nowMs + ms;
      for (;;) {
        await settle();
        const due = sleepers.filter(({ atMs }) => atMs <= untilMs).sort((a, b) => a.atMs - b.atMs)[0];
        if (due === undefined) break;
        nowMs = Math.max(nowMs, due.atMs);
        sleepers.splice(sleepers.indexOf(due), 1);
        due.wake();
      }
      nowMs = untilMs;
    },
  };
}
