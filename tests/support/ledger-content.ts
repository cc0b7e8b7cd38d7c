import { hashOf } from '../../station/hash.ts';
import type { Judgement } from '../../station/cycle/judge.ts';
import type { Reading, ReadingValues } from '../../station/cycle/reading.ts';
import type { CycleRecord } from '../../station/cycle/record.ts';
import type { NestResult } from '../../station/cycle/result.ts';
import { makePlan } from '../../station/profile/plan.ts';
import type { Plan } from '../../station/profile/plan.ts';
import { ProfileContent } from '../../station/profile/schema.ts';
import type { RigRevision } from '../../station/rig/revision.ts';
import type { Measured } from '../../station/units.ts';
import type { Opening } from '../../server/store/store.ts';
import { traceHash } from '../../server/store/traces.ts';

/** What the ledger's tests keep: shaped and sized like a line cycle of two parts, the numbers drawn from a seed. */

const POINTS = ['p15', 'p40', 'p60', 'p80', 'p100', 'p115'];

export const ACTOR = { name: 'R. Tamm', role: 'operator', proof: 'stated' } as const;
export const PROGRAM = 'barolot 0.1.0';
export const STATION = 'line-1';

export const PROFILE: ProfileContent = ProfileContent.parse({
  format: 1,
  partNumber: 'AQ-2041',
  title: 'Manifold sensor, 1 bar, ratiometric',
  pressureClass: '1 bar',
  serial: { rule: 'required', pattern: '[A-Z0-9-]{4,20}' },
  document: { title: 'Print AQ-2041', revision: 'C' },
  supply: {
    nominalV: 5,
    allowedV: { low: 4.75, high: 5.25 },
    currentMa: { low: 2, high: 10 },
    presentMa: 0.5,
    method: { name: 'supply-current', version: 1 },
    settleMs: 100,
    apertureMs: 40,
  },
  load: { ohm: 51_000, to: 'ground' },
  transfer: { kind: 'ratiometric', slopePerKpa: 0.009, offsetRatio: -0.095 },
  ratedKpaAbs: { low: 15, high: 115 },
  errorBand: {
    kPa: 1.5,
    factors: [
      { partC: 0, factor: 1 },
      { partC: 85, factor: 1 },
    ],
  },
  overPressureKpaAbs: 400,
  clamps: { unit: 'ratio', low: 0.02, high: 0.98 },
  ambientPlausibility: { method: { name: 'decoded-pressure', version: 1 }, withinKpa: 10, apertureMs: 40 },
  leakHold: {
    method: { name: 'pressure-decay', version: 1 },
    testKpaAbs: 180,
    limitStdCm3PerMin: 0.5,
    grossStdCm3PerMin: 20,
    fillMs: 1000,
    stabiliseMs: 2000,
    measureMs: 2000,
  },
  points: POINTS.map((id, index) => ({
    id,
    at: { kind: 'absolute', kPaAbs: 115 - 20 * index },
    branch: 'falling',
    method: { name: 'simultaneous-reference', version: 1 },
    dwellMs: 200,
    apertureMs: 100,
  })),
  lag: { method: { name: 'lag-by-areas', version: 1 }, onPoint: 'p40', limitMs: 10 },
  noise: { method: { name: 'pooled-scatter', version: 1 }, limitV: 0.002 },
  conditions: [{ id: 'ambient', targetC: 23, toleranceC: 5, soakMs: 0 }],
  rules: {
    line: { kind: 'guard-band', factor: 1.645 },
    audit: { kind: 'simple' },
    master: { kind: 'simple' },
    study: { kind: 'simple' },
    return: { kind: 'simple' },
  },
});

export const RIG: RigRevision = {
  format: 1,
  station: STATION,
  issue: 1,
  origin: 'simulated',
  nests: 2,
  chamber: false,
  sampleHz: 1000,
  loads: [{ ohm: 51_000, to: 'ground' }],
  pressureKpaAbs: { low: 5, high: 400 },
  transducerKpaAbs: 500,
  instruments: {
    referenceKpa: 0.02,
    controllerKpa: 0.05,
    barometerKpa: 0.02,
    outputV: 0.0002,
    outputRelative: 0.00005,
    supplyV: 0.0005,
    supplyRelative: 0.0001,
    currentMa: 0.02,
    roomC: 0.3,
    partC: 0.5,
    skewMs: 0.2,
  },
  characters: [0, 1].map((nest) => ({
    nest,
    partNumber: PROFILE.partNumber,
    hold: hashOf(PROFILE.leakHold),
    volumeM3: { value: 8.1e-6 + nest * 1e-7, u: 5e-8 },
    sealedPaPerS: { mean: -1.2, sd: 0.15, holds: 12 },
    curveStepMs: 100,
    sealedCurvePa: Array.from({ length: 20 }, (_, index) => -60 * (1 - Math.exp(-index / 6))),
    sealedCurveSdPa: Array.from({ length: 20 }, (_, index) => 2 / (1 + index)),
  })),
};

/** The plan of a line cycle at ambient, on the profile under its number. */
export function planOf({ revision, hash }: { revision: number; hash: string }): Plan {
  const profile = { revision, hash, content: PROFILE };
  return makePlan({ profile, rig: RIG, kind: 'line', condition: 'ambient', plant: [] });
}

/** Numbers in [0, 1) from a seed (mulberry32), so that a failure can be repeated. */
export function drawsOf(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), 1 | state);
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed;
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 2 ** 32;
  };
}

export function openingOf(number: number, overrides: Partial<Opening> = {}): Opening {
  return {
    cycle: `cycle-${number}`,
    station: STATION,
    lot: `L-${Math.floor(number / 50)}`,
    load: [`S${1000 + 2 * number}`, `S${1001 + 2 * number}`],
    openedAt: '2025-03-04T06:00:00.000Z',
    openedMonotonicMs: number * 20_000,
    program: PROGRAM,
    actor: ACTOR,
    seed: number,
    ...overrides,
  };
}

/** Bytes like those of a trace. */
export function traceOf(seed: number, bytes = 4096): Uint8Array {
  const draw = drawsOf(seed);
  return Uint8Array.from({ length: bytes }, () => Math.floor(draw() * 256));
}

/** A whole record of an opening; `trace` is named by its hash. */
export function recordOf(opening: Opening, plan: Plan, seed: number, trace: Uint8Array | null): CycleRecord {
  const draw = drawsOf(seed);
  const nests = opening.load.flatMap((serial, nest) => (serial === null ? [] : [{ nest, serial }]));
  const failed = draw() < 0.1;
  const { load, ...where } = opening;
  return {
    measurement: {
      format: 1,
      kind: plan.kind,
      plan: hashOf(plan),
      load,
      phases: (['ready', 'clamp', 'contact', 'fill', 'stabilise', 'measure', 'vent'] as const).map((phase, index) => ({
        phase,
        fromMs: index * 2000,
        toMs: index * 2000 + 2000,
      })),
      readings: nests.flatMap(({ nest }) => readingsOf(nest, draw)),
      judgements: nests.flatMap(({ nest }) => judgementsOf(nest, draw, failed)),
      results: nests.map(
        ({ nest, serial }): NestResult =>
          failed
            ? { nest, serial, verdict: 'fail', why: [{ by: 'part', code: 'reads-high', facts: { errorKpa: 1.9 } }] }
            : { nest, serial, verdict: 'pass', why: [] },
      ),
      faults: [],
      vented: true,
    },
    circumstances: {
      ...where,
      origin: plan.rig.revision.origin,
      closedAt: '2025-03-04T06:00:20.000Z',
      closedMonotonicMs: opening.openedMonotonicMs + 20_000,
      trace: trace === null ? null : traceHash(trace),
      barometerKpaAbs: 100 + draw(),
      roomC: 21 + draw(),
    },
  };
}

function readingsOf(nest: number, draw: () => number): Reading[] {
  const about = (value: number): Measured => ({ value: value * (1 + 0.01 * draw()), u: value * 1e-4 * (1 + draw()) });
  const at = (step: string, values: ReadingValues): Reading => ({ nest, step, fromMs: 4000, toMs: 4100, ...values });
  return [
    at('contact', { kind: 'current', supplyMa: about(6), outputV: about(4), supplyV: about(5) }),
    at('measure', {
      kind: 'leak',
      flowPaM3PerS: about(2e-5),
      testKpaAbs: about(180),
      ambientKpaAbs: about(100),
      gasC: about(22),
      ended: 'measured',
      slopePaPerS: about(3),
      sealedPaPerS: about(1),
      volumeM3: about(8e-6),
    }),
    ...POINTS.map((point) =>
      at(point, {
        kind: 'output',
        outputV: about(3),
        supplyV: about(5),
        referenceKpaAbs: about(80),
        barometerKpaAbs: about(100),
        partC: about(23),
      }),
    ),
    at('p40', { kind: 'lag', lagMs: about(2), travelKpa: about(20) }),
    at('p100', { kind: 'noise', scatterV: about(0.0004) }),
  ];
}

function judgementsOf(nest: number, draw: () => number, failed: boolean): Judgement[] {
  const one = (step: string, quantity: Judgement['quantity'], low: number | null, high: number): Judgement => {
    const value = failed && step === 'p100' ? high * 1.2 : (low ?? 0) + (high - (low ?? 0)) * (0.3 + 0.3 * draw());
    return {
      nest,
      step,
      quantity,
      value,
      u: 0.01 * high * (1 + draw()),
      unit: 'kPa',
      low,
      high,
      guard: 0.02 * high,
      margin: (high - value) / high,
      verdict: value > high ? 'fail' : 'pass',
      inGuardBand: false,
      rule: { kind: 'guard-band', factor: 1.645 },
      arithmetic: ['output', 'supply', 'reference', 'band', 'factor'].map((term) => [term, draw(), 'V'] as const),
    };
  };
  return [
    one('contact', 'supply-current', 2, 10),
    one('measure', 'leak', null, 0.5),
    ...POINTS.map((point) => one(point, 'output', -1.5, 1.5)),
    one('p40', 'lag', null, 10),
    one('noise', 'noise', null, 0.002),
  ];
}
