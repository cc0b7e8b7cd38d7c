import { CAPABLE, DemoError } from '../../station/host/demo.ts';
import type { Demo, Draw, Suffering, TimedFault } from '../../station/host/demo.ts';
import { isPartFault, isRigFault, partChoices, rigChoices } from '../../station/host/demo-choices.ts';
import { hashOf } from '../../station/hash.ts';
import { phasesOf } from '../../station/profile/plan.ts';
import type { PhaseId, Plan } from '../../station/profile/plan.ts';
import type { ProfileContent } from '../../station/profile/schema.ts';
import type { DemoChoices, DemoView, LineCommand } from './contract.ts';
import type { Store } from '../store/store.ts';
import { Refusal } from './line.ts';
import { BY_PROGRAM } from './actors.ts';

type DemoCommand = Extract<LineCommand, { type: 'demo' }>;
type DemoFault = NonNullable<DemoCommand['fault']>;

/** The journal's word for what a simulated part was made to suffer from; its subject is the serial. */
const MADE_TO_SUFFER = 'demo-part';

/**
 * What the next load suffers from, and what every part suffered from before: a part that leaks goes on leaking, also
 * after a restart. What a simulated part was given is kept beside its cycles.
 */
export class DemoLoad {
  readonly #store: Store;
  readonly #plant: readonly ProfileContent[];
  readonly #nests: number;
  #parts: DemoCommand['parts'] = [];
  #fault: DemoCommand['fault'] = null;
  readonly #bySerial = new Map<string, readonly Suffering[]>();

  constructor(store: Store, plant: readonly ProfileContent[], nests: number) {
    this.#store = store;
    this.#plant = plant;
    this.#nests = nests;
  }

  /** Takes a choice for the next load. Throws the Refusal `cannot-simulate`, naming what cannot be. */
  choose({ parts, fault }: DemoCommand, plan: Plan | null): void {
    for (const part of parts) this.#checkPart(part);
    if (fault !== null) this.#checkFault(fault, plan);
    this.#parts = parts;
    this.#fault = fault?.phase === null ? null : fault;
  }

  view(nextSerial: string | null): DemoView {
    return { parts: this.#parts, fault: this.#fault, nextSerial };
  }

  /** What a simulated rig is loaded with for these serials; the choice is used up. `seed` is that of the noise. */
  next(plan: Plan, load: readonly (string | null)[], seed: number): Demo {
    const parts = load.flatMap((serial, nest) => {
      if (serial === null) return [{ nest, what: 'empty' as const, size: 0, partNumber: null }];
      const chosen = this.#parts.filter((part) => part.nest === nest + 1).map((part) => sufferingOf(part));
      // A part that was left out of its nest is not so for good.
      const now = chosen.filter(({ what }) => what === 'no-part');
      const lasting = chosen.filter(({ what }) => what !== 'no-part');
      if (lasting.length > 0) this.#give(serial, lasting, seed);
      return [...now, ...this.#sufferingOf(serial)].map((each) => ({ ...each, nest }));
    });
    const phase = this.#fault === null ? undefined : phasesOf(plan).find((each) => each === this.#fault?.phase);
    const faults = this.#fault === null || phase === undefined ? [] : [timed(this.#fault, phase)];
    this.#parts = [];
    this.#fault = null;
    return {
      seed,
      draws: load.map(drawOf),
      content: plan.profile.content,
      plant: this.#plant,
      parts,
      faults,
      spread: CAPABLE,
    };
  }

  /** What happens to the rig at once: a fault, or everything mended. */
  now(content: ProfileContent, fault: DemoFault | null): Demo {
    const faults = fault === null ? [] : [timed(fault, 'ready')];
    return { seed: 0, draws: [], content, plant: this.#plant, parts: [], faults };
  }

  #give(serial: string, chosen: readonly Suffering[], seed: number): void {
    this.#bySerial.set(serial, chosen);
    for (const { what, size, partNumber } of chosen) {
      const facts = { what, size, load: seed, ...(partNumber === null ? {} : { partNumber }) };
      this.#store.journal({ action: MADE_TO_SUFFER, subject: serial, facts, comment: null, actor: BY_PROGRAM });
    }
  }

  /** What a serial was last given; of an earlier life of the server the ledger knows it. */
  #sufferingOf(serial: string): readonly Suffering[] {
    const known = this.#bySerial.get(serial);
    if (known !== undefined) return known;
    const kept = this.#store
      .journalOf(serial)
      .flatMap(({ content }) => (content.action === MADE_TO_SUFFER ? [content.facts] : []));
    const last = kept.filter(({ load }) => load === kept[0]?.['load']);
    return last.map(({ what, size, partNumber }) =>
      sufferingOf({
        nest: 1,
        what: String(what),
        size: Number(size),
        partNumber: typeof partNumber === 'string' ? partNumber : null,
      }),
    );
  }

  #checkPart({ nest, what, size, partNumber }: DemoCommand['parts'][number]): void {
    this.#checkNest(nest);
    const choice = partChoices.find((each) => each.what === what);
    if (choice === undefined) throw new Refusal('cannot-simulate', { what });
    checkSize(choice, size);
    if (what === 'other-class' && !this.#plant.some((each) => each.partNumber === partNumber))
      throw new Refusal('cannot-simulate', { what, partNumber: partNumber ?? '' });
  }

  #checkFault({ what, size, nest, phase }: DemoFault, plan: Plan | null): void {
    const choice = rigChoices.find((each) => each.what === what);
    if (choice === undefined) throw new Refusal('cannot-simulate', { what });
    checkSize(choice, size);
    if (nest !== null) this.#checkNest(nest);
    if (nest !== null && !choice.strikesNest) throw new Refusal('cannot-simulate', { what, nest });
    if (phase !== null && !phasesToStrike(plan).some((each) => each === phase))
      throw new Refusal('cannot-simulate', { what, phase });
  }

  #checkNest(nest: number): void {
    if (nest > this.#nests) throw new Refusal('no-such-nest', { nest, nests: this.#nests });
  }
}

/** What can be simulated on a station for this plan's phases. */
export function demoChoices(plant: readonly ProfileContent[], plan: Plan | null): DemoChoices {
  return {
    parts: partChoices,
    faults: rigChoices,
    partNumbers: plant.map(({ partNumber }) => partNumber),
    phases: phasesToStrike(plan),
  };
}

const phasesToStrike = (plan: Plan | null): readonly PhaseId[] =>
  plan === null ? [] : phasesOf(plan).filter((phase) => phase !== 'release');

/** The same serial is the same part, whenever it is tested. */
function drawOf(serial: string | null): Draw {
  return { seed: Number.parseInt(hashOf(serial ?? '').slice(0, 8), 16), index: 0 };
}

function checkSize(choice: { what: string; unit: string | null; from: number; to: number }, size: number): void {
  const { what, unit, from, to } = choice;
  if (unit !== null && (size < from || size > to)) throw new Refusal('cannot-simulate', { what, size, from, to, unit });
}

function sufferingOf({ nest, what, size, partNumber }: DemoCommand['parts'][number]): Suffering {
  if (!isPartFault(what)) throw new DemoError(`a part cannot suffer from ${what}`);
  return { nest: nest - 1, what, size, partNumber };
}

function timed({ what, size, nest }: DemoFault, phase: PhaseId): TimedFault {
  if (!isRigFault(what)) throw new DemoError(`the rig cannot suffer from ${what}`);
  return { phase, afterMs: 0, fault: { where: nest === null ? {} : { nest: nest - 1 }, what, size } };
}
