import type { Facts } from '../faults.ts';
import type { Plan } from '../profile/plan.ts';
import { clampsV, outputAt, pressureFrom, slopeVPerKpa } from '../profile/transfer.ts';
import { byExplanation, type ReasonCode } from '../reasons.ts';
import type { Judgement } from './judge.ts';
import { judgeReading, reasonOf } from './judge.ts';
import type { Reading } from './reading.ts';

/** A part's own reason with the numbers that it rests on. */
export interface Reason {
  readonly code: ReasonCode;
  readonly facts: Facts;
}

type Of<K extends Reading['kind']> = Extract<Reading, { kind: K }>;
type OutputJudgement = Judgement & { readonly errorKpa: number; readonly referenceKpaAbs: number };

/** An output this near to a rail, as a share of the clamp's distance to it, is at the rail. */
const AT_RAIL = 0.5;
/** Less travel of the output than this share of the pressure's is no following. */
const FOLLOWS = 0.1;
/** Share of the allowed error that may stay unexplained by one cause (offset or span). */
const UNEXPLAINED = 0.4;
/** Standard uncertainties by which a failure must stand out of a noise that fails itself. */
const CERTAIN = 3;

/** The reason that forbids a fill, out of one nest's readings so far; null when the part may be filled. */
export function earlyEnd(plan: Plan, readings: readonly Reading[]): Reason | null {
  const current = readings.find((reading) => reading.kind === 'current');
  if (current !== undefined) {
    const electrical = electricalReason(plan, current);
    if (electrical !== null) return electrical;
  }
  const ambient = readings.find((reading) => reading.kind === 'output' && reading.step === 'ambient-check');
  return ambient?.kind === 'output' ? ambientReason(plan, ambient) : null;
}

/** What supply current and output say together before there is any pressure. */
function electricalReason(plan: Plan, reading: Of<'current'>): Reason | null {
  const { supply, load, clamps } = plan.profile.content;
  const facts = { supplyMa: reading.supplyMa.value, outputV: reading.outputV.value };
  const supplyV = reading.supplyV.value;
  const { lowV, highV } = clampsV(clamps, supplyV);
  const atGround = reading.outputV.value < AT_RAIL * lowV;
  const atSupply = reading.outputV.value > supplyV - AT_RAIL * (supplyV - highV);
  if (reading.supplyMa.value < supply.presentMa) {
    // A load to the supply lifts an open output as well: then nothing tells an open ground from no part.
    return { code: atSupply && load.to === 'ground' ? 'ground-open' : 'no-contact', facts };
  }
  if (atGround) return { code: 'output-at-ground', facts };
  if (atSupply) return { code: 'output-at-supply', facts };
  const judgement = judgeReading(plan, reading);
  if (judgement.verdict === 'pass') return null;
  const { low, high } = supply.currentMa;
  return { code: judgement.value > (low + high) / 2 ? 'current-high' : 'current-low', facts: { ...facts, low, high } };
}

/** An implausible ambient output: another part number that would read just so, or none that is known. */
function ambientReason(plan: Plan, reading: Of<'output'>): Reason | null {
  const judgement = judgeReading(plan, reading);
  if (judgement.verdict === 'pass') return null;
  const supplyV = reading.supplyV.value;
  const facts = { outputV: reading.outputV.value, supplyV, barometerKpaAbs: reading.barometerKpaAbs.value };
  const nearest = plan.others
    .map((other) => {
      const expectedV = outputAt(other.transfer, reading.referenceKpaAbs.value, supplyV);
      const withinV = other.errorKpa * slopeVPerKpa(other.transfer, supplyV);
      return { other, expectedV, off: Math.abs(reading.outputV.value - expectedV) / withinV };
    })
    .filter(({ off }) => off <= 1)
    .sort((a, b) => a.off - b.off)[0];
  if (nearest === undefined) return { code: 'ambient-implausible', facts };
  const { partNumber, pressureClass } = nearest.other;
  return {
    code: 'other-class',
    facts: { ...facts, readsLike: partNumber, pressureClass, expectedV: nearest.expectedV },
  };
}

/** Every reason that one nest's readings give, the one that explains the others first; empty for a good part. */
export function reasonsOf(plan: Plan, readings: readonly Reading[], judgements: readonly Judgement[]): Reason[] {
  const early = earlyEnd(plan, readings);
  if (early !== null) return [early];
  const certain = explainNoise(judgements);
  return [
    ...readings.flatMap((reading, i) => {
      const judgement = certain[i];
      return judgement === undefined ? [] : reasonOfOne(reading, judgement);
    }),
    ...outputReasons(plan, readings, certain),
  ].sort(byExplanation);
}

/**
 * A noisy output makes other readings uncertain: what it may have made fail is its doing and no reason of its own. What
 * fails by more than 3 u stays one.
 */
function explainNoise(judgements: readonly Judgement[]): readonly Judgement[] {
  if (!judgements.some(({ quantity, verdict }) => quantity === 'noise' && verdict === 'fail')) return judgements;
  return judgements.map((judgement) => {
    const { quantity, value, u, low, high } = judgement;
    const excused = quantity === 'lag' || quantity === 'output';
    const inside = (low === null || value > low - CERTAIN * u) && (high === null || value < high + CERTAIN * u);
    return excused && inside ? { ...judgement, verdict: 'pass' } : judgement;
  });
}

function reasonOfOne(reading: Reading, judgement: Judgement): Reason[] {
  const code = reasonOf(reading);
  // A hold that was cut short is a gross leak, however roughly its size is known.
  const cutShort = reading.kind === 'leak' && reading.ended !== 'measured';
  if (code === null || (judgement.verdict === 'pass' && !cutShort)) return [];
  return [{ code, facts: factsOf(judgement) }];
}

/** The numbers of a judgement that a reason rests on. */
function factsOf({ step, value, u, unit, low, high, guard }: Judgement): Facts {
  return { step, value, u, unit, guard, ...(low === null ? {} : { low }), ...(high === null ? {} : { high }) };
}

/** One cause for all failing points: the output does not follow, is shifted, is turned, or is simply wrong. */
function outputReasons(plan: Plan, readings: readonly Reading[], judgements: readonly Judgement[]): Reason[] {
  const points = pointsOf(plan, readings, judgements);
  const failing = points.filter(({ verdict }) => verdict === 'fail');
  const worst = failing.reduce<OutputJudgement | null>((a, b) => (a === null || b.margin < a.margin ? b : a), null);
  if (worst === null) return [];
  const facts = { ...factsOf(worst), errorKpa: worst.errorKpa, points: failing.length };
  return [{ code: causeOf(plan, points, worst), facts }];
}

function causeOf(plan: Plan, points: readonly OutputJudgement[], worst: OutputJudgement): ReasonCode {
  if (!follows(points)) return 'stuck';
  const allowedKpa = plan.profile.content.errorBand.kPa;
  const shift = meanOf(points.map(({ errorKpa }) => errorKpa));
  const gain =
    sumOf(points.map((p) => p.errorKpa * p.referenceKpaAbs)) / sumOf(points.map((p) => p.referenceKpaAbs ** 2));
  const leftByShift = rms(points.map(({ errorKpa }) => errorKpa - shift));
  const leftByGain = rms(points.map((p) => p.errorKpa - gain * p.referenceKpaAbs));
  if (points.length < 2 || leftByShift <= leftByGain) {
    if (points.length > 1 && leftByShift > UNEXPLAINED * allowedKpa) return 'reads-wrong';
    return worst.errorKpa > 0 ? 'reads-high' : 'reads-low';
  }
  if (leftByGain > UNEXPLAINED * allowedKpa) return 'reads-wrong';
  return gain > 0 ? 'span-large' : 'span-small';
}

/** Whether the output moved with the pressure at all. */
function follows(points: readonly OutputJudgement[]): boolean {
  const referenceKpa = points.map(({ referenceKpaAbs }) => referenceKpaAbs);
  const outputKpa = points.map((p) => p.referenceKpaAbs + p.errorKpa);
  const travel = (values: readonly number[]): number => Math.max(...values) - Math.min(...values);
  return points.length < 2 || travel(outputKpa) >= FOLLOWS * travel(referenceKpa);
}

function pointsOf(plan: Plan, readings: readonly Reading[], judgements: readonly Judgement[]): OutputJudgement[] {
  return readings.flatMap((reading, i) => {
    const judgement = judgements[i];
    if (reading.kind !== 'output' || reading.step === 'ambient-check' || judgement === undefined) return [];
    const { transfer } = plan.profile.content;
    const outputKpa = pressureFrom(transfer, reading.outputV.value, reading.supplyV.value);
    const referenceKpaAbs = reading.referenceKpaAbs.value;
    return [{ ...judgement, errorKpa: outputKpa - referenceKpaAbs, referenceKpaAbs }];
  });
}

const sumOf = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0);
const meanOf = (values: readonly number[]): number => sumOf(values) / values.length;
const rms = (values: readonly number[]): number =>
  Math.sqrt(sumOf(values.map((value) => value * value)) / values.length);
