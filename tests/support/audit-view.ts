import type { AuditView, StageRun } from '../../server/audit/contract.ts';
import type {
  AuditLag,
  AuditReading,
  EvaluationInput,
  LineReading,
  Stage,
} from '../../server/audit/evaluation/contract.ts';
import { evaluate } from '../../server/audit/evaluation/evaluate.ts';
import { stream } from '../../station/random.ts';

/**
 * An audit as it could have been, made of seeded numbers: AQ-1105, 13 parts in two loads of 8 nests, cold, ambient and
 * hot. The span falls at hot. What is asserted about it is computed from its own readings.
 */
export interface AuditChoice {
  readonly seed?: number;
  readonly parts?: number;
  /** Error at hot and 100 kPa against 20 kPa, kPa. */
  readonly spanFallsKpa?: number;
  readonly origin?: 'real' | 'simulated';
  readonly isDecided?: boolean;
  /** Goes back to ambient at the end. */
  readonly isBackAtAmbient?: boolean;
  /** Takes 40 and 60 kPa again from below, and 60 kPa at two other supplies. */
  readonly hasAuditPoints?: boolean;
}

const POINTS = [
  { step: 'ambient', kPaAbs: null },
  { step: '80-kpa', kPaAbs: 80 },
  { step: '60-kpa', kPaAbs: 60 },
  { step: '40-kpa', kPaAbs: 40 },
  { step: '20-kpa', kPaAbs: 20 },
] as const;

/** What the audit takes after them: how far it reads off the same pressure before, kPa. */
const AGAIN = [
  { step: '40-kpa:rising', kPaAbs: 40, of: '40-kpa', supplyV: null, offKpa: -0.07 },
  { step: '60-kpa:rising', kPaAbs: 60, of: '60-kpa', supplyV: null, offKpa: -0.09 },
  { step: '60-kpa:low-supply', kPaAbs: 60, of: '60-kpa:rising', supplyV: 4.85, offKpa: -0.12 },
  { step: '60-kpa:high-supply', kPaAbs: 60, of: '60-kpa:rising', supplyV: 5.15, offKpa: -0.06 },
] as const;

const FACTORS = [
  { partC: -40, factor: 3 },
  { partC: 0, factor: 1 },
  { partC: 85, factor: 1 },
  { partC: 125, factor: 3 },
] as const;
const ERROR_KPA = 1.5;
const NESTS = 8;
const WANTED_PPK = 1.33;

const HASH = (digit: string): string => `${digit}1b2c3d4e5f60718`.repeat(4);

export function auditView(choice: AuditChoice = {}): AuditView {
  const { origin = 'simulated', isDecided = true } = choice;
  const input = auditInput(choice);
  const evaluation = evaluate(input);
  const cell = evaluation.cells.find(
    ({ stage, step }) => stage === evaluation.weakest?.stage && step === evaluation.weakest.step,
  );
  const decision = {
    decision: 'hold',
    at: '2026-11-24T18:05:00.000Z',
    by: 'M. Orrell',
    role: 'quality engineer',
    proof: 'stated',
    reason: 'Span falls at hot, all 13 parts alike. Ask the moulding cell about lots from K23-2 onward.',
    concession: null,
    sequence: 40_912,
    hash: HASH('e'),
  } as const;
  return {
    audit: '7c0f5a52-93b1-4b7e-a0c4-5b1d8e2f6a34',
    partNumber: 'AQ-1105',
    lot: 'K24-3',
    station: 'lab-1',
    origin,
    drawnAt: '2026-11-23T14:02:11.000Z',
    phase: isDecided ? 'decided' : 'deciding',
    decision: isDecided ? decision : null,
    weakest:
      cell?.ppk === undefined || cell.ppk === null || cell.atLeast === null
        ? null
        : { stage: cell.stage, step: cell.step, ppk: cell.ppk, atLeast: cell.atLeast },
    lotNow: null,
    plant: 'Alder Quay',
    title: 'Manifold absolute pressure sensor, 1 bar, 5 V ratiometric',
    pressureClass: '1 bar',
    profile: {
      revision: 2,
      hash: HASH('a'),
      document: 'Print AQ-1105, revision A',
      errorKpa: ERROR_KPA,
      factors: FACTORS,
    },
    rig: {
      ...{ issue: 3, hash: HASH('b'), calibration: 'valid until 1 Mar 2027, evidence CAL-2026-031' },
      inForce: [
        {
          ...{ issue: 3, hash: HASH('b') },
          calibration: {
            evidence: 'valid until 1 Mar 2027, evidence CAL-2026-031',
            ...{ state: 'valid', until: '2027-03-01T00:00:00.000Z', at: '2026-03-01T08:00:00.000Z', sequence: 12_031 },
          },
          ...{ tests: 6, from: '2026-11-24T08:10:00.000Z', to: '2026-11-25T10:11:05.000Z' },
        },
      ],
    },
    rule: { kind: 'simple' },
    program: 'barolot 0.1.0',
    draw: {
      at: '2026-11-23T14:02:11.000Z',
      by: 'M. Orrell',
      method: 'sha256-counter/1',
      seed: `${HASH('c')}|AQ-1105|K24-3`,
      lotSize: 3214,
      lotHash: HASH('f'),
      serials: input.parts.map(({ serial }) => serial),
      sequence: 40_700,
      hash: HASH('d'),
      number: 1,
      severity: null,
      leftOut: [],
    },
    sample: input.parts.map(({ serial, load, nest }) => ({
      serial,
      state: 'found',
      reason: null,
      load,
      nest,
      line: null,
    })),
    nests: NESTS,
    runs: runsOf(input),
    interruptions: [{ at: '2026-11-24T09:41:00.000Z', load: 1, stage: 2, what: 'guard-open' }],
    input,
    evaluation,
    before: [],
    trend: trendOf(cell ?? null),
  };
}

/** What was measured of a simulated sample. */
export function auditInput(choice: AuditChoice = {}): EvaluationInput {
  const { seed = 1105, parts = 13, spanFallsKpa = -2.3, isBackAtAmbient = false, hasAuditPoints = false } = choice;
  const stages: Stage[] = [
    { stage: 1, condition: 'cold', targetC: -40, isAgain: false },
    { stage: 2, condition: 'ambient', targetC: 23, isAgain: false },
    { stage: 3, condition: 'hot', targetC: 125, isAgain: false },
    ...(isBackAtAmbient ? [{ stage: 4, condition: 'ambient', targetC: 23, isAgain: true } as const] : []),
  ];
  const sample = Array.from({ length: parts }, (_, k) => ({
    serial: `AQ1105-26B-${String(401 + 17 * k).padStart(5, '0')}`,
    load: Math.floor(k / NESTS) + 1,
    nest: (k % NESTS) + 1,
  }));
  const readings = sample.flatMap((part, k) =>
    stages.flatMap((stage) => {
      const own = readingsOf(part, k, stage, seed, spanFallsKpa);
      return hasAuditPoints ? [...own, ...againOf(own, seed, k)] : own;
    }),
  );
  return {
    stages,
    points: [
      ...POINTS.map((point) => ({ ...point, branch: 'falling', again: null }) as const),
      ...(hasAuditPoints ? AGAIN : []).map(
        ({ step, kPaAbs, of, supplyV }) => ({ step, kPaAbs, branch: 'rising', again: { of, supplyV } }) as const,
      ),
    ],
    parts: sample.map((part) => ({
      ...part,
      results: stages.map(({ stage }) => ({ verdict: verdictAt(readings, part.serial, stage), reason: null })),
    })),
    missing: [],
    readings,
    lags: sample.flatMap(({ serial, nest }, k) => stages.map(({ stage }) => lagOf({ serial, nest, stage }, seed, k))),
    spanKpa: 100,
    line: sample.flatMap(({ serial }, k) => lineOf(readings, serial, k, seed)),
    plan: { kind: 'fixed', n: parts },
    lotSize: 3214,
    wantedPpk: WANTED_PPK,
  };
}

/** Scatter of parts, kPa, and how much of it each part keeps over all its points. */
const SPREAD_KPA = { cold: 0.4, ambient: 0.12, hot: 0.66 } as const;

function readingsOf(
  part: { readonly serial: string; readonly nest: number },
  k: number,
  { stage, condition, targetC }: Stage,
  seed: number,
  spanFallsKpa: number,
): AuditReading[] {
  const own = stream(seed, `part-${condition}`, k);
  const offset = own.normal() * SPREAD_KPA[condition];
  const span = 0.5 * own.normal() * SPREAD_KPA[condition] + (condition === 'hot' ? spanFallsKpa : 0);
  const noise = stream(seed, `noise-${stage}`, k);
  const partC = targetC + noise.normal() * 0.3 - (condition === 'hot' ? 0.4 : 0);
  return POINTS.map(({ step, kPaAbs }) => {
    const pointKpaAbs = kPaAbs ?? 99.6 + 0.01 * stage;
    return {
      serial: part.serial,
      nest: part.nest,
      stage,
      step,
      pointKpaAbs,
      errorKpa: offset + (span * (pointKpaAbs - 20)) / 80 + 0.03 * noise.normal(),
      uKpa: 0.04,
      allowedKpa: ERROR_KPA * factorAt(partC),
      partC,
    };
  });
}

/** The points that only an audit takes, by the line's own of the same pressure; a tenth of each difference is the part's. */
function againOf(own: readonly AuditReading[], seed: number, k: number): AuditReading[] {
  const size = 1 + 0.1 * stream(seed, 'again', k).normal();
  return AGAIN.flatMap(({ step, kPaAbs, offKpa }) =>
    own
      .filter((reading) => reading.step === `${kPaAbs}-kpa`)
      .map((reading) => ({ ...reading, step, errorKpa: reading.errorKpa + size * offKpa })),
  );
}

const lagOf = (at: Pick<AuditLag, 'serial' | 'nest' | 'stage'>, seed: number, k: number): AuditLag => ({
  ...at,
  lagMs: 1 + 0.4 * stream(seed, `lag-${at.stage}`, k).normal(),
  uMs: 0.3,
  limitMs: 20,
});

/** Linear between the print's points. */
function factorAt(partC: number): number {
  const above = FACTORS.findIndex((each) => each.partC >= partC);
  const [low, high] = [FACTORS[Math.max(0, above - 1)], FACTORS[above === -1 ? FACTORS.length - 1 : above]];
  if (low === undefined || high === undefined || low === high || above === -1) return high?.factor ?? 1;
  return low.factor + ((high.factor - low.factor) * (partC - low.partC)) / (high.partC - low.partC);
}

function verdictAt(readings: readonly AuditReading[], serial: string, stage: number): 'pass' | 'fail' {
  const own = readings.filter((each) => each.serial === serial && each.stage === stage);
  return own.every(({ errorKpa, allowedKpa }) => Math.abs(errorKpa) <= allowedKpa) ? 'pass' : 'fail';
}

/** The line saw the same parts 0.11 kPa high. */
function lineOf(readings: readonly AuditReading[], serial: string, k: number, seed: number): LineReading[] {
  const noise = stream(seed, 'line', k);
  return readings
    .filter((each) => each.serial === serial && each.stage === 2)
    .map(({ step, errorKpa }) => ({ serial, step, errorKpa: errorKpa + 0.11 + 0.1 * noise.normal() }));
}

function runsOf({ stages, parts, readings }: EvaluationInput): StageRun[] {
  const loads = [...new Set(parts.flatMap(({ load }) => (load === null ? [] : [load])))];
  return loads.flatMap((load) =>
    stages.map(({ stage, condition, targetC }) => {
      const serials = new Set(parts.filter((part) => part.load === load).map(({ serial }) => serial));
      const partCs = readings
        .filter((each) => each.stage === stage && serials.has(each.serial))
        .map(({ partC }) => partC);
      const hour = String(7 + stage).padStart(2, '0');
      return {
        load,
        stage,
        cycle: `cycle-${load}-${stage}`,
        openedAt: `2026-11-2${3 + load}T${hour}:10:00.000Z`,
        closedAt: `2026-11-2${3 + load}T${hour}:11:05.000Z`,
        sequence: 40_720 + 20 * load + stage,
        hash: HASH(String(stage)),
        faults: [],
        soak: {
          airC: targetC + 0.1,
          coreLowC: targetC - (condition === 'hot' ? 0.9 : 0.2),
          coreHighC: targetC + 0.3,
          tookMs: condition === 'ambient' ? 1_500_000 : 2_700_000,
          lags: { shellS: 110, coreS: 480 },
        },
        partLowC: Math.min(...partCs),
        partHighC: Math.max(...partCs),
      };
    }),
  );
}

function trendOf(cell: { readonly ppk: number | null; readonly atLeast: number | null } | null): AuditView['trend'] {
  const lots = ['K21-4', 'K22-1', 'K22-5', 'K23-2', 'K23-6'];
  const past = lots.map((lot, k) => ({
    audit: `audit-2026-${String(k + 6).padStart(2, '0')}-12-01`,
    lot,
    at: `2026-${String(k + 6).padStart(2, '0')}-12T15:00:00.000Z`,
    ppk: 1.92 - 0.12 * k,
    atLeast: 1.35 - 0.09 * k,
  }));
  if (cell?.ppk === undefined || cell.ppk === null) return past;
  const now = { audit: '7c0f5a52-93b1-4b7e-a0c4-5b1d8e2f6a34', lot: 'K24-3', at: '2026-11-23T14:02:11.000Z' };
  return [...past, { ...now, ppk: cell.ppk, atLeast: cell.atLeast }];
}
