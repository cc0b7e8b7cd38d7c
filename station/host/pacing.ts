import type { Clock } from '../clock.ts';
import type { Interlocks, OutputLoad, Rig, RigAbilities, SafeState, SampleBlock, SlowReadings } from '../rig/port.ts';

const MISSED_BLOCK_MS = 20;
const MOST_MISSED_MS = 2000;

/**
 * A rig whose time is made, paced so that its blocks take as long on the wall as they say. Everything else is the rig's
 * own: a trip, a stop and `safe` act at once and wait for no block.
 *
 * When nobody asked for blocks for longer than the dead-man allows (a process that stood still), the time that was
 * missed passes in the rig with nobody renewing it: its dead-man finds what a real one would have found.
 */
export class PacedRig implements Rig {
  readonly #rig: Rig;
  readonly #clock: Clock;
  readonly #pace: number;
  readonly #idlePace: number;
  /** Wall time at which the next block begins; null before the first. */
  #dueMs: number | null = null;

  /**
   * `pace`: so many ms of the rig pass in one of the wall; 1 is as long as a real one takes. `idlePace` is that of a rig
   * at rest, which nobody has to watch.
   */
  constructor(rig: Rig, clock: Clock, pace = 1, idlePace = pace) {
    this.#rig = rig;
    this.#clock = clock;
    this.#pace = pace;
    this.#idlePace = idlePace;
  }

  get abilities(): RigAbilities {
    return this.#rig.abilities;
  }

  get trip(): AbortSignal {
    return this.#rig.trip;
  }

  async acquire(forMs: number, stop: AbortSignal): Promise<SampleBlock> {
    const nowMs = this.#clock.nowMs();
    const lateMs = nowMs - (this.#dueMs ?? nowMs);
    if (lateMs > this.abilities.deadManMs) {
      await this.#miss(lateMs * this.#pace);
      this.#dueMs = nowMs;
    }
    const fromMs = this.#dueMs ?? nowMs;
    const block = await this.#rig.acquire(forMs, stop);
    this.#dueMs = fromMs + forMs / this.#pace;
    await this.#clock.sleep(this.#dueMs - this.#clock.nowMs(), stop);
    return block;
  }

  /** Lets time pass that nobody looked at; beyond two seconds it shows nothing more. */
  async #miss(lateMs: number): Promise<void> {
    const { signal } = new AbortController();
    for (let left = Math.min(lateMs, MOST_MISSED_MS); left >= 1; left -= MISSED_BLOCK_MS) {
      // Whether an instrument answered is nobody's concern here.
      await this.#rig.acquire(Math.min(MISSED_BLOCK_MS, Math.floor(left)), signal).catch(() => undefined);
    }
  }

  async idle(forMs: number, stop: AbortSignal): Promise<SlowReadings> {
    const fromMs = Math.max(this.#dueMs ?? 0, this.#clock.nowMs() - this.abilities.deadManMs);
    const slow = await this.#rig.idle(forMs, stop);
    this.#dueMs = fromMs + forMs / this.#idlePace;
    await this.#clock.sleep(this.#dueMs - this.#clock.nowMs(), stop);
    return slow;
  }

  rearm(stop: AbortSignal): Promise<void> {
    return this.#rig.rearm(stop);
  }
  interlocks(stop: AbortSignal): Promise<Interlocks> {
    return this.#rig.interlocks(stop);
  }
  setPressure(kPaAbs: number, stop: AbortSignal): Promise<void> {
    return this.#rig.setPressure(kPaAbs, stop);
  }
  close(stop: AbortSignal): Promise<void> {
    return this.#rig.close(stop);
  }
  vent(stop: AbortSignal): Promise<void> {
    return this.#rig.vent(stop);
  }
  isolate(nest: number, shut: boolean, stop: AbortSignal): Promise<void> {
    return this.#rig.isolate(nest, shut, stop);
  }
  supply(nest: number, volts: number, stop: AbortSignal): Promise<void> {
    return this.#rig.supply(nest, volts, stop);
  }
  connectLoad(load: OutputLoad, stop: AbortSignal): Promise<void> {
    return this.#rig.connectLoad(load, stop);
  }
  clamp(stop: AbortSignal): Promise<void> {
    return this.#rig.clamp(stop);
  }
  release(stop: AbortSignal): Promise<void> {
    return this.#rig.release(stop);
  }
  setChamber(airC: number, stop: AbortSignal): Promise<void> {
    return this.#rig.setChamber(airC, stop);
  }
  renewDeadMan(): void {
    this.#rig.renewDeadMan();
  }
  safe(): Promise<SafeState> {
    return this.#rig.safe();
  }
}
