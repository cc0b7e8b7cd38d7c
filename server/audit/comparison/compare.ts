import { compareMeans, compareSpreads, smallestShown } from '../../quality/comparison/two-samples.ts';
import type { Sampled } from '../../quality/comparison/two-samples.ts';
import type { Interval } from '../../quality/gauge/mean-square-bounds.ts';
import { adjustFamily } from '../../quality/normality/test-family.ts';
import type { AuditPoint, Cell, Stage } from '../evaluation/contract.ts';
import { caveatsOf } from './caveats.ts';
import type {
  AuditComparison,
  Comparable,
  ComparedCell,
  ComparedSide,
  Difference,
  Tested,
  Unseen,
} from './contract.ts';

const ALPHA = 0.05;
/** How often a shift that is called seen would be found. Common practice, no source. */
const POWER = 0.9;

/**
 * Two audits of one part number, cell by cell of those that both have: a condition with the same target that is returned to
 * as often, and a pressure point at the same pressure. Means by Welch's t, spreads by F, both over cells whose parts are
 * others; every p is adjusted for the number of all of them (Holm), for the points of a part go together and the tests are
 * dependent. What is to be shown beyond chance in one cell has to be so at the level shared out over all (Bonferroni):
 * `shownFromKpa` is for that. Pure; errors are kPa.
 *
 * @throws QualityError when a mean or a spread is no finite number
 */
export function compareAudits(one: Comparable, other: Comparable): AuditComparison {
  const [here, there] = [atLinePoints(one), atLinePoints(other)];
  const pairs = pairsOf(here, there);
  const cells = cellsOf(pairs);
  const differences = differencesOf(cells);
  const shown = cells.flatMap(({ stage, step, shownFromKpa: kPa }) => (kPa === null ? [] : [{ stage, step, kPa }]));
  return {
    partNumber: here.partNumber,
    here: sideOf(here),
    there: sideOf(there),
    cells,
    standing: standingOf(cells, differences),
    differences,
    caveats: caveatsOf(here, there, cells),
    tests: cells.reduce((sum, { mean, spread }) => sum + (mean === null ? 0 : 1) + (spread === null ? 0 : 1), 0),
    unseen: unseenOf(shown),
  };
}

/** Without the points that only audits take again: a pressure that is read twice would weigh twice. */
function atLinePoints(one: Comparable): Comparable {
  const points = one.input.points.filter(({ again }) => again === null);
  const steps = new Set(points.map(({ step }) => step));
  const cells = one.evaluation.cells.filter(({ step }) => steps.has(step));
  return { ...one, input: { ...one.input, points }, evaluation: { ...one.evaluation, cells } };
}

function sideOf({ input, evaluation, profile, ...one }: Comparable): ComparedSide {
  const { audit, lot, station, origin, drawnAt, phase, decision } = one;
  return {
    ...{ audit, lot, station, origin, drawnAt, phase, decision },
    revision: profile.revision,
    plan: input.plan,
    parts: input.parts.length,
    stages: input.stages,
    points: input.points,
    cells: evaluation.cells,
  };
}

interface Pair {
  readonly here: Cell;
  readonly there: Cell;
}

/** The cells that mean the same in both, in the order of the first. */
function pairsOf(here: Comparable, there: Comparable): Pair[] {
  const others = new Map(there.evaluation.cells.map((cell) => [keyOf(there, cell), cell]));
  return here.evaluation.cells.flatMap((cell) => {
    const other = others.get(keyOf(here, cell));
    return other === undefined ? [] : [{ here: cell, there: other }];
  });
}

function keyOf({ input: { stages, points } }: Comparable, { stage, step }: Cell): string {
  const named: Stage | undefined = stages.find((each) => each.stage === stage);
  const time = stages.filter((each) => each.condition === named?.condition && each.stage <= stage).length;
  const point: AuditPoint | undefined = points.find((each) => each.step === step);
  return JSON.stringify([named?.condition, named?.targetC, time, step, point?.kPaAbs]);
}

const sampled = ({ n, meanKpa, sdKpa }: Cell): Sampled => ({ n, mean: meanKpa, sd: sdKpa });

function cellsOf(pairs: readonly Pair[]): ComparedCell[] {
  if (pairs.length === 0) return [];
  const tests = pairs.map(({ here, there }) => ({
    mean: compareMeans(sampled(here), sampled(there)),
    spread: compareSpreads(sampled(here), sampled(there)),
  }));
  const ps = tests.flatMap(({ mean, spread }) => [mean?.p ?? null, spread?.p ?? null]);
  const { holm, tests: made } = adjustFamily(ps);
  return pairs.map(({ here, there }, index) => {
    const { mean, spread } = tests[index] ?? { mean: null, spread: null };
    return {
      ...{ stage: here.stage, otherStage: there.stage, step: here.step, here, there },
      differenceKpa: here.meanKpa - there.meanKpa,
      mean: mean === null ? null : testedOf(mean.difference, mean, holm[2 * index]),
      spread: spread === null ? null : testedOf(spread.ratio, spread, holm[2 * index + 1]),
      shownFromKpa: mean === null ? null : smallestShown(sampled(here), sampled(there), ALPHA / made, POWER),
    };
  });
}

function testedOf(
  value: number,
  { bounds, p }: { readonly bounds: Interval; readonly p: number },
  holm: number | null | undefined,
): Tested {
  const adjusted = holm ?? p;
  return { value, low: bounds.lower, high: bounds.upper, p, adjusted, isBeyondChance: adjusted < ALPHA };
}

function standingOf(cells: readonly ComparedCell[], differences: readonly Difference[]): AuditComparison['standing'] {
  if (cells.length === 0) return 'nothing-common';
  if (differences.length > 0) return 'differs';
  return cells.some(({ mean, spread }) => mean !== null || spread !== null) ? 'alike' : 'untested';
}

/** A cell in which something differs, and by how much for the order. */
interface Differing {
  readonly cell: ComparedCell;
  readonly tested: Tested;
  readonly size: number;
}

/** The differing cells of each stage and direction as one: the largest stands for all. */
function differencesOf(cells: readonly ComparedCell[]): Difference[] {
  const means = differing(cells, 'mean', ({ value }, { here }) => Math.abs(value) / here.allowedKpa);
  const spreads = differing(cells, 'spread', ({ value }) => Math.abs(Math.log(value)));
  return [
    ...grouped(cells, means, ({ value }) => (value < 0 ? 'mean-lower' : 'mean-higher')),
    ...grouped(cells, spreads, ({ value }) => (value > 1 ? 'spread-wider' : 'spread-narrower')),
  ];
}

/** The cells in which it differs, the largest first. */
function differing(
  cells: readonly ComparedCell[],
  what: 'mean' | 'spread',
  sizeOf: (tested: Tested, cell: ComparedCell) => number,
): Differing[] {
  return cells
    .flatMap((cell) => {
      const tested = cell[what];
      return tested?.isBeyondChance === true ? [{ cell, tested, size: sizeOf(tested, cell) }] : [];
    })
    .sort((a, b) => b.size - a.size);
}

function grouped(
  cells: readonly ComparedCell[],
  sorted: readonly Differing[],
  codeOf: (tested: Tested) => Difference['code'],
): Difference[] {
  const groups = new Map<string, Differing[]>();
  for (const each of sorted) {
    const key = `${each.cell.stage} ${codeOf(each.tested)}`;
    groups.set(key, [...(groups.get(key) ?? []), each]);
  }
  return [...groups.values()].flatMap((group) => {
    const [largest] = group;
    if (largest === undefined) return [];
    const { cell, tested } = largest;
    const { stage, step } = cell;
    const of = cells.filter((each) => each.stage === stage).length;
    const { value, low, high } = tested;
    return [{ code: codeOf(tested), facts: { stage, step, value, low, high, points: group.length, of } }];
  });
}

function unseenOf(shown: readonly Unseen[]): AuditComparison['unseen'] {
  const [first, ...others] = shown;
  if (first === undefined) return null;
  return {
    best: others.reduce((least, each) => (each.kPa < least.kPa ? each : least), first),
    worst: others.reduce((most, each) => (each.kPa > most.kPa ? each : most), first),
  };
}
