import type {
  AuditPart,
  AuditReading,
  EvaluationInput,
  LineReading,
  Stage,
} from '../../server/audit/evaluation/contract.ts';
import { stream } from '../../station/random.ts';

/** Cold, ambient, hot: the order of the simulated profiles. */
export const STAGES: readonly Stage[] = [
  { stage: 1, condition: 'cold', targetC: -40, isAgain: false },
  { stage: 2, condition: 'ambient', targetC: 23, isAgain: false },
  { stage: 3, condition: 'hot', targetC: 125, isAgain: false },
];
export const BACK: Stage = { stage: 4, condition: 'ambient', targetC: 23, isAgain: true };

/** Pressure of each point, kPa abs, and what is allowed to both sides at each condition, kPa. */
export const POINTS_KPA = [20, 40, 60, 80, 100] as const;
export const ALLOWED_KPA = { cold: 4.5, ambient: 1.5, hot: 4.5 } as const;

const NESTS = 8;

/**
 * Parts as a normal population makes them: an offset and a span of its own for each, both with a temperature coefficient, and
 * little noise. Offset at the lowest point, span as the change from there to the highest; kPa, and kPa a kelvin from 23 °C.
 */
export interface Population {
  readonly parts: number;
  readonly offset: { readonly mean: number; readonly sd: number };
  readonly span: { readonly mean: number; readonly sd: number };
  readonly noiseSd: number;
  readonly offsetPerK: number;
  readonly spanPerK: number;
  /** Spread of both coefficients from part to part, kPa a kelvin. */
  readonly perKSd: number;
  readonly stages: readonly Stage[];
  /** What the line reads more than the part has, and its own noise; null: the line kept nothing. */
  readonly line: { readonly off: number; readonly sd: number } | null;
  /** What a lab's nest reads more than the part has, kPa, by nest. */
  readonly nestOff: Readonly<Record<number, number>>;
  /** What is added to every reading back at ambient, kPa. */
  readonly backOff: number;
}

/** A good lot: Ppk well above 2 everywhere, and nothing that stands out. */
export const GOOD: Population = {
  parts: 13,
  offset: { mean: 0.05, sd: 0.1 },
  span: { mean: -0.04, sd: 0.08 },
  noiseSd: 0.02,
  offsetPerK: 0,
  spanPerK: 0,
  perKSd: 0.002,
  stages: STAGES,
  line: { off: 0, sd: 0.01 },
  nestOff: {},
  backOff: 0,
};

/** An audit of a drawn sample of a population; the same for the same seed. */
export function drawnAudit(change: Partial<Population>, seed: number): EvaluationInput {
  const population = { ...GOOD, ...change };
  const drawn = Array.from({ length: population.parts }, (_, k) => drawPart(population, seed, k));
  const readings = drawn.flatMap((part) => population.stages.flatMap((stage) => readingsOf(population, part, stage)));
  return {
    ...auditOf(population.stages, readings),
    line: drawn.flatMap((part) => lineOf(population, part)),
  };
}

/** True mean and standard deviation of the population at a point of a condition, kPa. */
export function truthAt(
  { offset, span, noiseSd, offsetPerK, spanPerK, perKSd }: Population,
  targetC: number,
  kPaAbs: number,
): { readonly mean: number; readonly sd: number } {
  const [dK, x] = [targetC - 23, alongSpan(kPaAbs)];
  return {
    mean: offset.mean + offsetPerK * dK + (span.mean + spanPerK * dK) * x,
    sd: Math.hypot(offset.sd, span.sd * x, perKSd * dK, perKSd * dK * x, noiseSd),
  };
}

/** 0 at the lowest point, 1 at the highest. */
const alongSpan = (kPaAbs: number): number => (kPaAbs - 20) / 80;

interface Drawn {
  readonly serial: string;
  readonly k: number;
  readonly nest: number;
  readonly noise: () => number;
  readonly errorAt: (targetC: number, kPaAbs: number) => number;
}

function drawPart({ offset, span, offsetPerK, spanPerK, perKSd }: Population, seed: number, k: number): Drawn {
  const own = stream(seed, 'audited-part', k);
  const [zero, width] = [offset.mean + offset.sd * own.normal(), span.mean + span.sd * own.normal()];
  const [zeroPerK, widthPerK] = [offsetPerK + perKSd * own.normal(), spanPerK + perKSd * own.normal()];
  return {
    serial: serialOf(k),
    k,
    nest: (k % NESTS) + 1,
    noise: () => own.normal(),
    errorAt: (targetC, kPaAbs) => {
      const dK = targetC - 23;
      return zero + zeroPerK * dK + (width + widthPerK * dK) * alongSpan(kPaAbs);
    },
  };
}

const serialOf = (k: number): string => `AQ1105-26B-${String(k + 1).padStart(5, '0')}`;
const stepOf = (kPaAbs: number): string => `${kPaAbs}-kpa`;

function readingsOf(
  population: Population,
  part: Drawn,
  { stage, condition, targetC, isAgain }: Stage,
): AuditReading[] {
  const off = (population.nestOff[part.nest] ?? 0) + (isAgain ? population.backOff : 0);
  return POINTS_KPA.map((kPaAbs) => ({
    serial: part.serial,
    nest: part.nest,
    stage,
    step: stepOf(kPaAbs),
    pointKpaAbs: kPaAbs,
    errorKpa: part.errorAt(targetC, kPaAbs) + off + population.noiseSd * part.noise(),
    uKpa: 0.04,
    allowedKpa: ALLOWED_KPA[condition],
    partC: targetC,
  }));
}

function lineOf({ line }: Population, { serial, errorAt, noise }: Drawn): LineReading[] {
  if (line === null) return [];
  return POINTS_KPA.map((kPaAbs) => ({
    serial,
    step: stepOf(kPaAbs),
    errorKpa: errorAt(23, kPaAbs) + line.off + line.sd * noise(),
  }));
}

/** An audit of given errors, kPa: `errors[part][stage][point]`, from 20 kPa up; `null`: not tested there. */
export function givenAudit(
  errors: readonly (readonly (readonly number[] | null)[])[],
  stages: readonly Stage[] = STAGES,
): EvaluationInput {
  const readings = errors.flatMap((ofPart, k) =>
    stages.flatMap(({ stage, condition, targetC }, s) =>
      (ofPart[s] ?? []).map((errorKpa, p) => ({
        serial: serialOf(k),
        nest: (k % NESTS) + 1,
        stage,
        step: stepOf(POINTS_KPA[p] ?? 0),
        pointKpaAbs: POINTS_KPA[p] ?? 0,
        errorKpa,
        uKpa: 0.04,
        allowedKpa: ALLOWED_KPA[condition],
        partC: targetC,
      })),
    ),
  );
  return { ...auditOf(stages, readings), parts: errors.map((_, k) => partOf(k, stages, readings)) };
}

/** Readings with what belongs around them: a process audit without anything missing, and verdicts by the readings. */
function auditOf(stages: readonly Stage[], readings: readonly AuditReading[]): EvaluationInput {
  const serials = [...new Set(readings.map(({ serial }) => serial))];
  return {
    stages,
    points: POINTS_KPA.map((kPaAbs) => ({ step: stepOf(kPaAbs), kPaAbs, branch: 'falling', again: null })),
    parts: serials.map((_, k) => partOf(k, stages, readings)),
    missing: [],
    readings,
    lags: [],
    spanKpa: 100,
    line: [],
    plan: { kind: 'fixed', n: Math.max(1, serials.length) },
    lotSize: 3214,
    wantedPpk: 1.33,
  };
}

function partOf(k: number, stages: readonly Stage[], readings: readonly AuditReading[]): AuditPart {
  const serial = serialOf(k);
  return {
    serial,
    load: Math.floor(k / NESTS) + 1,
    nest: (k % NESTS) + 1,
    results: stages.map(({ stage }) => {
      const own = readings.filter((each) => each.serial === serial && each.stage === stage);
      if (own.length === 0) return null;
      const isGood = own.every(({ errorKpa, allowedKpa }) => Math.abs(errorKpa) <= allowedKpa);
      return isGood ? { verdict: 'pass', reason: null } : { verdict: 'fail', reason: 'reads-wrong' };
    }),
  };
}
