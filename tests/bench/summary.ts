import { mergeSummaries, mergedSummary } from '../../server/quality/description/merged-summary.ts';
import { normality } from '../../server/quality/normality/normality.ts';
import { quantiles } from '../../server/quality/description/quantile.ts';
import { summary } from '../../server/quality/description/summary.ts';
import { median } from './timing.ts';

const MANY = 10_000_000;
const SOME = 1_000_000;
/** The most that the test of Shapiro and Wilk takes. */
const SAMPLE = 5000;
const ROUNDS = 11;
const BINS = { low: 90, high: 110, count: 200 };

/** What the compiler keeps alive. */
let sink = 0;

/**
 * What the statistics of many values cost against the least that they can: the summary that can be merged against one bare
 * pass with a shift, quantiles and normality against a bare sort of the same values. CPU, medians, in turn in one run.
 */
export function summaryBench(): void {
  console.log([...mergedLines(), quantileLine(), ...sampleLines()].join('\n'));
}

function mergedLines(): string[] {
  const values = bellCurve(MANY);
  // Values beyond the bins take the longer road.
  const outside = { low: 99, high: 101, count: 200 };
  const parts = [mergedSummary(values.subarray(0, MANY / 2), BINS), mergedSummary(values.subarray(MANY / 2), BINS)];
  const [first, second] = parts;
  if (first === undefined || second === undefined) throw new Error('two parts are made');
  const costs = inTurn({
    bare: () => bareBlocks(values),
    merged: () => mergedSummary(values, BINS).mean,
    outside: () => mergedSummary(values, outside).mean,
    merges: () => repeated(1000, () => mergeSummaries(first, second).mean),
  });
  return [
    `summary: ${MANY} values, medians of CPU (wanted 2 or less over the bare loop)`,
    line('bare loop: shifted sums, minimum, maximum', costs.bare, costs.bare),
    line('merged summary with 200 bins', costs.merged, costs.bare),
    line('  the same, half of the values beyond the bins', costs.outside, costs.bare),
    `  ${'one merge of two summaries'.padEnd(50)} ${costs.merges.toFixed(2)} µs`,
  ];
}

function quantileLine(): string {
  const values = bellCurve(SOME);
  const costs = inTurn({
    sort: () => values.slice().sort()[0] ?? 0,
    quantiles: () => quantiles(values, [0.05, 0.5, 0.95])[0] ?? 0,
  });
  return line(`three quantiles of ${SOME} values, over a bare sort`, costs.quantiles, costs.sort);
}

function sampleLines(): string[] {
  const values = bellCurve(SAMPLE);
  const times = 40;
  const costs = inTurn({
    sort: () => repeated(times, () => values.slice().sort()[0] ?? 0),
    normality: () => repeated(times, () => normality(values).n),
    summary: () => repeated(times, () => summary(values).n),
  });
  return [
    line(`normality of ${SAMPLE} values, over a bare sort`, costs.normality / times, costs.sort / times),
    line(`summary of ${SAMPLE} values, over a bare sort`, costs.summary / times, costs.sort / times),
  ];
}

/** By blocks: code that is exchanged in the middle of one long pass can stay twice as slow for the whole run. */
function bareBlocks(values: Float64Array): number {
  const shift = values[0] as number;
  let sum = 0;
  for (let from = 0; from < values.length; from += 4096) {
    sum += bareLoop(values, from, Math.min(values.length, from + 4096), shift);
  }
  return sum;
}

function bareLoop(values: Float64Array, from: number, to: number, shift: number): number {
  let sum = 0;
  let squares = 0;
  let minimum = values[from] as number;
  let maximum = minimum;
  for (let i = from; i < to; i += 1) {
    const value = values[i] as number;
    const d = value - shift;
    sum += d;
    squares += d * d;
    if (value < minimum) minimum = value;
    if (value > maximum) maximum = value;
  }
  return sum + squares + minimum + maximum;
}

/** Near enough to a bell curve about 100: the sum of four even draws, standard deviation about 1. */
function bellCurve(n: number): Float64Array {
  let state = 1;
  const draw = (): number => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2 ** 32;
  };
  return Float64Array.from({ length: n }, () => 100 + 1.7 * (draw() + draw() + draw() + draw() - 2));
}

function repeated(times: number, work: () => number): number {
  let sum = 0;
  for (let i = 0; i < times; i += 1) sum += work();
  return sum;
}

/** Milliseconds of CPU of each work, the median of rounds in which each has its turn; the first rounds only warm. */
function inTurn<Name extends string>(works: Readonly<Record<Name, () => number>>): Record<Name, number> {
  const names = Object.keys(works) as Name[];
  const costs = Object.fromEntries(names.map((name) => [name, [] as number[]])) as Record<Name, number[]>;
  for (let round = -3; round < ROUNDS; round += 1) {
    for (const name of names) {
      const from = process.cpuUsage();
      sink += works[name]();
      const { user, system } = process.cpuUsage(from);
      if (round >= 0) costs[name].push((user + system) / 1000);
    }
  }
  if (Number.isNaN(sink)) throw new Error('the works give numbers');
  return Object.fromEntries(names.map((name) => [name, median(costs[name])])) as Record<Name, number>;
}

function line(name: string, cost: number, over: number): string {
  return `  ${name.padEnd(50)} ${cost.toFixed(2).padStart(7)} ms  ${(cost / over).toFixed(2)} x`;
}
