import { sensorFit } from '../../quality/comparison/sensor-fit.ts';
import type { SensorFit } from '../../quality/comparison/sensor-fit.ts';
import { moments, sampleSd } from '../../quality/moments.ts';
import type { AuditPoint, AuditReading, Characteristics, EvaluationInput, SampleSpread } from './contract.ts';
import { bySerial } from './drift.ts';

type PartValue = SampleSpread['parts'][number];

/** Fewer pressures than this leave nothing of a straight line to depart from. */
const LEAST_PRESSURES = 3;

/**
 * Hysteresis, linearity, effect of the supply and response of the sample, stage by stage; what each is stands in the contract.
 * Definitions as in ISA-S37.1 / ANSI MC6.1 and IEC 61298-2 (from memory): hysteresis is the output rising less falling at
 * the same pressure, linearity the largest departure of the mean of both from a straight line, here the least-squares line
 * through all readings (`sensorFit`).
 *
 * @throws QualityError `not-finite`
 */
export function characteristicsOf(input: EvaluationInput): Characteristics {
  const stages = input.stages.map(({ stage }) => stage);
  const swept = stages.map((stage) => ({ stage, sweeps: sweepsOf(input, stage) }));
  return {
    hysteresis: swept.flatMap(({ stage, sweeps }) => hysteresisOf(input, stage, sweeps)),
    linearity: swept.flatMap(({ stage, sweeps }) => {
      const spread = spreadOf(sweeps.map(departureOf));
      return spread === null ? [] : [{ stage, ...spread }];
    }),
    supply: stages.flatMap((stage) => supplyOf(input, stage)),
    response: stages.flatMap((stage) => responseOf(input, stage)),
  };
}

/** Readings at nominal supply: the line's points and the way back. */
const isSwept = ({ again }: AuditPoint): boolean => again === null || again.supplyV === null;
const isWayBack = ({ again }: AuditPoint): boolean => again !== null && again.supplyV === null;

interface Sweep {
  readonly serial: string;
  readonly readings: readonly AuditReading[];
  readonly fit: SensorFit;
}

/** Each part's way there and back in one stage; parts that were read from one side only, or at too few pressures, are left out. */
function sweepsOf({ points, readings }: EvaluationInput, stage: number): Sweep[] {
  if (!points.some(isWayBack)) return [];
  const branches = new Map(points.filter(isSwept).map(({ step, branch }) => [step, branch]));
  const swept = readings.filter((each) => each.stage === stage && branches.has(each.step));
  return bySerial(swept).flatMap((own): Sweep[] => {
    const pressures = new Set(own.map(({ pointKpaAbs }) => pointKpaAbs));
    const [up, down] = (['rising', 'falling'] as const).map((side) =>
      own.filter(({ step }) => branches.get(step) === side).map(asOutput),
    );
    if (pressures.size < LEAST_PRESSURES || up === undefined || down === undefined) return [];
    if (up.length === 0 || down.length === 0) return [];
    return own.slice(0, 1).map(({ serial }) => ({ serial, readings: own, fit: sensorFit(IN_KPA, [{ up, down }]) }));
  });
}

/** A characteristic whose output is the pressure itself: what `sensorFit` calls volts are then kPa. */
const IN_KPA = { vsNominalV: 1, a: 1, b: 0 } as const;

const asOutput = ({ pointKpaAbs, errorKpa }: AuditReading) => ({
  pressureKpa: pointKpaAbs,
  outputV: pointKpaAbs + errorKpa,
});

function hysteresisOf(
  { points }: EvaluationInput,
  stage: number,
  sweeps: readonly Sweep[],
): Characteristics['hysteresis'][number][] {
  return points.filter(isWayBack).flatMap(({ again }) => {
    const step = again?.of ?? '';
    const spread = spreadOf(
      sweeps.flatMap(({ serial, readings, fit }) => {
        const at = readings.find((each) => each.step === step)?.pointKpaAbs;
        const place = at === undefined ? -1 : (fit.hysteresis?.pressuresKpa.indexOf(at) ?? -1);
        const value = fit.hysteresis?.upMinusDownV[place];
        return value === undefined ? [] : [{ serial, value }];
      }),
    );
    return spread === null ? [] : [{ stage, step, ...spread }];
  });
}

const departureOf = ({ serial, fit: { linearityBestFit } }: Sweep): PartValue => ({
  serial,
  value: largestOf(linearityBestFit.deviationV.map((value) => ({ serial, value })))?.value ?? 0,
});

function supplyOf({ points, readings }: EvaluationInput, stage: number): Characteristics['supply'][number][] {
  const inStage = readings.filter((each) => each.stage === stage);
  return points.flatMap(({ step, again }) => {
    if (again === null || again.supplyV === null) return [];
    const { of, supplyV } = again;
    const nominal = new Map(inStage.filter((each) => each.step === of).map((each) => [each.serial, each.errorKpa]));
    const spread = spreadOf(
      inStage.flatMap((reading) => {
        const before = nominal.get(reading.serial);
        if (reading.step !== step || before === undefined) return [];
        return [{ serial: reading.serial, value: reading.errorKpa - before }];
      }),
    );
    return spread === null ? [] : [{ stage, step, supplyV, ...spread }];
  });
}

function responseOf({ lags }: EvaluationInput, stage: number): Characteristics['response'][number][] {
  const own = lags.filter((each) => each.stage === stage);
  const spread = spreadOf(own.map(({ serial, lagMs }) => ({ serial, value: lagMs })));
  const limitMs = own[0]?.limitMs;
  return spread === null || limitMs === undefined ? [] : [{ stage, limitMs, ...spread }];
}

/** One number of each part over the sample; null without any. */
function spreadOf(parts: readonly PartValue[]): SampleSpread | null {
  const largest = largestOf(parts);
  if (largest === null) return null;
  const found = moments(parts.map(({ value }) => value));
  return { n: found.n, mean: found.mean, sd: sampleSd(found), largest: largest.value, serial: largest.serial, parts };
}

function largestOf(parts: readonly PartValue[]): PartValue | null {
  return parts.reduce<PartValue | null>(
    (most, each) => (most === null || Math.abs(each.value) > Math.abs(most.value) ? each : most),
    null,
  );
}
