/** Time as a port: nobody else reads the wall clock, a timer or a monotonic counter. */
export interface Clock {
  /** Monotonic milliseconds from an arbitrary start: elapsed time and deadlines. */
  nowMs(): number;
  /** UTC wall time: for what is kept, never for control; it may jump. */
  wallTime(): Date;
}

/** The computer's own clocks. */
export const systemClock: Clock = {
  nowMs: () => performance.now(),
  wallTime: () => new Date(),
};
