import { unreachable } from '../../station/assert.ts';
import type { CycleRecord } from '../../station/cycle/record.ts';
import type { ProfileRevision } from '../../station/profile/schema.ts';
import type { RigRevision } from '../../station/rig/revision.ts';
import type { DemoChoices, Frame, LineCommand, LineView, LiveView, PartNumberView, StationView } from './contract.ts';
import { DemoLoad, demoChoices } from './demo-load.ts';
import { DemoSerials } from './demo-serial.ts';
import { Desk } from './desk.ts';
import type { DeskGiven, Placed } from './desk.ts';
import { Refusal } from './line.ts';
import type { Line, LineListener } from './line.ts';
import { framesOf } from './outcome.ts';
import { partNumbersOf } from './part-numbers.ts';
import { promptOf } from './prompt.ts';
import { proofsFor, proveSimulated } from './proofs.ts';
import { refusalOf } from './refusal.ts';
import { RigSide } from './rig-side.ts';
import type { RigSideGiven } from './rig-given.ts';
import type { StationSetup } from './station-process.ts';
import { workView } from './work.ts';
import type { Work } from './work.ts';

/** What a line station is given. */
export interface LineGiven extends RigSideGiven {
  readonly settings: DeskGiven['settings'] & {
    readonly plant: string;
    readonly scanner: LineView['scanner'];
    readonly demo: boolean;
  };
  readonly profiles: readonly ProfileRevision[];
}

/**
 * A line station as the server has it: people's commands in, its process's messages in, both kept where they have to
 * be, and one view of it all out. What lies between two cycles is the desk's, what happens at the rig is the rig side's.
 */
export class LineStation implements Line {
  readonly station: string;
  readonly #setup: StationSetup;
  readonly #given: LineGiven;
  readonly #desk: Desk;
  readonly #demo: DemoLoad;
  readonly #demoSerials: DemoSerials;
  readonly #side: RigSide;
  readonly #listeners = new Set<LineListener>();
  /** What was refused last, and what was asked for then: when something else is, it is no answer any more. */
  #refused: { readonly refusal: LineView['refusal']; readonly prompt: string } | null = null;
  #wasShut: boolean | null = null;
  #told = '';

  /** Every cycle of an earlier life must have been closed as interrupted, and the index tables caught up. */
  constructor(setup: StationSetup, given: LineGiven) {
    const { store, clock, settings, profiles, inTest } = given;
    const { nests } = setup.simulated;
    this.station = setup.station;
    this.#setup = setup;
    this.#given = given;
    this.#desk = new Desk({ store, clock, station: setup.station, nests, profiles, inTest, settings });
    this.#demo = new DemoLoad(store, this.#desk.plant, nests);
    this.#demoSerials = new DemoSerials(store);
    this.#side = new RigSide(setup, given, this.#before(), {
      ready: (rig) => this.#ready(rig),
      measured: (live) => this.#show(live),
      finished: (outcome, parts) => this.#desk.takeBack(outcome, parts),
      notBegun: (parts) => this.#desk.putBack(parts),
      changed: () => this.#tell(),
    });
  }

  /** The last test as the ledger has it. */
  #before(): { readonly phases: CycleRecord['measurement']['phases']; readonly frames: readonly Frame[] } {
    const record = this.#desk.outcome?.record;
    const trace = record?.circumstances.trace ?? null;
    const bytes = trace === null ? undefined : this.#given.store.trace(trace);
    return { phases: record?.measurement.phases ?? [], frames: bytes === undefined ? [] : framesOf(bytes) };
  }

  #ready(rig: RigRevision): void {
    if (rig.origin === 'simulated') proveSimulated(this.#given.store, this.station);
    this.#desk.resume(rig);
    this.#tell();
  }

  start(): void {
    this.#side.start();
  }

  end(): Promise<void> {
    return this.#side.end();
  }

  listen(listener: LineListener): () => void {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  }

  command(command: LineCommand): void {
    try {
      this.#carryOut(command);
      this.#refused = null;
    } catch (cause) {
      const refusal = refusalOf(cause);
      this.#refused = {
        refusal: { code: refusal.code, facts: refusal.facts },
        prompt: JSON.stringify(this.view().prompt),
      };
      throw refusal;
    } finally {
      this.#tell();
    }
  }

  #carryOut(command: LineCommand): void {
    if (command.type === 'stop') {
      this.#side.stop();
      return;
    }
    if (command.type === 'demo') {
      this.#chooseDemo(command);
      return;
    }
    if (command.type === 'acknowledge') {
      this.#desk.acknowledge(command.cycle, command.nest);
      return;
    }
    this.#side.mustBeIdle();
    switch (command.type) {
      case 'setup':
        this.#desk.setUp(command, this.#side.mustKnowRig());
        this.#side.forget();
        return;
      case 'state-masters':
        this.#desk.stateMasters();
        return;
      case 'characterise':
        this.#desk.mustBeSettled();
        this.#side.jobs().characterise(this.#desk.mustWork().profile, this.#side.mustKnowRig());
        return;
      case 'scan':
        this.#desk.scan(command.text, command.typed);
        if (this.#desk.outcome === null) this.#side.clearPicture();
        return;
      case 'leave-empty':
        this.#desk.fixture.leaveEmpty(command.nest);
        return;
      case 'take-out':
        this.#desk.fixture.takeOut(command.nest);
        return;
      case 'start':
        // Parts without serials are numbered at the start: nothing may stand in its way then.
        this.#side.mustBeShut();
        this.#run(this.#desk.toStart());
        return;
      case 'repeat':
        this.#run(this.#desk.toRepeat());
        return;
      case 'unlock':
        this.#desk.unlock(command);
        return;
      default:
        unreachable(command);
    }
  }

  #chooseDemo(command: Extract<LineCommand, { type: 'demo' }>): void {
    if (!this.#given.settings.demo) throw new Refusal('not-a-demo');
    this.#demo.choose(command, this.#desk.work?.plan ?? null);
    const content = this.#desk.work?.profile.content ?? this.#desk.plant[0];
    const { fault } = command;
    // What is to happen now happens; taking everything off waits for the end of a running test.
    const isNow = fault === null ? !this.#side.isTesting : fault.phase === null;
    if (isNow && content !== undefined) this.#side.strike(this.#demo.now(content, fault));
  }

  #run({ work, parts }: { readonly work: Work; readonly parts: readonly Placed[] }): void {
    const proofs = proofsFor(this.#desk.proofs());
    this.#side.run({ work, parts, proofs, demo: (plan, load, seed) => this.#demo.next(plan, load, seed) });
    this.#desk.handOver();
  }

  view(): LineView {
    const { settings } = this.#given;
    const { link, rig, test, isTesting, characterising, trouble, lastPhases, live } = this.#side;
    const { work, fixture, outcome } = this.#desk;
    const proofs = this.#desk.proofs();
    const nests = fixture.views();
    const outcomeView = outcome?.view() ?? null;
    const prompt = promptOf({
      link,
      isTesting,
      isStopping: test?.isStopping ?? false,
      characterising,
      trouble,
      outcome: outcomeView,
      isUnsettled: outcome?.isUnsettled ?? false,
      canRepeat: this.#desk.canRepeat,
      work: work && {
        isSerialised: work.profile.content.serial.rule === 'required',
        isCharacterised: work.isCharacterised,
        // While a test runs nobody asks.
        isLotOpen: isTesting || this.#desk.isLotOpen,
      },
      proofs,
      nests,
      guardShut: live?.guardShut ?? null,
    });
    return {
      station: this.station,
      plant: settings.plant,
      origin: rig?.origin ?? 'simulated',
      chamber: this.#setup.simulated.chamber,
      link,
      work: work === null ? null : workView(work, lastPhases),
      proofs,
      nests,
      test: test?.view() ?? null,
      outcome: outcomeView,
      prompt,
      refusal: this.#refused?.prompt === JSON.stringify(prompt) ? this.#refused.refusal : null,
      counts: this.#desk.books.counts.view(),
      scanner: settings.scanner,
      demo: settings.demo ? this.#demo.view(this.#nextSerial()) : null,
    };
  }

  #nextSerial(): string | null {
    const { work, fixture } = this.#desk;
    if (work === null) return null;
    const taken = fixture.loaded.map(({ serial }) => serial);
    const year = this.#given.clock.wallTime().getUTCFullYear();
    return this.#demoSerials.next(work.profile.content, work.lot, year, taken);
  }

  live(): LiveView | null {
    return this.#side.live;
  }

  frames(): readonly Frame[] {
    return this.#side.frames;
  }

  summary(): StationView {
    const { work, prompt, link, origin, chamber } = this.view();
    return {
      station: this.station,
      nests: this.#setup.simulated.nests,
      chamber,
      origin,
      link,
      prompt: prompt.code,
      partNumber: work?.partNumber ?? null,
      lot: work?.lot ?? null,
    };
  }

  partNumbers(): readonly PartNumberView[] {
    return partNumbersOf(this.#given.profiles, this.#side.rig);
  }

  demoChoices(): DemoChoices | null {
    return this.#given.settings.demo ? demoChoices(this.#desk.plant, this.#desk.work?.plan ?? null) : null;
  }

  #show(live: LiveView): void {
    for (const listener of this.#listeners) listener.live(live);
    // Who shuts the guard after a load has laid the next one in.
    if (live.guardShut === true && this.#wasShut === false && this.#desk.turnPage()) this.#tell();
    this.#wasShut = live.guardShut;
    // A guard that opens, a proof that runs out, a shift that ends change what is to be done now.
    const isNewShift = this.#desk.books.turnShift();
    if (isNewShift || !this.#side.isTesting) this.#tellIfChanged(isNewShift);
  }

  #tellIfChanged(always: boolean): void {
    const view = this.view();
    if (!always && JSON.stringify(view.prompt) === this.#told) return;
    this.#tell();
  }

  #tell(): void {
    const view = this.view();
    this.#told = JSON.stringify(view.prompt);
    for (const listener of this.#listeners) listener.view(view);
  }
}
