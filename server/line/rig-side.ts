import { unreachable } from '../../station/assert.ts';
import type { CycleRecord } from '../../station/cycle/record.ts';
import type { FaultCode } from '../../station/faults.ts';
import type { Demo } from '../../station/host/demo.ts';
import type { Message } from '../../station/host/message.ts';
import type { RigRevision } from '../../station/rig/revision.ts';
import { CycleKeeper } from '../records/keeper.ts';
import { StoreError } from '../store/errors.ts';
import type { Frame, LineView, LiveView } from './contract.ts';
import type { RigListener, RigSideGiven, Run, StationLink } from './rig-given.ts';
import { KeptRig } from './kept-rig.ts';
import { Refusal } from './line.ts';
import { closeCutOff, outcomeNow } from './not-kept.ts';
import { atRest, inTest, ventedNow } from './pressure.ts';
import { RunningCycle } from './running-cycle.ts';
import { operatorOf } from './actors.ts';
import { StationJobs } from './station-jobs.ts';
import type { StationSetup } from './station-process.ts';

/**
 * The rig's side of a line station: its process, the cycle that runs there, what it measures. Everything that has to be
 * on disk before it may be shown is put there here.
 */
export class RigSide {
  readonly #station: string;
  readonly #given: RigSideGiven;
  readonly #listener: RigListener;
  readonly #link: StationLink;
  #linkState: LineView['link'] = 'starting';
  readonly #rig: KeptRig;
  readonly #jobs: StationJobs;
  #test: RunningCycle | null = null;
  /** The record is kept and the station lets the parts go; the next command waits for that. */
  #isReleasing = false;
  #isOver = false;
  #afterRelease: Run | null = null;
  #trouble: FaultCode | null = null;
  #lastPhases: CycleRecord['measurement']['phases'];
  #frames: readonly Frame[];
  #live: LiveView | null = null;

  /** `before` is what the ledger has of the last test: its phases and its picture. */
  constructor(
    setup: StationSetup,
    given: RigSideGiven,
    before: { readonly phases: CycleRecord['measurement']['phases']; readonly frames: readonly Frame[] },
    listener: RigListener,
  ) {
    this.#station = setup.station;
    this.#given = given;
    this.#listener = listener;
    this.#lastPhases = before.phases;
    this.#frames = before.frames;
    // How fast it runs makes no other rig of it.
    const { pace: _pace, soakPace: _soakPace, ...rig } = setup.simulated;
    this.#rig = new KeptRig(JSON.stringify(rig), given.store, {
      ready: (revision) => listener.ready(revision),
      failed: (cause) => given.log.error({ station: setup.station, err: cause }, 'the rig could not be kept'),
    });
    this.#jobs = new StationJobs(setup.station, {
      log: given.log,
      rig: this.#rig,
      listener,
      send: (command) => this.#link.send(command),
      trouble: (code) => {
        this.#trouble = code;
      },
    });
    this.#link = given.connect(setup, {
      message: (message) => this.#hear(message),
      lost: (why) => this.#lose(why),
    });
  }

  get link(): LineView['link'] {
    return this.#linkState;
  }

  get rig(): RigRevision | null {
    return this.#rig.revision;
  }

  get test(): RunningCycle | null {
    return this.#test;
  }

  get isTesting(): boolean {
    return this.#test !== null || this.#afterRelease !== null;
  }

  /** Nothing runs, is let go, or is waited for. */
  get isIdle(): boolean {
    return this.#linkState === 'up' && !this.isTesting && !this.#isReleasing && !this.#jobs.isBusy;
  }

  get characterising(): StationJobs['learning'] {
    return this.#jobs.learning;
  }

  /** What kept the station from the last thing it was asked, where no record says it. */
  get trouble(): FaultCode | null {
    return this.#trouble;
  }

  get lastPhases(): CycleRecord['measurement']['phases'] {
    return this.#lastPhases;
  }

  get frames(): readonly Frame[] {
    return this.#frames;
  }

  get live(): LiveView | null {
    return this.#live;
  }

  start(): void {
    this.#link.start();
  }

  /** Another part number: its times and its picture are its own. */
  forget(): void {
    this.#trouble = null;
    this.#lastPhases = [];
    this.#frames = [];
  }

  clearPicture(): void {
    this.#frames = [];
  }

  /** Lets something happen to a simulated rig. */
  strike(demo: Demo): void {
    this.#link.send({ type: 'demo', demo });
  }

  /** Refusals `station-away`, `testing-now`. */
  mustBeIdle(): void {
    if (this.#linkState !== 'up') throw new Refusal('station-away');
    if (this.isTesting || this.#jobs.isBusy) throw new Refusal('testing-now');
  }

  /** Refusal `station-away`. */
  mustKnowRig(): RigRevision {
    const { revision } = this.#rig;
    if (revision === null) throw new Refusal('station-away');
    return revision;
  }

  /** Refusal `guard-open`. */
  mustBeShut(): void {
    if (this.#live?.guardShut === false) throw new Refusal('guard-open');
  }

  async end(): Promise<void> {
    await this.#link.end();
    // What its process said last may still be on its way when it is gone: nothing is opened any more.
    this.#isOver = true;
    // What ran was stopped, closed and kept on the way; what could not be said any more is closed here.
    if (this.#test?.isOpened === true) this.#closeCutOff(this.#test);
  }

  /** Takes pressure, supplies and heat off whatever is there, also when nothing runs. */
  makeSafe(): void {
    this.#link.send({ type: 'stop' });
  }

  stop(): void {
    this.#giveBackWaiting();
    if (this.#test !== null) this.#test.isStopping = true;
    if (this.#test !== null || this.#jobs.isBusy) this.#link.send({ type: 'stop' });
  }

  /** What it can be told beside cycles. Refusals `station-away`, `testing-now`, also while parts are being let go. */
  jobs(): StationJobs {
    this.mustBeIdle();
    if (this.#isReleasing) throw new Refusal('testing-now');
    return this.#jobs;
  }

  /** Tests a load, as soon as the last one is released. Refusals `guard-open`, `in-test-elsewhere`, `not-kept`. */
  run(load: Run): void {
    this.mustBeShut();
    // The record of the last cycle is kept and shown; its clamps may still be opening.
    if (this.#isReleasing) this.#afterRelease = load;
    else this.#open(load);
  }

  /** A load that waited for the release is not tested: its parts are where they were. */
  #giveBackWaiting(): void {
    const waiting = this.#afterRelease;
    this.#afterRelease = null;
    if (waiting !== null) this.#listener.notBegun(waiting.parts);
  }

  #open({ work, parts, proofs, demo, soak, audit }: Run): void {
    const { store, clock, program, log, inTest } = this.#given;
    const { plan } = work;
    const load = Array.from({ length: plan.rig.revision.nests }, (_, at) => {
      return parts.find(({ nest }) => nest === at + 1)?.serial ?? null;
    });
    // A cycle whose record could not be kept is closed before another is opened: the last opened is the last closed.
    store.closeInterrupted(this.#station);
    // A test of parts that stay in their nests begins where the last one ended: no seed repeats it by itself.
    const seed = demo !== null && plan.rig.revision.origin === 'simulated' ? store.head().sequence : null;
    const occasion = {
      lot: work.lot,
      program,
      actor: operatorOf(work.operator),
      seed,
      ...(audit === undefined ? {} : { audit }),
    };
    const keeper = new CycleKeeper({ plan, load }, occasion, { clock, store });
    inTest.take(
      this.#station,
      parts.map(({ serial }) => serial),
    );
    let simulated: Demo | null;
    try {
      simulated = seed === null || demo === null ? null : demo(plan, load, seed);
    } catch (cause) {
      inTest.free(this.#station);
      throw cause;
    }
    this.#trouble = null;
    this.#test = new RunningCycle(keeper, { plan, load }, parts);
    this.#frames = this.#test.frames;
    log.info({ station: this.#station, cycle: keeper.cycle, load }, 'cycle starts');
    this.#link.send({ type: 'cycle', cycle: keeper.cycle, plan, load, proofs, demo: simulated, soak });
  }

  #hear(message: Message): void {
    if (this.#isOver) return;
    switch (message.type) {
      case 'awake':
        // It has made its rig safe and measured: it can be worked with, once that is kept.
        if (this.#rig.wake(message.revision)) this.#beUp();
        return;
      case 'look':
        // The disk may have room again.
        if (this.#rig.retry()) this.#beUp();
        this.#show(atRest(message.look));
        this.#listener.looked?.(message.look);
        return;
      case 'live':
        this.#hearLive(message);
        return;
      case 'event':
        this.#hearEvent(message);
        return;
      case 'ended':
        this.#endCycle();
        return;
      case 'progress':
      case 'characterised':
      case 'soak':
      case 'soak-studied':
        // Nobody looks at a rig that learns: what was seen before says nothing of now.
        if (message.type !== 'soak') this.#live = null;
        this.#jobs.hear(message);
        return;
      case 'refused':
        this.#hearRefusal(message);
        return;
      default:
        unreachable(message);
    }
  }

  #beUp(): void {
    this.#linkState = 'up';
    this.#given.log.info({ station: this.#station, rigIssue: this.#rig.revision?.issue }, 'station is awake');
    this.#listener.changed();
  }

  #hearLive({ cycle, live }: Extract<Message, { type: 'live' }>): void {
    const test = this.#test;
    if (test?.cycle !== cycle) return;
    const { phase, vented } = test;
    const barometerKpaAbs = this.#live?.pressure.barometerKpaAbs ?? null;
    const view = inTest(live, { phase, vented, barometerKpaAbs, guardShut: this.#live?.guardShut ?? null });
    if (view.frame !== null) test.frames.push(view.frame);
    this.#show(view);
  }

  #hearEvent(message: Extract<Message, { type: 'event' }>): void {
    const test = this.#test;
    const { cycle, number, waits } = message;
    if (test?.cycle !== cycle) {
      if (waits) this.#link.send({ type: 'kept', cycle, number, kept: false });
      return;
    }
    let kept = true;
    let isSeen = false;
    try {
      isSeen = test.take(message);
    } catch (cause) {
      kept = false;
      this.#given.log.error({ station: this.#station, cycle, err: cause }, 'a cycle could not be kept');
    }
    if (waits) this.#link.send({ type: 'kept', cycle, number, kept });
    // Nothing more can come of it; the rig is still at work and has to be made safe before it is over.
    else if (!kept) this.stop();
    if (message.event.type === 'closed' || (waits && !kept)) this.#finish(test);
    else if (isSeen) this.#listener.changed();
  }

  /** The record is on disk, or it is known that it cannot be: only now may anything be shown of it. */
  #finish(test: RunningCycle): void {
    const { record } = test;
    const shown = outcomeNow(test, record, this.#given);
    this.#over();
    this.#isReleasing = true;
    if (record !== null && record.measurement.faults.length === 0) this.#lastPhases = record.measurement.phases;
    this.#listener.finished(shown, test.parts);
    // The vent was measured before the verdict: no older look may say otherwise beside it.
    if (this.#live !== null && shown.record.measurement.vented) this.#show(ventedNow(this.#live));
    const verdicts = shown.record.measurement.results.map(({ verdict }) => verdict);
    this.#given.log.info({ station: this.#station, cycle: test.cycle, verdicts }, 'cycle closed');
    this.#listener.changed();
  }

  /** The station is ready for the next command; a pause for what no verdict waits for. */
  #endCycle(): void {
    if (this.#test !== null) this.#finish(this.#test);
    this.#isReleasing = false;
    const next = this.#afterRelease;
    this.#afterRelease = null;
    if (next === null) this.#catchUp();
    else this.#openOrGiveBack(next);
    this.#listener.changed();
  }

  /** Nobody asks any more when a load that waited cannot be tested: it is said as the station's trouble. */
  #openOrGiveBack(load: Run): void {
    try {
      this.#open(load);
    } catch (cause) {
      if (!(cause instanceof StoreError || cause instanceof Refusal)) throw cause;
      this.#given.log.error({ station: this.#station, err: cause }, 'a load that waited could not be started');
      this.#trouble = 'not-kept';
      this.#listener.notBegun(load.parts);
    }
  }

  #catchUp(): void {
    try {
      this.#given.store.checkpoint();
    } catch (cause) {
      this.#given.log.error({ station: this.#station, err: cause }, 'the ledger could not catch up');
    }
  }

  #hearRefusal({ command, code, facts }: Extract<Message, { type: 'refused' }>): void {
    this.#given.log.warn({ station: this.#station, command, code, facts }, 'the station refused');
    if (command !== 'cycle') this.#jobs.refused(command, code === 'busy' ? 'program' : code);
    if (command === 'cycle' && this.#test !== null) {
      // It was refused before anything was opened or moved.
      this.#trouble = code === 'busy' ? 'program' : code;
      this.#dropTest(this.#test);
    }
    this.#listener.changed();
  }

  /** The process is gone and is being started again; a cycle that ran has no verdict. */
  #lose(why: string): void {
    this.#given.log.warn({ station: this.#station, why }, 'station lost');
    this.#linkState = 'lost';
    this.#live = null;
    this.#isReleasing = false;
    this.#jobs.lose();
    this.#rig.forgetUnkept();
    this.#giveBackWaiting();
    if (this.#test?.isOpened === true) this.#closeCutOff(this.#test);
    else if (this.#test !== null) this.#dropTest(this.#test);
    this.#listener.changed();
  }

  #over(): void {
    this.#test = null;
    this.#given.inTest.free(this.#station);
  }

  #dropTest({ parts }: RunningCycle): void {
    this.#over();
    this.#frames = [];
    this.#listener.notBegun(parts);
  }

  #closeCutOff(test: RunningCycle): void {
    this.#over();
    this.#listener.finished(closeCutOff(this.#station, test, this.#given), test.parts);
    this.#catchUp();
  }

  #show(live: LiveView): void {
    this.#live = live;
    this.#listener.measured(live);
  }
}
