import type { Evaluation } from '../evaluation/contract.ts';
import type { Caveat, Comparable, ComparedCell } from './contract.ts';

/** Which of the two a caveat is about. */
const SIDES = ['here', 'there'] as const;

/** Everything by which the two are not alike, in the order of the contract. Pure. */
export function caveatsOf(here: Comparable, there: Comparable, cells: readonly ComparedCell[]): Caveat[] {
  const both = { here, there };
  const each = (codeOf: (one: Comparable, which: (typeof SIDES)[number]) => Caveat | null): Caveat[] =>
    SIDES.flatMap((which) => codeOf(both[which], which) ?? []);
  return [
    ...unlike('other-revision', both, ({ profile: { revision, hash } }) => [hash, { '': revision }]),
    ...unlike('other-limits', both, ({ profile: { errorKpa } }) => [errorKpa, { '': errorKpa }]),
    ...unlike('other-factors', both, ({ profile: { factors } }) => [factors, {}]),
    ...unlike('other-rule', both, ({ rule }) => [rule, { '': rule.kind, Factor: 'factor' in rule ? rule.factor : '' }]),
    ...unlike('other-rig', both, ({ station, rig: { hash, issue } }) => [hash, { '': station, Issue: issue }]),
    ...unlike('other-plan', both, ({ input: { plan } }) => [plan, { '': plan.kind }]),
    ...originCaveat(here, there),
    ...each((one, which) => unfinished(one.evaluation, which)),
    ...each(({ phase }, which) => (phase === 'abandoned' ? { code: 'abandoned', facts: { which } } : null)),
    ...each(({ evaluation: { normality } }, which) =>
      normality.isNormal === false ? { code: 'not-normal', facts: { which } } : null,
    ),
    ...sameParts(here, there),
    ...each((one, which) => {
      const alone = one.evaluation.cells.length - cells.length;
      return alone === 0 ? null : { code: 'only-one', facts: { which, cells: alone } };
    }),
  ];
}

/** What is told of each, where what tells them apart is not the same: facts under `here` and `there` with their endings. */
function unlike(
  code: Caveat['code'],
  { here, there }: Readonly<Record<(typeof SIDES)[number], Comparable>>,
  of: (one: Comparable) => [apart: unknown, told: Readonly<Record<string, string | number>>],
): Caveat[] {
  const [[own, ownTold], [other, otherTold]] = [of(here), of(there)];
  if (JSON.stringify(own) === JSON.stringify(other)) return [];
  const named = (side: string, told: Readonly<Record<string, string | number>>): [string, string | number][] =>
    Object.entries(told).map(([ending, fact]) => [`${side}${ending}`, fact]);
  return [{ code, facts: Object.fromEntries([...named('here', ownTold), ...named('there', otherTold)]) }];
}

function originCaveat(here: Comparable, there: Comparable): Caveat[] {
  if (here.origin === there.origin) return [];
  return [{ code: 'other-origin', facts: { which: here.origin === 'simulated' ? 'here' : 'there' } }];
}

function unfinished({ proposal }: Evaluation, which: string): Caveat | null {
  const because = proposal.because.find(({ code }) => code === 'unfinished');
  return because === undefined ? null : { code: 'unfinished', facts: { ...because.facts, which } };
}

function sameParts(here: Comparable, there: Comparable): Caveat[] {
  const own = new Set(here.input.readings.map(({ serial }) => serial));
  const parts = new Set(there.input.readings.flatMap(({ serial }) => (own.has(serial) ? [serial] : []))).size;
  return parts === 0 ? [] : [{ code: 'same-parts', facts: { parts } }];
}
