import { runAndKeep } from '../../server/records/keep.ts';
import {
  firstRevision,
  nextRevision,
  simulatedProofs,
  simulatedRig,
  stationName,
} from '../../station/host/simulated-station.ts';
import { systemClock } from '../../station/clock.ts';
import type { Measurement } from '../../station/cycle/record.ts';
import { makePlan } from '../../station/profile/plan.ts';
import type { ProfileContent } from '../../station/profile/schema.ts';
import { type Stream, stream } from '../../station/random.ts';
import type { ReasonCode } from '../../station/reasons.ts';
import { drawPart, type PartTruth, partModelOf } from '../../station/rig/simulated/part.ts';
import { type PartFaultKind, spoilPart } from '../../station/rig/simulated/part-fault.ts';
import { trueErrorKpa } from '../../station/rig/simulated/sensor.ts';
import { never, profileNamed, shipped } from '../support/simulated-plant.ts';

/** Faults and how often they are drawn, raised for statistics; sizes as a plant might see them. */
const RATES: readonly {
  readonly what: PartFaultKind;
  readonly rate: number;
  readonly size: (chance: Stream) => number;
}[] = [
  { what: 'leak', rate: 0.03, size: (c) => logUniform(c, 0.3, 40) },
  { what: 'offset', rate: 0.015, size: (c) => sign(c) * uniform(c, 1.11, 5) },
  { what: 'span', rate: 0.015, size: (c) => sign(c) * uniform(c, 1.2, 8) },
  { what: 'slow', rate: 0.015, size: (c) => logUniform(c, 0.03, 3) },
  { what: 'noise', rate: 0.01, size: (c) => uniform(c, 1.3e-3, 8e-3) * 5 },
  { what: 'current', rate: 0.01, size: (c) => uniform(c, 10.5, 25) },
  { what: 'output-open', rate: 0.005, size: () => 0 },
  { what: 'stuck', rate: 0.005, size: (c) => uniform(c, 0.1, 0.9) },
  { what: 'other-class', rate: 0.005, size: () => 0 },
];

const uniform = (c: Stream, low: number, high: number): number => low + (high - low) * c.uniform();
const logUniform = (c: Stream, low: number, high: number): number => low * (high / low) ** c.uniform();
const sign = (c: Stream): number => (c.uniform() < 0.5 ? -1 : 1);

type Truth = 'good' | 'bad' | 'grey';

/** Reasons by which each fault must be called; a slow or stuck part is also wrong at its points. */
const CALLED: Readonly<Partial<Record<PartFaultKind, readonly ReasonCode[]>>> = {
  leak: ['leak', 'gross-leak'],
  offset: ['reads-high', 'reads-low'],
  span: ['span-large', 'span-small', 'reads-high', 'reads-low', 'reads-wrong'],
  slow: ['slow'],
  noise: ['noisy'],
  current: ['current-high'],
  'output-open': ['output-at-ground'],
  stuck: ['stuck', 'ambient-implausible', 'other-class', 'reads-high', 'reads-low'],
  'other-class': ['other-class'],
};

interface Row {
  parts: number;
  wrong: number;
  misnamed: number;
  none: number;
}

/**
 * False accepts and false rejects of the whole product on drawn parts and rigs, by fault, with exact 95 % upper bounds.
 * Grey, and counted apart: a leak between half the limit and the limit, or a true error within 0.067 kPa of the band.
 */
export async function risk(options: { parts: number; rigs: number; seed: number }): Promise<void> {
  const { content, ...issue } = profileNamed('AQ-1105');
  const profile = { content, ...issue };
  const model = partModelOf(content);
  const other = partModelOf(profileNamed('AQ-2105').content);
  const rows = new Map<string, Row>();
  const times: number[] = [];
  const phases = new Map<string, number>();
  const perRig = Math.ceil(options.parts / options.rigs / 2);
  let cycles = 0;
  for (let rigSeed = 0; rigSeed < options.rigs; rigSeed += 1) {
    const choice = { nests: 2, rigSeed: options.seed * 1000 + rigSeed, barometerKpaAbs: null };
    const rig = simulatedRig(choice);
    const revision = await nextRevision(rig, firstRevision(rig, stationName(choice)), profile, never);
    const plan = makePlan({
      profile,
      rig: revision,
      kind: 'line',
      condition: 'ambient',
      plant: shipped.map((each) => each.content),
    });
    for (let n = 0; n < perRig; n += 1) {
      cycles += 1;
      const drawn = [0, 1].map((nest) => drawOne(options.seed, 2 * cycles + nest, model, other));
      rig.loadParts(
        drawn.map(({ part }) => part),
        options.seed + cycles,
      );
      const { record } = await runAndKeep(
        rig,
        { plan, load: [`R-${cycles}-1`, `R-${cycles}-2`], proofs: simulatedProofs([]) },
        { lot: 'risk', program: 'bench', actor: { name: 'bench', role: 'bench', proof: 'stated' }, seed: options.seed },
        { clock: systemClock, store: null, stop: never },
      );
      if (record === null) throw new Error('a cycle without a store keeps its record');
      count(record.measurement, drawn, content, rows);
      // Every cycle took its clamp, vent and release; the release is timed beside the measurement.
      const { phases: run } = record.measurement;
      times.push(run.reduce((sum, { fromMs, toMs }) => sum + toMs - fromMs, 0) + 500);
      for (const { phase, fromMs, toMs } of run) phases.set(phase, (phases.get(phase) ?? 0) + toMs - fromMs);
    }
  }
  print(rows, times, phases, cycles, options);
}

function drawOne(
  seed: number,
  index: number,
  model: ReturnType<typeof partModelOf>,
  other: ReturnType<typeof partModelOf>,
) {
  const chance = stream(seed, 'risk', index);
  const good = drawPart(seed, index, model);
  let mark = chance.uniform();
  for (const { what, rate, size } of RATES) {
    if (mark < rate) {
      const fault =
        what === 'other-class'
          ? { where: { nest: 0 }, what, model: other }
          : { where: { nest: 0 }, what, size: size(chance) };
      return { fault: what, part: spoilPart(good, fault) };
    }
    mark -= rate;
  }
  return { fault: null, part: good };
}

/** What the part really is against its print, with the grey zone in which no verdict is called wrong. */
function truthOf(fault: PartFaultKind | null, part: PartTruth | null, content: ProfileContent): Truth {
  if (part === null || (fault !== null && !['leak', 'offset', 'span'].includes(fault))) return 'bad';
  const errors = content.points.map(({ at }) =>
    Math.abs(trueErrorKpa(part, at.kind === 'absolute' ? at.kPaAbs : 101.3, 23)),
  );
  const beyond = Math.max(...errors) - content.errorBand.kPa;
  const { limitStdCm3PerMin } = content.leakHold;
  if (beyond > 0.067 || part.leakStdCm3PerMin > limitStdCm3PerMin) return 'bad';
  return beyond > -0.067 || part.leakStdCm3PerMin > limitStdCm3PerMin / 2 ? 'grey' : 'good';
}

function count(
  measurement: Measurement,
  drawn: readonly { fault: PartFaultKind | null; part: PartTruth | null }[],
  content: ProfileContent,
  rows: Map<string, Row>,
): void {
  for (const { nest, verdict, why } of measurement.results) {
    const { fault, part } = drawn[nest] ?? { fault: null, part: null };
    const truth = truthOf(fault, part, content);
    const key = truth === 'bad' ? `bad: ${fault ?? 'drawn beyond its print'}` : truth;
    const row = rows.get(key) ?? { parts: 0, wrong: 0, misnamed: 0, none: 0 };
    rows.set(key, row);
    row.parts += 1;
    if (verdict === 'none') row.none += 1;
    if (truth === 'bad' ? verdict === 'pass' : verdict === 'fail') row.wrong += 1;
    const first = why[0];
    const names = fault === null ? undefined : CALLED[fault];
    if (
      truth === 'bad' &&
      verdict === 'fail' &&
      names !== undefined &&
      first?.by === 'part' &&
      !names.includes(first.code)
    )
      row.misnamed += 1;
  }
}

/** Exact one-sided 95 % upper bound of a fraction (Clopper-Pearson), by bisection of the binomial sum. */
export function upperBound(wrong: number, n: number): number {
  if (wrong >= n) return 1;
  const atMost = (p: number): number => {
    let term = Math.exp(n * Math.log1p(-p));
    let sum = term;
    for (let k = 1; k <= wrong; k += 1) {
      term *= ((n - k + 1) / k) * (p / (1 - p));
      sum += term;
    }
    return sum;
  };
  let [low, high] = [wrong / n, 1];
  for (let i = 0; i < 60; i += 1) {
    const middle = (low + high) / 2;
    if (atMost(middle) > 0.05) low = middle;
    else high = middle;
  }
  return high;
}

function print(
  rows: Map<string, Row>,
  times: number[],
  phases: Map<string, number>,
  cycles: number,
  options: { parts: number; rigs: number; seed: number },
): void {
  const percent = (share: number): string => `${(100 * share).toFixed(3)} %`;
  console.log(`risk: ${2 * cycles} simulated parts of AQ-1105 over ${options.rigs} drawn rigs, seed ${options.seed}`);
  console.log('group                              parts   wrong   95 % upper   other name   not judged');
  const all = { accepts: 0, bad: 0 };
  for (const [key, row] of [...rows].sort(([a], [b]) => (a < b ? -1 : 1))) {
    if (key.startsWith('bad')) {
      all.accepts += row.wrong;
      all.bad += row.parts;
    }
    console.log(
      `${key.padEnd(33)}${String(row.parts).padStart(7)}${String(row.wrong).padStart(8)}${percent(upperBound(row.wrong, row.parts)).padStart(13)}${String(row.misnamed).padStart(13)}${String(row.none).padStart(13)}`,
    );
  }
  console.log(
    `false accepts, all faults: ${all.accepts} of ${all.bad}, below ${percent(upperBound(all.accepts, all.bad))} (95 %)`,
  );
  const sorted = [...times].sort((a, b) => a - b);
  const at = (share: number): string => ((sorted[Math.floor(share * (sorted.length - 1))] ?? 0) / 1000).toFixed(2);
  console.log(`cycle time with clamp, vent and release: median ${at(0.5)} s, 95 % ${at(0.95)} s, longest ${at(1)} s`);
  console.log(
    `mean time by phase: ${[...phases].map(([phase, ms]) => `${phase} ${(ms / cycles / 1000).toFixed(2)} s`).join(', ')}`,
  );
}
