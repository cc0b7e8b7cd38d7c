import { FAULTS } from '../../station/faults.ts';
import type { FaultCode } from '../../station/faults.ts';
import type { Key, LineView, NestView, OutcomeView, Prompt, ProofView } from './contract.ts';

/** What is known when the screen has to say what to do now. */
export interface Situation {
  readonly link: LineView['link'];
  readonly isTesting: boolean;
  readonly isStopping: boolean;
  /** Holds that are done of a characterisation; null when none runs. */
  readonly characterising: { readonly done: number; readonly of: number } | null;
  /** What kept the station from the last thing it was asked, where no record says it. */
  readonly trouble: FaultCode | null;
  readonly outcome: OutcomeView | null;
  /** Parts of the outcome that were not judged, and nobody said yet what becomes of them. */
  readonly isUnsettled: boolean;
  /** Whether the same parts can be tested again as they stand. */
  readonly canRepeat: boolean;
  readonly work: {
    readonly isSerialised: boolean;
    readonly isCharacterised: boolean;
    /** Its lot takes parts. */
    readonly isLotOpen: boolean;
  } | null;
  readonly proofs: readonly ProofView[];
  readonly nests: readonly NestView[];
  readonly guardShut: boolean | null;
}

const act = (code: Prompt['code'], facts: Prompt['facts'], key: Key | null, quiet: Key | null = null): Prompt => ({
  code,
  facts,
  tone: 'act',
  key,
  quiet,
});

const wait = (code: Prompt['code'], facts: Prompt['facts'] = {}, key: Key | null = null): Prompt => ({
  code,
  facts,
  tone: 'wait',
  key,
  quiet: null,
});

const START: Key = { command: { type: 'start' }, code: 'start' };
const REPEAT: Key = { command: { type: 'repeat' }, code: 'repeat' };

const isFault = (code: string): code is FaultCode => Object.hasOwn(FAULTS, code);

/** The one thing to do now, in the order in which things come first. Pure. */
export function promptOf(now: Situation): Prompt {
  if (now.link === 'starting') return wait('station-starting');
  if (now.link === 'lost') return wait('station-lost');
  if (now.isStopping) return wait('stopping');
  if (now.isTesting) return wait('testing', {}, { command: { type: 'stop' }, code: 'stop' });
  if (now.characterising !== null)
    return wait('characterising', now.characterising, { command: { type: 'stop' }, code: 'stop' });
  return (now.outcome === null ? null : aboutOutcome(now.outcome, now)) ?? aboutNextLoad(now);
}

/** What the last cycle still asks for; null when it asks for nothing. */
function aboutOutcome(outcome: OutcomeView, now: Situation): Prompt | null {
  const { cycle, nests, faults } = outcome;
  const read: Key = { command: { type: 'acknowledge', cycle, nest: null }, code: 'read' };
  if (outcome.isPerhapsUnseen) return act('read-verdicts', { cycle }, read);
  const reject = nests.find(({ isWaiting }) => isWaiting);
  if (reject !== undefined) {
    const { nest, serial } = reject;
    return act(
      'reject',
      { nest, serial, cycle },
      { command: { type: 'acknowledge', cycle, nest }, code: 'in-the-bin' },
    );
  }
  if (!now.isUnsettled) return null;
  const unjudged = nests.filter(({ verdict }) => verdict === 'none');
  const code = faults[0]?.code ?? unjudged[0]?.why[0]?.code ?? 'interrupted';
  const facts = { nests: unjudged.map(({ nest }) => nest).join(', '), code };
  const prompt = isFault(code) ? 'fault' : 'not-judged';
  if (!now.canRepeat) return act(prompt, facts, read);
  // While the guard is open the way on is to close it.
  if (now.guardShut === false) return act('close-guard', facts, null, read);
  return act(prompt, facts, REPEAT, read);
}

/** The way to the next load: work, proofs, parts, guard, start. */
function aboutNextLoad({ work, proofs, nests, guardShut, trouble }: Situation): Prompt {
  if (work === null) return act('choose-work', {}, null);
  if (!work.isLotOpen) return act('lot-over', {}, null);
  const characterise: Key = { command: { type: 'characterise' }, code: 'characterise' };
  if (!work.isCharacterised) {
    if (trouble !== null) return act('fault', { code: trouble, nests: '' }, characterise);
    return act('characterise', {}, characterise);
  }
  const due = proofs.find(({ state }) => state !== 'valid');
  if (due?.proof === 'master-check')
    return act('masters-due', { state: due.state }, { command: { type: 'state-masters' }, code: 'masters-right' });
  if (due !== undefined) return act('proof-due', { proof: due.proof, state: due.state }, null);
  return aboutParts(work.isSerialised, nests, guardShut, trouble);
}

function aboutParts(
  isSerialised: boolean,
  nests: readonly NestView[],
  guardShut: boolean | null,
  trouble: FaultCode | null,
): Prompt {
  const locked = nests.find(({ lock }) => lock !== null);
  if (nests.every(({ state }) => state === 'locked') && locked?.lock) {
    const { reason, times } = locked.lock;
    return act('nest-locked', { nest: locked.nest, reason, times }, null);
  }
  const open = nests.filter(({ state }) => state === 'open');
  const loaded = nests.filter(({ state }) => state === 'loaded');
  const fed = nests.find(({ isFed }) => isFed);
  const leave = (nest: number): Key => ({ command: { type: 'leave-empty', nest }, code: 'leave-empty' });
  if (isSerialised && fed !== undefined) {
    const canLeave = loaded.length > 0 || open.length > 1;
    return act('scan', { nest: fed.nest }, null, canLeave ? leave(fed.nest) : null);
  }
  if (guardShut === false) return act('close-guard', {}, null);
  // The last start was refused before anything moved; the parts are still where they were.
  if (trouble !== null) return act('fault', { code: trouble, nests: '' }, START);
  if (isSerialised) return act('start', { parts: loaded.length }, START);
  const last = open.at(-1);
  return act('load', { parts: open.length }, START, open.length > 1 && last !== undefined ? leave(last.nest) : null);
}
