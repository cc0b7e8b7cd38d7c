import { unreachable } from '../../station/assert.ts';
import type { FaultCode } from '../../station/faults.ts';
import type { Demo } from '../../station/host/demo.ts';
import type { Command, Message } from '../../station/host/message.ts';
import type { ProfileRevision } from '../../station/profile/schema.ts';
import type { RigRevision } from '../../station/rig/revision.ts';
import type { Soaking } from '../../station/soak/soak.ts';
import type { KeptRig } from './kept-rig.ts';
import type { LineLog, RigListener } from './rig-given.ts';

type JobMessage = Extract<Message, { type: 'progress' | 'characterised' | 'soak' | 'soak-studied' }>;

interface JobsGiven {
  readonly log: LineLog;
  readonly rig: KeptRig;
  readonly listener: RigListener;
  readonly send: (command: Command<Demo>) => void;
  /** Why the last thing that was asked for was not done; null when one is asked for. */
  readonly trouble: (code: FaultCode | null) => void;
}

/** What a station does beside cycles, one at a time: it learns what its nests do, drives its chamber, studies its soak. */
export class StationJobs {
  readonly #station: string;
  readonly #given: JobsGiven;
  #learning: { readonly done: number; readonly of: number } | null = null;
  #isSoaking = false;

  constructor(station: string, given: JobsGiven) {
    this.#station = station;
    this.#given = given;
  }

  /** How far what the station learns is; null when it learns nothing. */
  get learning(): { readonly done: number; readonly of: number } | null {
    return this.#learning;
  }

  get isBusy(): boolean {
    return this.#learning !== null || this.#isSoaking;
  }

  characterise(profile: ProfileRevision, revision: RigRevision): void {
    this.#learn({ type: 'characterise', profile, revision });
  }

  studySoak(profile: ProfileRevision, targetsC: readonly number[]): void {
    this.#learn({ type: 'study-soak', profile, targetsC });
  }

  soak(soaking: Soaking, demo: Demo | null): void {
    this.#isSoaking = true;
    this.#given.trouble(null);
    this.#given.send({ type: 'soak', soaking, demo });
  }

  #learn(command: Command<Demo>): void {
    this.#learning = { done: 0, of: 0 };
    this.#given.trouble(null);
    this.#given.send(command);
  }

  hear(message: JobMessage): void {
    const { listener } = this.#given;
    switch (message.type) {
      case 'progress':
        this.#learning = { done: message.done, of: message.of };
        break;
      case 'characterised':
        this.#learning = null;
        this.#take(message.revision);
        break;
      case 'soak':
        if (message.event.type === 'soaked') this.#isSoaking = false;
        listener.soak?.(message.event);
        return;
      case 'soak-studied':
        this.#learning = null;
        listener.studied?.(message.runs);
        break;
      default:
        unreachable(message);
    }
    listener.changed();
  }

  /** The station did not do it, or stopped. */
  refused(command: Command<Demo>['type'], code: FaultCode): void {
    if (command === 'soak') {
      this.#isSoaking = false;
      this.#given.listener.soakEnded?.(code);
    }
    if (command === 'characterise' || command === 'study-soak') {
      this.#learning = null;
      this.#given.trouble(code);
    }
  }

  /** The station is gone. */
  lose(): void {
    this.#learning = null;
    if (this.#isSoaking) this.#given.listener.soakEnded?.('interrupted');
    this.#isSoaking = false;
  }

  #take(revision: RigRevision): void {
    if (this.#given.rig.learn(revision))
      this.#given.log.info({ station: this.#station, rigIssue: revision.issue }, 'station characterised');
    else this.#given.trouble('not-kept');
  }
}
