import { unreachable } from '../../station/assert.ts';
import type { Proof } from '../../station/cycle/proof.ts';
import type { ProfileRevision } from '../../station/profile/schema.ts';
import type { RigRevision } from '../../station/rig/revision.ts';
import type { DummyRun } from '../../station/soak/lags-fit.ts';
import { decisionsOf, stateOfAudit } from '../audit/audits.ts';
import { nextStage, openLoad, phaseOf } from '../audit/state.ts';
import type { AuditState } from '../audit/state.ts';
import { HttpProblem } from '../http/problem.ts';
import type { LiveView } from '../line/contract.ts';
import { DemoLoad } from '../line/demo-load.ts';
import { proofsFor, proveSimulated } from '../line/proofs.ts';
import type { RigSideGiven } from '../line/rig-given.ts';
import { RigSide } from '../line/rig-side.ts';
import type { Shifts } from '../line/shift.ts';
import { BY_PROGRAM, operatorOf } from '../line/actors.ts';
import type { StationSetup } from '../line/station-process.ts';
import type { LabCommand, LabReadiness, LabView } from './contract.ts';
import { endsOf } from './estimate.ts';
import { LabProofs } from './lab-proofs.ts';
import { LoadRun } from './load-run.ts';
import { auditInside, checkPlaces, mustBeDrawnFor } from './load.ts';

export interface LabGiven extends RigSideGiven {
  readonly settings: { readonly plant: string; readonly shifts: Shifts; readonly dewPointC: number };
  readonly profiles: readonly ProfileRevision[];
}

/**
 * A lab station: takes a load of an audit through every condition, one soak and one cycle a stage, by itself. What was
 * done is in the ledger; what was cut off waits there until a person says to go on, and its soak is then proved anew from
 * the worst case.
 */
export class LabStation {
  readonly station: string;
  readonly #setup: StationSetup;
  readonly #given: LabGiven;
  readonly #side: RigSide;
  readonly #proofs: LabProofs;
  readonly #run: LoadRun;
  readonly #listeners = new Set<(view: LabView) => void>();
  #told = '';
  #study: { readonly partNumber: string; readonly by: string } | null = null;

  /** Every cycle of an earlier life must have been closed as interrupted, and the index tables caught up. */
  constructor(setup: StationSetup, given: LabGiven) {
    this.station = setup.station;
    this.#setup = setup;
    this.#given = given;
    this.#proofs = new LabProofs(setup.station, given);
    this.#run = new LoadRun({
      ...given,
      station: setup.station,
      demo: new DemoLoad(
        given.store,
        given.profiles.map(({ content }) => content),
        setup.simulated.nests,
      ),
      side: () => this.#side,
    });
    const run = this.#run;
    const before = { phases: [], frames: [] };
    const telling =
      <Given extends readonly unknown[]>(hear: (...given: Given) => void) =>
      (...given: Given): void => {
        hear(...given);
        this.#tell();
      };
    this.#side = new RigSide(setup, given, before, {
      ready: telling((rig) => this.#ready(rig)),
      measured: telling(() => undefined),
      finished: telling((outcome) => run.finished(outcome)),
      notBegun: telling(() => run.interrupt(this.#side.trouble ?? 'interrupted')),
      changed: telling(() => run.goOn()),
      looked: telling((look) => run.looked(look)),
      soak: telling((event) => run.soaking(event)),
      soakEnded: telling((code) => run.soakEnded(code)),
      studied: telling((runs) => this.#studied(runs)),
    });
  }

  start(): void {
    this.#side.start();
  }

  end(): Promise<void> {
    return this.#side.end();
  }

  /** Tells the listener the view whenever it has changed; the answer ends it. */
  listen(listener: (view: LabView) => void): () => void {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  }

  #tell(): void {
    if (this.#listeners.size === 0) return;
    const view = this.view();
    const told = JSON.stringify(view);
    if (told === this.#told) return;
    this.#told = told;
    for (const listener of this.#listeners) listener(view);
  }

  /** Carries a command out. Throws the Refusals of the rig's side and HttpProblems (404, 409) that say why not. */
  command(command: LabCommand): void {
    try {
      this.#carryOut(command);
    } finally {
      this.#tell();
    }
  }

  #carryOut(command: LabCommand): void {
    switch (command.type) {
      case 'state-masters':
        this.#proofs.stateMasters(this.#profileOf(command.partNumber), command.by);
        return;
      case 'characterise':
        this.#characterise(this.#profileOf(command.partNumber));
        return;
      case 'study-soak':
        this.#studySoak(command);
        return;
      case 'begin':
        this.#begin(command);
        return;
      case 'stop':
        this.#run.isStopping = this.#run.isRunning || this.#run.isComingDown;
        // Also where nothing runs: a chamber may still be driven.
        if (this.#side.isIdle) this.#side.makeSafe();
        else this.#side.stop();
        return;
      case 'resume':
        this.#resume(command);
        return;
      case 'taken-out':
        this.#takenOut(command.by);
        return;
      default:
        unreachable(command);
    }
  }

  view(): LabView {
    const { link, rig, test, characterising, trouble, live } = this.#side;
    const run = this.#run;
    const { look, soak, way } = run;
    const isVented = ventedOf(live);
    return {
      station: this.station,
      plant: this.#given.settings.plant,
      origin: rig?.origin ?? 'simulated',
      nests: this.#setup.simulated.nests,
      link,
      doing: this.#doing(),
      load: run.load,
      soak,
      ends: way === null ? null : endsOf(way.road, way.standing, this.#setup.simulated, this.#given.clock.wallTime()),
      phase: test?.phase ?? null,
      isStopping: run.isStopping,
      chamberC: soak?.airC ?? look?.chamberC ?? null,
      roomC: look?.roomC ?? null,
      partC: look?.partC ?? [],
      isVented,
      door: run.door(isVented),
      guardShut: guardIn(soak, live),
      touch: run.touch,
      progress: characterising,
      trouble: trouble ?? run.trouble ?? this.#proofs.trouble,
      soakPace: (rig?.origin ?? 'simulated') === 'simulated' ? this.#setup.simulated.soakPace : null,
    };
  }

  /** What has to be shown before a part number is audited here. */
  readiness(partNumber: string): LabReadiness {
    return this.#proofs.readiness(this.#profileOf(partNumber), this.#side.rig);
  }

  #doing(): LabView['doing'] {
    if (this.#side.characterising !== null) return 'learning';
    if (this.#run.isComingDown) return 'coming-down';
    if (!this.#run.isRunning) return 'rest';
    return this.#side.test === null ? 'soaking' : 'testing';
  }

  #ready(rig: RigRevision): void {
    if (rig.origin === 'simulated') proveSimulated(this.#given.store, this.station);
    // A station that was started anew knows nothing of the load in it.
    this.#run.startedAnew();
    this.#findLoad();
  }

  /** The load that an earlier life left in the chamber: cut off, if it was not through. */
  #findLoad(): void {
    const { store } = this.#given;
    const open = auditInside(store, this.station);
    if (open === null) {
      this.#run.show(null);
      return;
    }
    const load = openLoad(open);
    const stage = load === null ? null : nextStage(open, load.load);
    if (load !== null && stage !== null && open.stopped === null && open.abandoned === null)
      store.audit(() => ({
        audit: open.audit,
        act: 'interrupted',
        load: load.load,
        stage,
        why: 'interrupted',
        actor: BY_PROGRAM,
      }));
    this.#run.show(stateOfAudit(store, open.audit));
  }

  #profileOf(partNumber: string): ProfileRevision {
    const profile = this.#given.profiles.find(({ content }) => content.partNumber === partNumber);
    if (profile === undefined)
      throw new HttpProblem(404, 'unknown-part-number', `There is no profile of ${partNumber} here.`, { partNumber });
    return profile;
  }

  /** The revision by which the sample was drawn, whatever the folder holds by now. */
  #profileAt(state: AuditState): ProfileRevision {
    const { store } = this.#given;
    const { profile, partNumber } = state.drawn.content;
    return {
      hash: profile,
      content: store.document('profile', profile),
      revision: store.profileRevisionOf(partNumber, profile) ?? 0,
    };
  }

  #characterise(profile: ProfileRevision): void {
    this.#mustBeEmpty();
    this.#given.store.issueProfile(profile, BY_PROGRAM);
    this.#side.jobs().characterise(profile, this.#side.mustKnowRig());
  }

  #studySoak({ partNumber, by }: Extract<LabCommand, { type: 'study-soak' }>): void {
    const profile = this.#profileOf(partNumber);
    this.#mustBeEmpty();
    const targets = profile.content.conditions.filter(({ id }) => id !== 'ambient').map(({ targetC }) => targetC);
    this.#side.jobs().studySoak(profile, targets);
    this.#study = { partNumber, by };
    this.#proofs.trouble = null;
  }

  #studied(runs: readonly DummyRun[]): void {
    const study = this.#study;
    this.#study = null;
    this.#run.forget();
    if (study === null) return;
    this.#proofs.keepStudy(study, runs);
    // Who takes the dummies out may touch them.
    this.#run.comeDown(this.#profileOf(study.partNumber));
  }

  #mustBeEmpty(): void {
    this.#side.mustBeIdle();
    const { load } = this.#run;
    if (load !== null)
      throw new HttpProblem(409, 'load-inside', `Load ${load.load} of lot ${load.lot} is in the chamber.`, {
        audit: load.audit,
        load: load.load,
        lot: load.lot,
      });
  }

  #begin({ audit, places, by }: Extract<LabCommand, { type: 'begin' }>): void {
    const { store } = this.#given;
    const state = stateOfAudit(store, audit);
    this.#mustBeEmpty();
    this.#side.mustBeShut();
    mustBeDrawnFor(state, this.station);
    const phase = phaseOf(state, decisionsOf(store, state).length > 0);
    if (phase !== 'loading' && phase !== 'finding')
      throw new HttpProblem(409, 'no-load-due', 'This audit takes no further load.', { phase });
    checkPlaces(state, places, this.#setup.simulated.nests);
    const proofs = this.#proved(state);
    // Nothing is kept of a load that cannot begin now.
    this.#side.jobs();
    const load = state.loads.length + 1;
    store.audit(() => ({ audit, act: 'load', load, places, actor: operatorOf(by) }));
    this.#run.begin({ audit, load, by, profile: this.#profileAt(state), proofs }, 'bench');
  }

  #resume({ audit, by }: Extract<LabCommand, { type: 'resume' }>): void {
    const { store } = this.#given;
    const state = stateOfAudit(store, audit);
    this.#side.mustBeIdle();
    this.#side.mustBeShut();
    mustBeDrawnFor(state, this.station);
    const load = openLoad(state);
    const stage = load === null ? null : nextStage(state, load.load);
    // All is tested and the way down was cut off, or nobody wants the rest of it any more: its parts have to come out.
    if (load !== null && (stage === null || state.abandoned !== null)) {
      this.#run.comeDown(this.#profileAt(state));
      return;
    }
    if (load === null || stage === null || state.stopped === null)
      throw new HttpProblem(409, 'nothing-to-resume', 'No load of this audit was cut off.', {});
    const proofs = this.#proved(state);
    this.#side.jobs();
    store.audit(() => ({ audit, act: 'resumed', load: load.load, stage, actor: operatorOf(by) }));
    this.#run.begin({ audit, load: load.load, by, profile: this.#profileAt(state), proofs }, 'anywhere');
  }

  /** What the station has shown for an audit. Throws the HttpProblems `proof-due` and `soak-study-due`. */
  #proved({ drawn }: AuditState): Proof[] {
    const { partNumber } = drawn.content;
    const readiness = this.readiness(partNumber);
    this.#proofs.require(partNumber, readiness);
    return proofsFor(readiness.proofs);
  }

  #takenOut(by: string): void {
    const { store } = this.#given;
    const { door, load, touch } = this.view();
    if (load === null) throw new HttpProblem(409, 'nothing-inside', 'No load is in the chamber.', {});
    if (door !== 'ready')
      throw new HttpProblem(409, 'door-not-ready', 'The load may not come out yet.', { door, ...touch });
    const state = stateOfAudit(store, load.audit);
    if (nextStage(state, load.load) !== null && state.abandoned === null)
      throw new HttpProblem(
        409,
        'load-unfinished',
        'This load is not through. Go on with it, or give the audit up.',
        {},
      );
    const { airC } = this.#run.temperatures();
    const { dewPointC } = this.#given.settings;
    store.audit(() => ({ audit: load.audit, act: 'opened', load: load.load, airC, dewPointC, actor: operatorOf(by) }));
    this.#run.takenOut();
  }
}

const ventedOf = (live: LiveView | null): boolean | null =>
  live === null || live.pressure.state === 'unknown' ? null : live.pressure.state === 'vented';

/** While a chamber is driven nobody looks, but the guard is shut: open, it takes the heat off and says so. */
function guardIn(soak: LabView['soak'], live: LiveView | null): boolean | null {
  if (soak === null) return live?.guardShut ?? null;
  if (soak.heldBy === null) return true;
  return soak.heldBy === 'guard-open' ? false : null;
}
