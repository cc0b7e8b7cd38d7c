import { unreachable } from '../assert.ts';
import type { Clock } from '../clock.ts';
import { conduct } from '../cycle/conduct.ts';
import type { CycleEvent } from '../cycle/event.ts';
import { meanOf } from '../cycle/means.ts';
import { Trace } from '../cycle/trace.ts';
import { StationFault } from '../faults.ts';
import type { Interlocks, Rig, SampleBlock } from '../rig/port.ts';
import type { RigRevision } from '../rig/revision.ts';
import type { DummyRun } from '../soak/lags-fit.ts';
import { soak } from '../soak/soak.ts';
import type { Command, Live, Look, Message } from './message.ts';

/** Between two looks at a rig at rest, ms. */
const LOOK_EVERY_MS = 500;
const LOOK_MS = 20;
/** Between two pictures for a screen, ms of the rig's time. */
const LIVE_EVERY_MS = 100;
const VENTED_WITHIN_KPA = 2;
/** Between two words of a soak at least, ms of the wall. */
const SOAK_TOLD_EVERY_MS = 250;
/** Clamps that do not open within this are looked at again at the next look. */
const RELEASE_MS = 1500;
/** In a soak the rest is looked at this often in the rig's time, and no more often than that on the wall. */
const SOAK_LOOK_EVERY = { rigMs: 10_000, wallMs: 1000 } as const;
/** How long a driven chamber waits for a server that says nothing, neither what is next nor that it kept something. */
const DRIVEN_ALONE_MS = 60_000;

/** What a host is given: its rig, the way to its server, and what only a simulated rig can do. */
export interface Hosted<Demo> {
  readonly rig: Rig;
  readonly clock: Clock;
  readonly revision: RigRevision;
  send(message: Message): void;
  /** Loads the parts of a simulated cycle. */
  load(demo: Demo): void;
  /** Lets something happen to the simulated rig. */
  demo(demo: Demo): void;
  /** Called with every event before it is sent: a simulated rig lets its faults strike at their phases. */
  onEvent(event: CycleEvent): void;
  /** Calls and awaits `onHold` before each hold: the server hears that the station lives, and commands come in. */
  characterise(
    command: Extract<Command<Demo>, { type: 'characterise' }>,
    stop: AbortSignal,
    onHold: (done: number, of: number) => Promise<void>,
  ): Promise<RigRevision>;
  /** Runs of instrumented dummies. Calls and awaits `onRun` before each, as `characterise` does. */
  studySoak(
    command: Extract<Command<Demo>, { type: 'study-soak' }>,
    stop: AbortSignal,
    onRun: (done: number, of: number) => Promise<void>,
  ): Promise<readonly DummyRun[]>;
}

/** One thing at a time: a station that is busy refuses. */
type Busy = 'cycle' | 'characterise' | 'soak' | 'study-soak' | 'stop';
type Work = { readonly kind: 'rest' } | { readonly kind: Busy; readonly cycle: string | null };

/**
 * A station's own process, less the process: commands in, messages out. It makes the rig safe and measures before its
 * first word. Losing the server is a stop; `end` is one too, and both leave the rig safe.
 */
export class StationHost<Demo> {
  readonly #given: Hosted<Demo>;
  #work: Work = { kind: 'rest' };
  #stop = new AbortController();
  readonly #over = new AbortController();
  #running: Promise<void> = Promise.resolve();
  /** Clamps were told to close, or nobody knows, since they were last seen to open; half closed they say nothing. */
  #mayBeClamped = true;
  /** The chamber was sent somewhere and nobody has taken the heat off since. */
  #isDriven = false;
  /** Since when a driven chamber has had nobody who asked for more; null while somebody does. */
  #aloneFromMs: number | null = null;
  /** Only one takes samples at a time: work waits for the look that is being taken. */
  #looking: Promise<Look> | null = null;
  /** Who waits for the disk: the answer to event `number` of the running cycle. */
  #waiting: { readonly number: number; answer(kept: boolean): void } | null = null;

  constructor(given: Hosted<Demo>) {
    this.#given = given;
  }

  /** Makes the rig safe, measures, speaks, then looks at the rig at rest until `end`. Resolves when all is over. */
  async run(): Promise<void> {
    const { rig, clock, revision } = this.#given;
    const safe = await rig.safe();
    this.#given.send({ type: 'awake', revision, safe });
    while (!this.#over.signal.aborted) {
      if (this.#work.kind === 'rest') {
        this.#looking = this.#look(this.#over.signal);
        this.#given.send({ type: 'look', look: await this.#looking });
      }
      this.#watchHeat();
      await clock.sleep(LOOK_EVERY_MS, this.#over.signal).catch(() => undefined);
    }
    await this.#running;
    await rig.safe();
  }

  /** Ends the station: what runs is stopped, the rig made safe. */
  end(): void {
    this.#over.abort();
    this.#halt();
  }

  command(command: Command<Demo>): void {
    switch (command.type) {
      case 'cycle':
        this.#begin(command.type, command.cycle, () => this.#cycle(command));
        return;
      case 'characterise':
        this.#begin(command.type, null, async () => {
          this.#mayBeClamped = true;
          const { signal } = this.#stop;
          const revision = await this.#given.characterise(command, signal, this.#progress(signal));
          this.#given.send({ type: 'characterised', revision });
        });
        return;
      case 'soak':
        this.#begin(command.type, null, () => this.#soak(command));
        return;
      case 'study-soak':
        this.#begin(command.type, null, async () => {
          const { signal } = this.#stop;
          await this.#given.rig.rearm(signal);
          await this.#release(await this.#given.rig.interlocks(signal), signal);
          const runs = await this.#given.studySoak(command, signal, this.#progress(signal));
          this.#given.send({ type: 'soak-studied', runs });
        });
        return;
      case 'kept':
        if (
          this.#work.kind === 'cycle' &&
          this.#work.cycle === command.cycle &&
          this.#waiting?.number === command.number
        )
          this.#waiting.answer(command.kept);
        return;
      case 'stop':
        if (this.#work.kind === 'rest') this.#begin(command.type, null, () => this.#makeSafe());
        else this.#halt();
        return;
      case 'demo':
        this.#given.demo(command.demo);
        return;
      case 'end':
        this.end();
        return;
      default:
        unreachable(command);
    }
  }

  /** A chamber that is driven between two tests is let go. */
  async #makeSafe(): Promise<void> {
    await this.#given.rig.safe();
    this.#isDriven = false;
  }

  /** Heat is on for what comes next. When nothing comes (a server that stands still does not die) it is taken off. */
  #watchHeat(): void {
    const nowMs = this.#given.clock.nowMs();
    if (!this.#isDriven || (this.#work.kind !== 'rest' && this.#waiting === null)) {
      this.#aloneFromMs = null;
      return;
    }
    this.#aloneFromMs ??= nowMs;
    if (nowMs - this.#aloneFromMs < DRIVEN_ALONE_MS) return;
    this.#aloneFromMs = null;
    if (this.#work.kind === 'rest') this.#begin('stop', null, () => this.#makeSafe());
    else this.#stop.abort(new StationFault('interrupted'));
  }

  /** Says how far a long job is; lets messages in. */
  #progress(stop: AbortSignal): (done: number, of: number) => Promise<void> {
    return async (done, of) => {
      this.#given.send({ type: 'progress', done, of });
      await this.#given.clock.sleep(0, stop);
    };
  }

  #halt(): void {
    this.#stop.abort(new StationFault('operator-stop'));
    // Nobody is left to answer, or nobody may wait any longer: what was not said to be kept is not.
    if (this.#over.signal.aborted) this.#waiting?.answer(false);
  }

  #begin(kind: Busy, cycle: string | null, work: () => Promise<void>): void {
    const { kind: busy } = this.#work;
    if ((busy !== 'rest' && busy !== 'stop') || this.#over.signal.aborted) {
      this.#given.send({ type: 'refused', command: kind, code: 'busy', facts: {} });
      return;
    }
    // Nothing starts beside a rig that is being made safe: it would have its heat or supply taken off again.
    const before = busy === 'stop' ? this.#running : this.#looking;
    const mine: Work = { kind, cycle };
    this.#work = mine;
    this.#stop = new AbortController();
    this.#running = Promise.resolve(before)
      .then(work)
      .catch(async (cause: unknown) => {
        await this.#makeSafe();
        const [code, facts] =
          cause instanceof StationFault ? [cause.code, cause.facts] : ['program' as const, { cause: String(cause) }];
        this.#given.send({ type: 'refused', command: kind, code, facts });
      })
      .finally(() => {
        if (this.#work === mine) this.#work = { kind: 'rest' };
      });
  }

  /** Waits for the parts with the chamber driven and everything else at rest. The heat stays on for the test. */
  async #soak({ soaking, demo }: Extract<Command<Demo>, { type: 'soak' }>): Promise<void> {
    const { rig } = this.#given;
    const { signal } = this.#stop;
    await rig.rearm(signal);
    await this.#release(await rig.interlocks(signal), signal);
    if (demo !== null) this.#given.load(demo);
    // The first and the last word, and between them so many as a screen can use: silence is taken for a hang.
    let toldMs = Number.NEGATIVE_INFINITY;
    let looked = { atMs: Number.NEGATIVE_INFINITY, nowMs: Number.NEGATIVE_INFINITY };
    this.#isDriven = true;
    for await (const event of soak(rig, soaking, signal)) {
      const nowMs = this.#given.clock.nowMs();
      const isDue = event.atMs - looked.atMs >= SOAK_LOOK_EVERY.rigMs && nowMs - looked.nowMs >= SOAK_LOOK_EVERY.wallMs;
      if (event.type === 'state' && isDue) {
        looked = { atMs: event.atMs, nowMs };
        this.#given.send({ type: 'look', look: await this.#look(signal) });
      }
      if (event.type === 'state' && nowMs - toldMs < SOAK_TOLD_EVERY_MS) continue;
      toldMs = nowMs;
      // Whoever hears the proof may ask for the test at once.
      if (event.type === 'soaked') this.#work = { kind: 'rest' };
      this.#given.send({ type: 'soak', event });
    }
  }

  async #cycle({
    cycle,
    plan,
    load,
    proofs,
    demo,
    soak: proof,
  }: Extract<Command<Demo>, { type: 'cycle' }>): Promise<void> {
    const { rig } = this.#given;
    // A release that was refused when the last cycle ended (an open guard) is made good before the next one.
    await this.#release(await rig.interlocks(this.#stop.signal), this.#stop.signal);
    if (demo !== null) this.#given.load(demo);
    const trace = new Trace(plan.rig.revision.nests);
    let air: { barometerKpaAbs: number | null; roomC: number | null } = { barometerKpaAbs: null, roomC: null };
    let liveMs = Number.NEGATIVE_INFINITY;
    let number = 0;
    const onlooker = (block: SampleBlock, atMs: number): void => {
      if (air.barometerKpaAbs === null) air = { barometerKpaAbs: block.barometerKpaAbs, roomC: block.roomC };
      trace.add(block, atMs);
      if (atMs - liveMs < LIVE_EVERY_MS) return;
      liveMs = atMs;
      this.#given.send({ type: 'live', cycle, live: liveOf(block, atMs) });
    };
    const keep = async (event: CycleEvent): Promise<void> => {
      if (event.type === 'phase' && event.phase === 'clamp') this.#mayBeClamped = true;
      if (event.type === 'released') this.#mayBeClamped = !event.released;
      this.#given.onEvent(event);
      const waits = event.type === 'opened' || event.type === 'closed';
      const closing = event.type === 'closed' ? { trace: trace.bytes(), ...air } : null;
      const kept = waits ? this.#answerTo(number) : null;
      this.#given.send({ type: 'event', cycle, number, event, waits, closing });
      number += 1;
      if (kept !== null && !(await kept)) throw new Error('the server did not keep it');
    };
    try {
      const start = { plan, load, proofs, soak: proof };
      await conduct(rig, start, this.#stop.signal, keep, onlooker);
    } finally {
      this.#given.send({ type: 'ended', cycle });
    }
  }

  /** Opens clamps that may be closed. Throws `release-refused` while the guard is open or pressure is present. */
  async #release({ clamped }: Interlocks, stop: AbortSignal): Promise<void> {
    if (!clamped && !this.#mayBeClamped) return;
    const { rig } = this.#given;
    // Whether the nests are at ambient is for the rig to know: it has to have measured it now.
    await rig.acquire(LOOK_MS, stop);
    await rig.release(stop);
    for (let waitedMs = 0; waitedMs < RELEASE_MS; waitedMs += LOOK_MS) {
      await rig.acquire(LOOK_MS, stop);
      if ((await rig.interlocks(stop)).clamped) continue;
      this.#mayBeClamped = false;
      return;
    }
    throw new StationFault('release-refused');
  }

  #answerTo(number: number): Promise<boolean> {
    return new Promise((resolve) => {
      const answer = (kept: boolean): void => {
        this.#waiting = null;
        resolve(kept);
      };
      this.#waiting = { number, answer };
      if (this.#over.signal.aborted) answer(false);
    });
  }

  async #look(stop: AbortSignal): Promise<Look> {
    const { rig } = this.#given;
    const none = rig.abilities.nests;
    try {
      const inputs = await rig.interlocks(stop);
      const block = await rig.acquire(LOOK_MS, stop);
      const nestKpaAbs = block.nests.map((nest) => meanOf(nest.referenceKpaAbs));
      const vented = nestKpaAbs.every((kPa) => Math.abs(kPa - block.barometerKpaAbs) <= VENTED_WITHIN_KPA);
      // What an open guard or a restart left clamped is let go as soon as it may be.
      if (vented && inputs.guardShut) await this.#release(inputs, stop).catch(() => undefined);
      return {
        barometerKpaAbs: block.barometerKpaAbs,
        nestKpaAbs,
        vented,
        roomC: block.roomC,
        chamberC: rig.abilities.chamber ? numberOf(block.chamberC) : null,
        partC: block.nests.map(({ partC }) => numberOf(partC)),
        inputs,
        fault: null,
      };
    } catch (cause) {
      const fault =
        cause instanceof StationFault
          ? { code: cause.code, phase: 'rest', nest: cause.nest, facts: cause.facts }
          : { code: 'program' as const, phase: 'rest', nest: null, facts: { cause: String(cause) } };
      const nestKpaAbs = Array.from({ length: none }, () => null);
      return {
        barometerKpaAbs: null,
        nestKpaAbs,
        vented: false,
        roomC: null,
        chamberC: null,
        partC: nestKpaAbs,
        inputs: null,
        fault,
      };
    }
  }
}

const numberOf = (value: number): number | null => (Number.isNaN(value) ? null : value);

function liveOf(block: SampleBlock, atMs: number): Live {
  return {
    atMs,
    controllerKpaAbs: meanOf(block.controllerKpaAbs),
    nests: block.nests.map(({ referenceKpaAbs, outputV, supplyV, supplyMa }) => ({
      referenceKpaAbs: meanOf(referenceKpaAbs),
      outputV: meanOf(outputV),
      supplyV,
      supplyMa,
    })),
  };
}
