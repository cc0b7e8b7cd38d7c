import { pointOfStep, takenPoints } from '../../station/profile/audit-points.ts';
import type { Judgement } from '../../station/cycle/judge.ts';
import type { CycleRecord } from '../../station/cycle/record.ts';
import type { Reading } from '../../station/cycle/reading.ts';
import type { ProfileContent } from '../../station/profile/schema.ts';
import { slopeVPerKpa } from '../../station/profile/transfer.ts';
import type { LedgerReader } from '../store/reader.ts';
import type {
  AuditLag,
  AuditPart,
  AuditPoint,
  AuditReading,
  EvaluationInput,
  LineReading,
  SamplingPlan,
  Stage,
} from './evaluation/contract.ts';
import { doneCycle, placeOf, stagesOf } from './state.ts';
import type { AuditState } from './state.ts';

/** The capability that is wanted at every point of an audit. AIAG PPAP 2.2.11.3 (from memory): 1.33 may be accepted. */
export const WANTED_PPK = 1.33;

/** Everything that an evaluation of an audit rests on, out of the ledger. */
export function evidenceOf(reader: LedgerReader, state: AuditState, content: ProfileContent): EvaluationInput {
  const stages = stageList(state, content);
  return {
    stages,
    points: pointsOf(content),
    parts: partsOf(state, stages),
    missing: [...state.sample].flatMap(([serial, part]) =>
      part.state === 'missing' ? [{ serial, reason: part.reason ?? '' }] : [],
    ),
    readings: ofEveryCycle(state, stages, (record, stage) => readingsOf(record, stage, content)),
    lags: ofEveryCycle(state, stages, lagsOf),
    spanKpa: content.ratedKpaAbs.high - content.ratedKpaAbs.low,
    line: lineReadings(reader, state),
    plan: state.drawn.content.plan satisfies SamplingPlan,
    lotSize: state.drawn.content.lotSize,
    wantedPpk: WANTED_PPK,
  };
}

/** What the last tests of every load and stage give. */
const ofEveryCycle = <T>(
  state: AuditState,
  stages: readonly Stage[],
  take: (record: CycleRecord, stage: number) => readonly T[],
): T[] =>
  state.loads.flatMap(({ load }) =>
    stages.flatMap(({ stage }) => {
      const record = doneCycle(state, load, stage)?.record;
      return record === undefined ? [] : take(record, stage);
    }),
  );

/** Every point that an audit of the profile takes, in order. */
const pointsOf = (content: ProfileContent): AuditPoint[] =>
  takenPoints(content, 'audit').map(({ id, at, branch, of, step }) => ({
    step: id,
    kPaAbs: at.kind === 'absolute' ? at.kPaAbs : null,
    branch,
    again: of === null ? null : { of, supplyV: step?.setV ?? null },
  }));

export function stageList(state: AuditState, content: ProfileContent): Stage[] {
  const conditions = stagesOf(state);
  return conditions.map((condition, index) => ({
    stage: index + 1,
    condition,
    targetC: content.conditions.find(({ id }) => id === condition)?.targetC ?? Number.NaN,
    isAgain: conditions.indexOf(condition) < index,
  }));
}

/** Every drawn part but the missing ones, with what each stage found. */
export function partsOf(state: AuditState, stages: readonly Stage[]): AuditPart[] {
  return [...state.sample].flatMap(([serial, { state: is }]) => {
    if (is === 'missing') return [];
    const { load, nest } = placeOf(state, serial);
    const results = stages.map(({ stage }) => {
      const cycle = load === null ? undefined : doneCycle(state, load, stage);
      const result = cycle?.record.measurement.results.find((each) => each.serial === serial);
      return result === undefined ? null : { verdict: result.verdict, reason: result.why[0]?.code ?? null };
    });
    return [{ serial, load, nest, results }];
  });
}

/** The judged outputs at the points of one cycle, as errors in kPa. */
function readingsOf({ measurement }: CycleRecord, stage: number, content: ProfileContent): AuditReading[] {
  const { load, readings, judgements } = measurement;
  const { nominalV } = content.supply;
  const slope = slopeVPerKpa(content.transfer, nominalV);
  return judgements.flatMap((judgement) => {
    const serial = load[judgement.nest] ?? null;
    const error = errorOf(judgement, slope);
    const reading = outputAt(readings, judgement);
    if (serial === null || error === null || reading === undefined) return [];
    return [
      {
        serial,
        nest: judgement.nest + 1,
        stage,
        step: judgement.step,
        pointKpaAbs: pointOf(content, reading),
        ...error,
        partC: reading.partC.value,
      },
    ];
  });
}

/** The judged lags of one cycle. */
function lagsOf({ measurement }: CycleRecord, stage: number): AuditLag[] {
  return measurement.judgements.flatMap(({ nest, quantity, value, u, high }) => {
    const serial = measurement.load[nest] ?? null;
    if (quantity !== 'lag' || serial === null || high === null) return [];
    return [{ serial, nest: nest + 1, stage, lagMs: value, uMs: u, limitMs: high }];
  });
}

/** A judged output as an error in kPa against what is allowed to both sides; null where it is none at a point. */
export function errorOf(
  { quantity, step, value, u, low, high }: Pick<Judgement, 'quantity' | 'step' | 'value' | 'u' | 'low' | 'high'>,
  slopeVPerKpaAt: number,
): { readonly errorKpa: number; readonly uKpa: number; readonly allowedKpa: number } | null {
  if (quantity !== 'output' || step === 'ambient-check' || low === null || high === null) return null;
  return {
    errorKpa: (value - (low + high) / 2) / slopeVPerKpaAt,
    uKpa: u / Math.abs(slopeVPerKpaAt),
    allowedKpa: (high - low) / 2 / Math.abs(slopeVPerKpaAt),
  };
}

type Output = Extract<Reading, { kind: 'output' }>;

const outputAt = (readings: readonly Reading[], { nest, step }: Judgement): Output | undefined =>
  readings.find((each): each is Output => each.kind === 'output' && each.nest === nest && each.step === step);

function pointOf(content: ProfileContent, { step, barometerKpaAbs }: Output): number {
  const at = pointOfStep(content, step)?.at;
  return at?.kind === 'absolute' ? at.kPaAbs : barometerKpaAbs.value;
}

/**
 * What the line read of the drawn parts: each serial's last passed line test in this lot before the draw, by the profile
 * revision that it was tested by. A serial alone may be another lot's or another part number's.
 */
function lineReadings(reader: LedgerReader, state: AuditState): LineReading[] {
  const { sequence, content } = state.drawn;
  const plans = new Map<string, ProfileContent>();
  const profileBy = (plan: string): ProfileContent => {
    const profile = plans.get(plan) ?? reader.document('plan', plan).profile.content;
    plans.set(plan, profile);
    return profile;
  };
  return [...state.sample.keys()].flatMap((serial) => {
    const passed = reader
      .historyOf(serial)
      .filter((each) => each.kind === 'line' && each.verdict === 'pass' && each.sequence < sequence);
    // The last is nearly always the lot's own: no other record is read then.
    for (const { sequence: closed, nest } of passed.toReversed()) {
      const { measurement, circumstances } = reader.cycleAt(closed).record;
      const profile = profileBy(measurement.plan);
      if (circumstances.lot !== content.lot || profile.partNumber !== content.partNumber) continue;
      const slope = slopeVPerKpa(profile.transfer, profile.supply.nominalV);
      return measurement.judgements.flatMap((judgement) => {
        const error = judgement.nest === nest ? errorOf(judgement, slope) : null;
        return error === null ? [] : [{ serial, step: judgement.step, errorKpa: error.errorKpa }];
      });
    }
    return [];
  });
}
