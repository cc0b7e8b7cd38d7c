import type { RigRevision } from '../../station/rig/revision.ts';
import { StoreError } from '../store/errors.ts';
import type { Store } from '../store/store.ts';
import { issueOf } from './rig-issue.ts';
import { BY_PROGRAM } from './actors.ts';

/**
 * What a station's rig is, as the ledger has it: nobody works by facts that are not kept. Every method answers whether
 * they could be kept, and has said so where not.
 */
export class KeptRig {
  readonly #setup: string;
  readonly #store: Store;
  readonly #tell: (revision: RigRevision) => void;
  readonly #failed: (cause: StoreError) => void;
  #revision: RigRevision | null = null;
  /** What the station said of itself and could not be kept yet. */
  #unkept: RigRevision | null = null;

  /**
   * `setup` names what makes another rig of it; `told` is told of what is kept, and may keep more; `failed` of what
   * could not be.
   */
  constructor(
    setup: string,
    store: Store,
    told: { readonly ready: (revision: RigRevision) => void; readonly failed: (cause: StoreError) => void },
  ) {
    this.#setup = setup;
    this.#store = store;
    this.#tell = told.ready;
    this.#failed = told.failed;
  }

  get revision(): RigRevision | null {
    return this.#revision;
  }

  /** A station that is awake says what it is. */
  wake(spoken: RigRevision): boolean {
    const isNews = this.#unkept === null;
    this.#unkept = spoken;
    const isKept = this.#keep(() => issueOf(spoken, this.#revision, this.#setup, this.#store, BY_PROGRAM), isNews);
    if (isKept) this.#unkept = null;
    return isKept;
  }

  /** Tries again what could not be kept; answers false as well when there is nothing of the kind. */
  retry(): boolean {
    return this.#unkept !== null && this.wake(this.#unkept);
  }

  /** The station that spoke is gone. */
  forgetUnkept(): void {
    this.#unkept = null;
  }

  /** A station has learnt something about itself. */
  learn(revision: RigRevision): boolean {
    return this.#keep(() => {
      this.#store.issueRigRevision(revision, BY_PROGRAM);
      return revision;
    }, true);
  }

  #keep(issue: () => RigRevision, isNews: boolean): boolean {
    try {
      const issued = issue();
      this.#tell(issued);
      this.#revision = issued;
      return true;
    } catch (cause) {
      if (!(cause instanceof StoreError)) throw cause;
      if (isNews) this.#failed(cause);
      return false;
    }
  }
}
