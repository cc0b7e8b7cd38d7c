import { unreachable } from '../../station/assert.ts';
import type { Proof } from '../../station/cycle/proof.ts';
import type { FaultCode } from '../../station/faults.ts';
import { StationFault } from '../../station/faults.ts';
import type { Demo } from '../../station/host/demo.ts';
import type { Look } from '../../station/host/message.ts';
import type { ProfileContent, ProfileRevision } from '../../station/profile/schema.ts';
import type { SoakState } from '../../station/soak/core-observer.ts';
import type { Soaking, SoakEvent, SoakProof } from '../../station/soak/soak.ts';
import { stateOfAudit } from '../audit/audits.ts';
import { nextStage, openLoad, stagesOf } from '../audit/state.ts';
import type { AuditState } from '../audit/state.ts';
import type { DemoLoad } from '../line/demo-load.ts';
import type { Placed } from '../line/desk.ts';
import type { LastOutcome } from '../line/last-outcome.ts';
import type { RigSide } from '../line/rig-side.ts';
import type { StationJobs } from '../line/station-jobs.ts';
import { BY_PROGRAM } from '../line/actors.ts';
import { makeAuditWork } from '../line/work.ts';
import type { Work } from '../line/work.ts';
import type { LabView } from './contract.ts';
import { doorState, touchOf } from './door.ts';
import { roadOf, wayOf } from './estimate.ts';
import type { Road } from './estimate.ts';
import { faultOf } from './fault-of.ts';
import type { LabGiven } from './lab-station.ts';
import { loadView } from './load.ts';
import { fromAnywhere, fromBench, lagsOf, soakStudyOf } from './soak-books.ts';

/** How fast the chamber is expected to move, for estimates only; and the longest that a soak is waited for. */
const RAMP_K_PER_S = 0.05;
const SOAK_LIMIT_MS = 4 * 3_600_000;
/** The room where nobody measures it. */
const USUAL_ROOM_C = 23;

type SoakStudy = NonNullable<ReturnType<typeof soakStudyOf>>;

/** A load that goes through its stages now. */
interface Running {
  readonly audit: string;
  readonly load: number;
  readonly by: string;
  readonly profile: ProfileRevision;
  /** What the station had shown when the load began: a shift that ends in the middle of it takes nothing of that back. */
  readonly proofs: readonly Proof[];
}

interface RunGiven extends LabGiven {
  readonly station: string;
  readonly demo: DemoLoad;
  readonly side: () => RigSide;
}

/**
 * The load in a chamber on its way through the stages: soak, cycle, soak, cycle, then down to where it can be touched. What
 * is done is in the ledger; what is cut off is kept as such and nothing goes on by itself.
 */
export class LoadRun {
  readonly #given: RunGiven;
  #running: Running | null = null;
  /** The next stage begins as soon as the clamps of the last one are open. */
  #isAdvancing = false;
  #isComingDown = false;
  /** The load was taken out on its way down: that it ends early is no trouble. */
  #isOut = false;
  /** Where the parts can be; null when nobody has followed them. */
  #state: SoakState | null = null;
  /** The parts of a simulated rig are put in with the next soak. */
  #isToBeLaidIn = false;
  #soak: LabView['soak'] = null;
  #targetC = Number.NaN;
  #load: LabView['load'] = null;
  /** The last look at the rig at rest; none while something runs, for it would be as old as that. */
  #look: Look | null = null;
  #airC: number | null = null;
  #roomC = USUAL_ROOM_C;
  /** An interruption that could not be kept yet. */
  #unsaid: { readonly running: Running; readonly code: FaultCode } | null = null;
  #road: Road | null = null;
  /** Why the last way down ended. */
  #trouble: FaultCode | null = null;
  isStopping = false;

  constructor(given: RunGiven) {
    this.#given = given;
  }

  get isRunning(): boolean {
    return this.#running !== null;
  }

  get isComingDown(): boolean {
    return this.#isComingDown;
  }

  get soak(): LabView['soak'] {
    return this.#soak;
  }

  /** The load that is in the chamber. */
  get load(): LabView['load'] {
    return this.#load;
  }

  get look(): Look | null {
    return this.#look;
  }

  /** Where the load stands on its road, for an estimate of its end; null when nothing runs, or the heat is off. */
  get way(): ReturnType<typeof wayOf> {
    if (this.#load === null || (!this.isRunning && !this.#isComingDown)) return null;
    const testedMs = this.#isAdvancing ? Infinity : (this.#given.side().test?.view().phaseFromMs ?? null);
    return wayOf(this.#road, { isDown: this.#isComingDown, testedMs, soak: this.#soak }, this.#state);
  }

  /** Whether the load may come out now; never while the station does anything but come down. */
  door(isVented: boolean | null): LabView['door'] {
    const isBusy = this.isRunning || (!this.#isComingDown && !this.#given.side().isIdle);
    return isBusy ? 'running' : this.#doorAtRest(isVented);
  }

  #doorAtRest(isVented: boolean | null): LabView['door'] {
    return doorState(this.touch, {
      isVented,
      chamberC: this.#look?.chamberC ?? null,
      partC: this.#look?.partC ?? [],
      state: this.#state,
    });
  }

  get touch(): LabView['touch'] {
    return touchOf(this.#given.settings.dewPointC);
  }

  /** What the ledger says is in the chamber; null for an empty one. */
  show(state: AuditState | null): void {
    this.#load = state === null ? null : loadView(state);
  }

  /** Nobody follows the parts any more, and what was seen of the rig is of another time. */
  forget(): void {
    this.#state = null;
    this.#look = null;
    this.#road = null;
  }

  /** A station that was started anew: what ran is cut off, and what could not be said of it is found in the ledger. */
  startedAnew(): void {
    if (this.isRunning) this.interrupt('interrupted');
    this.#unsaid = null;
    this.forget();
  }

  /** The load is out: its way down is of no concern any more. */
  takenOut(): void {
    this.#isOut = this.#isComingDown;
    if (this.#isComingDown) this.#given.side().stop();
    this.#trouble = null;
    this.show(null);
    this.forget();
  }

  get trouble(): FaultCode | null {
    return this.#trouble;
  }

  looked(look: Look): void {
    this.#look = look;
    this.#airC = look.chamberC;
    this.#roomC = look.roomC ?? this.#roomC;
    // The disk may have room again.
    if (this.#unsaid !== null) this.#say(this.#unsaid.running, this.#unsaid.code);
    this.goOn();
  }

  /** A load that was laid in from the bench, or one that nobody has followed, begins its next stage. */
  begin(running: Running, from: 'bench' | 'anywhere'): void {
    const { airC, roomC } = this.temperatures();
    this.#state = from === 'bench' ? fromBench(airC, roomC) : null;
    this.#isToBeLaidIn = true;
    this.#running = running;
    this.#isComingDown = false;
    this.isStopping = false;
    this.#trouble = null;
    this.#advance();
  }

  /** Measured air of chamber and room, °C. */
  temperatures(): { readonly airC: number; readonly roomC: number } {
    return { airC: this.#airC ?? this.#roomC, roomC: this.#roomC };
  }

  /** Whatever had to be waited for is over: the next stage begins. */
  goOn(): void {
    if (!this.#isAdvancing || !this.#given.side().isIdle) return;
    this.#isAdvancing = false;
    this.#advance();
  }

  /** The next stage of the load, or the way down after the last. */
  #advance(): void {
    const running = this.#running;
    if (running === null || this.#stopped()) return;
    try {
      const state = stateOfAudit(this.#given.store, running.audit);
      const stage = nextStage(state, running.load);
      this.show(state);
      if (stage === null) this.comeDown(running.profile);
      else this.#soakFor(running, state, stage);
    } catch (cause) {
      this.#given.log.error({ station: this.#given.station, err: cause }, 'a load could not go on');
      this.interrupt(faultOf(cause));
    }
  }

  /** A stop that came between two steps stops here. */
  #stopped(): boolean {
    if (!this.isStopping) return false;
    this.interrupt('operator-stop');
    return true;
  }

  #soakFor({ profile, by }: Running, state: AuditState, stage: number): void {
    const { content } = profile;
    const id = stagesOf(state)[stage - 1];
    const condition = content.conditions.find((each) => each.id === id);
    const study = soakStudyOf(this.#given.store, this.#given.station, content.partNumber);
    if (condition === undefined || study === null) throw new StationFault('not-testable', { facts: { stage } });
    const work = this.#workFor(profile, by, state, condition.id);
    const rig = this.#given.side().mustKnowRig();
    const demo =
      this.#isToBeLaidIn && rig.origin === 'simulated'
        ? this.#given.demo.next(work.plan, this.#load?.places ?? [], this.#given.store.head().sequence)
        : null;
    this.#isToBeLaidIn = false;
    const chamber = { lags: lagsOf(study), rampKPerS: RAMP_K_PER_S, roomC: this.#roomC, touch: this.touch };
    const { lastPhases: last } = this.#given.side();
    this.#road = roadOf(state, { ...chamber, stage, plan: work.plan, last, nests: rig.nests });
    const { targetC, soakMs } = condition;
    this.#drive(content, study, { condition: condition.id, targetC, leastMs: soakMs }, demo);
  }

  /** Sends the chamber to a temperature and follows the parts there from where they can be now. */
  #drive(
    profile: ProfileContent,
    study: SoakStudy,
    aim: Pick<Soaking, 'condition' | 'targetC' | 'leastMs'>,
    demo: Demo | null,
  ): void {
    const { airC, roomC } = this.temperatures();
    const from = this.#state ?? fromAnywhere(airC, roomC, profile);
    const lags = lagsOf(study);
    this.#driven().soak({ ...aim, lags, from, rampKPerS: RAMP_K_PER_S, limitMs: SOAK_LIMIT_MS }, demo);
  }

  /** The station, idle and with its door shut, about to be driven. Refusals `station-away`, `testing-now`, `guard-open`. */
  #driven(): StationJobs {
    const side = this.#given.side();
    side.mustBeShut();
    const jobs = side.jobs();
    this.#look = null;
    return jobs;
  }

  #workFor(profile: ProfileRevision, by: string, state: AuditState, condition: SoakProof['condition']): Work {
    const plant = this.#given.profiles.map(({ content }) => content);
    return makeAuditWork(
      { by, lot: state.drawn.content.lot, profile, condition },
      this.#given.side().mustKnowRig(),
      plant,
    );
  }

  /** Everything of the load is tested: the chamber goes to where the parts can be touched. */
  comeDown({ content }: ProfileRevision): void {
    const study = soakStudyOf(this.#given.store, this.#given.station, content.partNumber);
    if (study === null || this.#doorAtRest(true) === 'ready') this.#given.side().makeSafe();
    else {
      this.#drive(content, study, { condition: 'ambient', targetC: this.temperatures().roomC, leastMs: 0 }, null);
      this.#isComingDown = true;
    }
    this.#running = null;
    this.#trouble = null;
  }

  soaking(event: SoakEvent): void {
    switch (event.type) {
      case 'sent':
        this.#targetC = event.targetC;
        return;
      case 'state': {
        const { state, atMs, leftS, heldBy } = event;
        this.#state = state;
        this.#airC = state.airC;
        this.#soak = {
          targetC: this.#targetC,
          airC: state.airC,
          coreLowC: state.coreC.low,
          coreHighC: state.coreC.high,
          atMs,
          leftS,
          heldBy,
        };
        return;
      }
      case 'soaked':
        this.#soak = null;
        this.#state = event.proof.state;
        if (this.#isComingDown) this.#isDown();
        else this.#test(event.proof);
        return;
      default:
        unreachable(event);
    }
  }

  /** The load has the room's temperature: nobody need drive the chamber any more. */
  #isDown(): void {
    this.#isComingDown = false;
    this.isStopping = false;
    this.#given.side().makeSafe();
  }

  #test(soak: SoakProof): void {
    const running = this.#running;
    if (running === null || this.#stopped()) return;
    const { store } = this.#given;
    try {
      const state = stateOfAudit(store, running.audit);
      const stage = nextStage(state, running.load);
      const load = openLoad(state);
      if (stage === null || load === null) throw new StationFault('program');
      const work = this.#workFor(running.profile, running.by, state, soak.condition);
      const parts = load.places.flatMap((serial, at): Placed[] =>
        serial === null ? [] : [{ serial, nest: at + 1, attempt: 'first', wasJudged: true, typed: false }],
      );
      this.#given.side().run({
        work,
        parts,
        proofs: running.proofs,
        demo: null,
        soak,
        audit: { audit: running.audit, load: running.load, stage },
      });
    } catch (cause) {
      this.#given.log.error({ station: this.#given.station, err: cause }, 'a stage could not be tested');
      this.interrupt(faultOf(cause));
    }
  }

  finished(outcome: LastOutcome): void {
    this.#soak = null;
    const [fault] = outcome.record.measurement.faults;
    if (fault === undefined) this.#isAdvancing = true;
    else this.interrupt(fault.code);
  }

  soakEnded(code: FaultCode): void {
    this.#soak = null;
    this.#state = null;
    this.isStopping = false;
    if (this.#isComingDown) {
      this.#isComingDown = false;
      this.#trouble = this.#isOut ? null : code;
      this.#isOut = false;
    } else if (this.isRunning) this.interrupt(code);
  }

  /** What ran is cut off: kept, the heat taken off, and a person says when it goes on. */
  interrupt(code: FaultCode): void {
    const running = this.#running;
    this.#running = null;
    this.#isAdvancing = false;
    this.#isComingDown = false;
    this.isStopping = false;
    this.#state = null;
    // Whatever runs or does not: heat that nobody waits for is taken off.
    this.#given.side().makeSafe();
    if (running === null) this.#trouble = code;
    else this.#say(running, code);
  }

  #say(running: Running, code: FaultCode): void {
    const { store, log } = this.#given;
    const isNews = this.#unsaid === null;
    this.#unsaid = { running, code };
    try {
      const { audit, load } = running;
      const stage = nextStage(stateOfAudit(store, audit), load);
      if (stage !== null) store.audit(() => ({ audit, act: 'interrupted', load, stage, why: code, actor: BY_PROGRAM }));
      // All was tested; the way down is not an act of the audit.
      else this.#trouble = code;
      this.#unsaid = null;
      this.show(stateOfAudit(store, audit));
    } catch (cause) {
      // It is tried again at each look, and found by the next start.
      if (isNews) log.error({ station: this.#given.station, err: cause }, 'an interruption could not be kept');
    }
  }
}
