import { variablesDecision } from '../../quality/sampling/variables-plan.ts';
import type { Place } from './cells.ts';
import type { AuditPart, Cell, EvaluationInput, Proposal, SamplingPlan } from './contract.ts';

type Reason = Proposal['because'][number];

/** What a reason speaks for; the decision is that of the reason that weighs most. */
type Weighed = Reason & { readonly for: 'reject' | 'hold' | 'accept' };

const WEIGHTS = ['reject', 'hold', 'accept'] as const;

/** Parts that failed in any stage. */
export const badOf = (parts: readonly AuditPart[]): number => withVerdict(parts, 'fail');

/** Parts that were tested without a verdict in any stage. */
export const notJudgedOf = (parts: readonly AuditPart[]): number => withVerdict(parts, 'none');

const withVerdict = (parts: readonly AuditPart[], verdict: 'fail' | 'none'): number =>
  parts.filter(({ results }) => results.some((result) => result?.verdict === verdict)).length;

/**
 * What the plan's rule comes to: reject when the plan refuses the lot; hold when a capability is below the wanted one or not
 * to be had, or a part has no verdict or is not to be found; accept otherwise. No decision before every part that was found is tested
 * everywhere. Reasons that decide come first.
 */
export function proposalOf(
  input: EvaluationInput,
  places: readonly Place[],
  { cells, weakest }: { readonly cells: readonly Cell[]; readonly weakest: Cell | null },
): Proposal {
  const { stages, parts, missing } = input;
  const isTested = ({ results }: AuditPart): boolean =>
    stages.length > 0 && stages.every((_, index) => (results[index] ?? null) !== null);
  const tested = parts.filter(isTested).length;
  if (tested < parts.length || parts.length + missing.length === 0)
    return { decision: null, because: [{ code: 'unfinished', facts: { parts: tested, of: parts.length } }] };
  const reasons = [...planReasons(input, places), ...ppkReasons(input, cells, weakest), ...unsettled(input, places)];
  const because = WEIGHTS.flatMap((weight) => reasons.filter((reason) => reason.for === weight));
  return { decision: because[0]?.for ?? 'accept', because: because.map(({ code, facts }) => ({ code, facts })) };
}

/** How many bad parts of a sample a plan lets pass. */
export const allowedBy = (plan: SamplingPlan): number => (plan.kind === 'attributes' ? plan.c : 0);

/** A plan that allows a number of bad parts says so; a process audit, which judges no lot, says what it saw. */
const COUNTED = { refused: 'too-many-bad', fine: 'few-enough-bad' } as const;
const SEEN = { refused: 'bad-seen', fine: 'none-bad-seen' } as const;

function planReasons({ plan, parts }: EvaluationInput, places: readonly Place[]): Weighed[] {
  const bad = badOf(parts);
  const allowed = allowedBy(plan);
  const facts = { bad, allowed, n: parts.length };
  // A plan by variables refuses by its index alone, and a process audit refuses no lot; but none with a bad part in its
  // sample goes out unseen.
  const refusal = plan.kind === 'variables' || plan.kind === 'fixed' ? 'hold' : 'reject';
  const isRefused = bad > allowed;
  const codes = plan.kind === 'fixed' ? SEEN : COUNTED;
  const counted: Weighed = isRefused
    ? { code: codes.refused, for: refusal, facts }
    : { code: codes.fine, for: 'accept', facts };
  const reasons = parts.length === 0 ? [] : [counted];
  return plan.kind === 'variables' ? [...indexReasons(indicesOf(places, plan.k), plan.k), ...reasons] : reasons;
}

interface Index {
  readonly stage: number;
  readonly step: string;
  readonly n: number;
  /** The smaller of both limits' quality indices; null where equal readings, or a single one, give none. */
  readonly quality: number | null;
  readonly accept: boolean | null;
}

/** MIL-STD-414 Form 1, each limit on its own (separate control), at every point of every stage; see `variablesDecision`. */
const indicesOf = (places: readonly Place[], k: number): Index[] =>
  places.map(({ stage, step, shares }) => {
    const { n, qLower, qUpper, accept } = variablesDecision(shares, -1, 1, k);
    return { stage, step, n, quality: qLower === null || qUpper === null ? null : Math.min(qLower, qUpper), accept };
  });

/** The smallest index against k; it is reached only when every place has one. */
function indexReasons(indices: readonly Index[], k: number): Weighed[] {
  const known = indices.flatMap(({ stage, step, quality, accept }) =>
    quality === null ? [] : [{ stage, step, quality, accept }],
  );
  const [first, ...others] = known;
  if (first === undefined) return [];
  const { accept, ...least } = others.reduce((low, each) => (each.quality < low.quality ? each : low), first);
  if (accept === false) return [{ code: 'k-below', for: 'reject', facts: { ...least, k } }];
  return known.length < indices.length ? [] : [{ code: 'k-reached', for: 'accept', facts: { ...least, k } }];
}

/**
 * The smallest Ppk against the wanted one. It is reached only when every cell has one: equal readings are rather a coarse or
 * dead instrument than a capable process, and hold the lot. A sample of one part has none anywhere, and is judged by count.
 */
function ppkReasons({ wantedPpk }: EvaluationInput, cells: readonly Cell[], weakest: Cell | null): Weighed[] {
  const without = cells.every(({ n }) => n === 1) ? [] : cells.filter(({ ppk }) => ppk === null);
  const [first] = without;
  const none: Weighed[] =
    first === undefined
      ? []
      : [{ code: 'no-ppk', for: 'hold', facts: { stage: first.stage, step: first.step, cells: without.length } }];
  if (weakest === null || weakest.ppk === null) return none;
  const { stage, step, ppk } = weakest;
  const facts = { stage, step, ppk, wanted: wantedPpk };
  if (ppk < wantedPpk) return [{ code: 'ppk-below', for: 'hold', facts }, ...none];
  return first === undefined ? [{ code: 'ppk-reached', for: 'accept', facts }] : none;
}

function unsettled({ parts, missing, plan }: EvaluationInput, places: readonly Place[]): Weighed[] {
  const undecided = plan.kind === 'variables' ? partsWithoutIndex(parts, indicesOf(places, plan.k)) : 0;
  const notJudged = Math.max(notJudgedOf(parts), undecided);
  return [
    ...(notJudged > 0 ? [{ code: 'not-judged', for: 'hold', facts: { parts: notJudged } } as const] : []),
    ...(missing.length > 0 ? [{ code: 'missing', for: 'hold', facts: { parts: missing.length } } as const] : []),
  ];
}

/** Parts that a plan by variables cannot judge by, at the place where they are most. */
const partsWithoutIndex = (parts: readonly AuditPart[], indices: readonly Index[]): number =>
  indices.length === 0 ? parts.length : Math.max(...indices.map(({ n, quality }) => (quality === null ? n : 0)));
