import { individualsCapability } from '../../server/quality/capability/capability.ts';
import {
  approximateInterval,
  chiSquareInterval,
  exactInterval,
  lowestIndex,
  overallBounds,
} from '../../server/quality/capability/capability-bounds.ts';
import type { Interval } from '../../server/quality/capability/capability-bounds.ts';
import type { CapabilityIndices } from '../../server/quality/capability/capability-indices.ts';
import { normalCdf } from '../../server/quality/distributions/normal.ts';
import { lognormalCapability, weibullCapability } from '../../server/quality/capability/fitted-capability.ts';
import { normality } from '../../server/quality/normality/normality.ts';
import { percentileCapability } from '../../server/quality/capability/percentile-capability.ts';
import { sampleOf } from '../../server/quality/description/sample.ts';
import { toleranceFactors } from '../../server/quality/capability/tolerance-interval.ts';
import { stream } from '../../station/random.ts';
import { cpuMs, median } from './timing.ts';

const VALUES = 5000;
const ROUNDS = 60;
const WARM_UP = 20;
/** Each round does everything so often, since one run is too short for the counter of CPU time. */
const TIMES = 5;

/** CPU of the capability of 5000 values over that of a bare sort of the same values, all of them measured in turn. */
export function capabilityBench(): void {
  const draw = stream(1, 'capability bench', 0);
  const values = Float64Array.from({ length: VALUES }, () => 100 + draw.normal());
  const limits = { lsl: 95, usl: 106 };
  const works: Readonly<Record<string, () => unknown>> = {
    'a bare sort of the values': () => Float64Array.from(values).sort(),
    'capability with all bounds': () => overallBounds(individualsCapability(values, limits)),
    'the same with Shapiro-Wilk and Anderson-Darling': () => [
      overallBounds(individualsCapability(values, limits)),
      normality(values),
    ],
    'lognormal and Weibull fits': () => [lognormalCapability(values, limits), weibullCapability(values, limits)],
    percentiles: () => percentileCapability(values, limits),
  };
  const costs = Object.values(works).map((): number[] => []);
  for (let round = 0; round < WARM_UP + ROUNDS; round += 1) {
    for (const [i, work] of Object.values(works).entries()) {
      const cost = cpuOf(work);
      if (round >= WARM_UP) costs[i]?.push(cost);
    }
  }
  const medians = costs.map(median);
  const lines = Object.keys(works).map((name, i) => {
    const cost = medians[i] ?? Number.NaN;
    return `  ${name.padEnd(50)} ${cost.toFixed(2).padStart(6)} ms  ${(cost / (medians[0] ?? cost)).toFixed(1).padStart(5)} x`;
  });
  console.log(`capability: ${VALUES} values, median CPU over that of a bare sort\n${lines.join('\n')}`);
}

function cpuOf(work: () => unknown): number {
  const all = cpuMs(() => {
    for (let i = 0; i < TIMES; i += 1) work();
  });
  return all / TIMES;
}

/** With so many samples 1.4 percent of coverage are more than three standard errors. */
const SAMPLES = 2500;
const CONFIDENCE = 0.95;
const SEED = 20_240;

/** Number of values, true PPU, and how far PPL lies above it: 0 is a centered process. */
const INDEX_CASES: readonly (readonly [number, number, number])[] = [
  [5, 1, 0.5],
  [13, 1.33, 0.5],
  [13, 1.33, 0],
  [30, 1.33, 0.5],
  [30, 1.67, 0],
  [125, 1.67, 0.5],
];

const TOLERANCE_CASES: readonly (readonly [number, number])[] = [
  [5, 0.9],
  [13, 0.95],
  [30, 0.99],
  [125, 0.9973],
];

/**
 * How often 95 % bounds hold the truth of drawn normal samples: the exact ones must in 95 % of them, within the chance
 * of so many draws; beside them the approximations in use.
 */
export function coverageStudy(): void {
  const error = 300 * Math.sqrt((CONFIDENCE * (1 - CONFIDENCE)) / SAMPLES);
  console.log(
    [
      `coverage: percent of ${SAMPLES} drawn normal samples whose 95 % bound holds the truth; exact ones 95 +- ${error.toFixed(1)} (three standard errors), seed ${SEED}`,
      row(['n', 'PPU', 'PPL', 'Pp', 'PPU low', 'PPU two', 'PPL low', 'Ppk low', 'Ppk two']),
      row(['', 'true', 'true', 'exact', 'exact', 'exact', 'exact', 'safe', 'approx.']),
      ...INDEX_CASES.map(indexRow),
      '  Ppk low takes the nearer side: exact with one near limit, more than 95 when centered.',
      row(['n', 'share', '', 'k1', 'k2', 'k2 Howe']),
      row(['', '', '', 'exact', 'exact', 'approx.']),
      ...TOLERANCE_CASES.map(toleranceRow),
    ].join('\n'),
  );
}

const NONE: CapabilityIndices = { both: null, upper: null, lower: null, nearer: null };

function indexRow([n, ppu, more]: readonly [number, number, number], at: number): string {
  const draw = stream(SEED, 'index coverage', at);
  const ppl = ppu + more;
  const truths = { both: (ppu + ppl) / 2, upper: ppu, lower: ppl, nearer: Math.min(ppu, ppl) };
  const limits = { lsl: -3 * ppl, usl: 3 * ppu };
  const sample = { n, df: n - 1, confidence: CONFIDENCE };
  const held = [0, 0, 0, 0, 0, 0];
  for (let i = 0; i < SAMPLES; i += 1) {
    const { overall } = individualsCapability(normals(draw, n), limits);
    const { both, upper, lower, nearer } = overall?.indices ?? NONE;
    if (both === null || upper === null || lower === null || nearer === null) throw new Error('drawn values do differ');
    const [upperLow, lowerLow] = [lowestIndex(upper, sample), lowestIndex(lower, sample)];
    const holds = [
      within(chiSquareInterval(both, sample), truths.both),
      upperLow <= truths.upper,
      within(exactInterval(upper, sample), truths.upper),
      lowerLow <= truths.lower,
      (nearer === upper ? upperLow : lowerLow) <= truths.nearer,
      within(approximateInterval(nearer, sample), truths.nearer),
    ];
    for (const [k, each] of holds.entries()) held[k] = (held[k] ?? 0) + Number(each);
  }
  return row([String(n), ppu.toFixed(2), ppl.toFixed(2), ...held.map(percent)]);
}

function toleranceRow([n, share]: readonly [number, number], at: number): string {
  const draw = stream(SEED, 'tolerance coverage', at);
  const factors = toleranceFactors(n, share, CONFIDENCE);
  const held = [0, 0, 0];
  for (let i = 0; i < SAMPLES; i += 1) {
    const { mean, squares, scale } = sampleOf(normals(draw, n));
    const sd = scale * Math.sqrt(squares / (n - 1));
    const content = (k: number): number => normalCdf(mean + k * sd) - normalCdf(mean - k * sd);
    const holds = [
      normalCdf(mean + (factors.oneSidedExact ?? 0) * sd) >= share,
      content(factors.twoSidedExact ?? 0) >= share,
      content(factors.twoSidedHowe ?? 0) >= share,
    ];
    for (const [k, each] of holds.entries()) held[k] = (held[k] ?? 0) + Number(each);
  }
  return row([String(n), String(share), '', ...held.map(percent)]);
}

function normals(draw: ReturnType<typeof stream>, n: number): Float64Array {
  const values = new Float64Array(n);
  draw.normals(values, 0, n);
  return values;
}

const within = ({ lower, upper }: Interval, truth: number): boolean => lower <= truth && truth <= upper;

const percent = (held: number): string => ((100 * held) / SAMPLES).toFixed(1);

const row = (cells: readonly string[]): string => `  ${cells.map((each) => each.padStart(8)).join('')}`;
