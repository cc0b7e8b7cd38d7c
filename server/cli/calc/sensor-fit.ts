import * as z from 'zod';
import { sensorFit } from '../../quality/comparison/sensor-fit.ts';
import type { Linearity, SensorFit, StraightLine } from '../../quality/comparison/sensor-fit.ts';
import type { SweepCycle, SweepReading } from '../../quality/comparison/sensor-sweep.ts';
import { calculation } from './topic.ts';
import type { Topic } from './topic.ts';

const reading = z.strictObject({
  p: z.number(),
  v: z.number(),
  vs: z.number().positive().optional(),
});

const input = z.strictObject({
  vs_nominal: z.number().positive().describe('nominal supply, V'),
  a: z.number().describe('slope of the nominal characteristic V = Vs (a P + b), 1/kPa; not 0, negative if it falls'),
  b: z.number().describe('share of the supply at 0 kPa, without unit'),
  same_within_kpa: z
    .number()
    .min(0)
    .default(0)
    .describe(
      'pressures this near to one another are one point, kPa: set it for measured pressures, which never repeat to the last digit; 0 takes only equal ones together',
    ),
  cycles: z
    .array(z.strictObject({ up: z.array(reading).default([]), down: z.array(reading).default([]) }))
    .describe(
      'pressure cycles in the order measured, readings with rising and with falling pressure: p pressure in kPa absolute, v output in V, vs supply measured with it in V (left out: nominal)',
    ),
});

type Cycle = z.infer<typeof input>['cycles'][number];

const PERCENT = 'percent of the absolute full-scale output; null when that is 0';
const linearityOutputs = (name: string, line: string): Record<string, string> => ({
  [`${name}.deviation_v[]`]: `mean curve minus ${line} at each pressure, V`,
  [`${name}.max_abs_percent_fs`]: `largest deviation, ${PERCENT}`,
  [`${name}.signed_percent_fs`]: 'the same with its sign: above 0 the curve lies above the line',
});

/** `barolot calc sensor-fit`: straightness, hysteresis, repeatability and total error of a sensor from pressure cycles. */
export const sensorFitTopic: Topic = {
  name: 'sensor-fit',
  about: 'pressure cycles of a sensor: straight lines, linearity, hysteresis, repeatability, total error band',
  selectBy: null,
  calculations: [
    calculation({
      kind: null,
      about:
        'How straight, repeatable and true a ratiometric pressure sensor is. Every output is first brought to the nominal supply: v vs_nominal / vs.',
      input,
      outputs: {
        'pressures[]': 'pressures met, rising, kPa; the lists below follow this order',
        'mean_up_v[]': 'mean output over the cycles, pressure rising, V; null where there is none',
        'mean_down_v[]': 'the same, pressure falling',
        'mean_curve_v[]': 'mean of the two, or the one that exists, V',
        full_scale_output_v: 'mean curve at the highest pressure minus at the lowest, V; negative if it falls',
        'best_fit.slope_v_per_kpa': 'least-squares line through all readings, V/kPa',
        'best_fit.intercept_v': 'that line at 0 kPa, V',
        'best_fit.residual_sd_v': 'standard deviation of the readings about it, divisor n - 2, V',
        ...linearityOutputs('linearity_best_fit', 'best-fit line'),
        'terminal.slope_v_per_kpa': 'line through the ends of the mean curve (end-point line), V/kPa',
        'terminal.intercept_v': 'that line at 0 kPa, V',
        ...linearityOutputs('linearity_terminal', 'end-point line'),
        hysteresis: 'null when no pressure was met in both directions',
        'hysteresis.pressures[]': 'pressures met in both directions, kPa',
        'hysteresis.up_minus_down_v[]': 'mean up minus mean down, V',
        'hysteresis.max_abs_percent_fs': `largest of them, ${PERCENT}`,
        repeatability: 'spread over the cycles at the same pressure and direction; null with one cycle',
        'repeatability.max_range_v': 'largest range, V',
        'repeatability.max_range_percent_fs': PERCENT,
        'repeatability.max_sd_v': 'largest standard deviation (divisor n - 1), V',
        'repeatability.pooled_sd_v': 'root of the mean variance, V',
        'repeatability.pooled_sd_percent_fs': PERCENT,
        'total_error_band.error_kpa[]':
          'pressure read by the nominal characteristic minus true pressure, kPa; every reading, cycle by cycle, up then down',
        'total_error_band.min_kpa': 'lowest error, kPa',
        'total_error_band.max_kpa': 'highest error, kPa',
        'total_error_band.max_abs_kpa': 'largest error either way, kPa',
        'total_error_band.mean_kpa': 'mean error, kPa',
        'total_error_band.per_pressure[].p': 'pressure, kPa',
        'total_error_band.per_pressure[].min_kpa': 'lowest error at it, kPa',
        'total_error_band.per_pressure[].max_kpa': 'highest error at it, kPa',
      },
      sources: [
        'ISA-S37.1 / ANSI MC6.1, "Electrical Transducer Nomenclature and Terminology": linearity, hysteresis, repeatability (from memory)',
        'Draper & Smith, "Applied Regression Analysis", 3rd ed., 1.2-1.4: least squares, residual standard deviation',
        'Total error band against the nominal characteristic: common practice, no source',
      ],
      example: {
        vs_nominal: 5,
        a: 0.009,
        b: -0.095,
        cycles: [
          {
            up: [
              { p: 15, v: 0.2045 },
              { p: 65, v: 2.461 },
              { p: 115, v: 4.7152, vs: 5.001 },
            ],
            down: [
              { p: 65, v: 2.4679 },
              { p: 15, v: 0.2054 },
            ],
          },
        ],
      },
      run: ({ vs_nominal, a, b, cycles, same_within_kpa }) =>
        answer(sensorFit({ vsNominalV: vs_nominal, a, b }, cycles.map(cycleOf), same_within_kpa)),
    }),
  ],
};

const readingOf = ({ p, v, vs }: Cycle['up'][number]): SweepReading => ({ pressureKpa: p, outputV: v, supplyV: vs });
const cycleOf = ({ up, down }: Cycle): SweepCycle => ({ up: up.map(readingOf), down: down.map(readingOf) });

const lineAnswer = ({ slopeVPerKpa, interceptV }: StraightLine): object => ({
  slope_v_per_kpa: slopeVPerKpa,
  intercept_v: interceptV,
});

const linearityAnswer = ({ deviationV, maxAbsPercentFs, signedPercentFs }: Linearity): object => ({
  deviation_v: deviationV,
  max_abs_percent_fs: maxAbsPercentFs,
  signed_percent_fs: signedPercentFs,
});

function answer(fit: SensorFit): object {
  const { curve, hysteresis, repeatability, totalErrorBand: band } = fit;
  return {
    pressures: curve.pressuresKpa,
    mean_up_v: curve.meanUpV,
    mean_down_v: curve.meanDownV,
    mean_curve_v: curve.meanV,
    full_scale_output_v: fit.fullScaleOutputV,
    best_fit: { ...lineAnswer(fit.bestFit), residual_sd_v: fit.bestFit.residualSdV },
    linearity_best_fit: linearityAnswer(fit.linearityBestFit),
    terminal: lineAnswer(fit.terminal),
    linearity_terminal: linearityAnswer(fit.linearityTerminal),
    hysteresis: hysteresis && {
      pressures: hysteresis.pressuresKpa,
      up_minus_down_v: hysteresis.upMinusDownV,
      max_abs_percent_fs: hysteresis.maxAbsPercentFs,
    },
    repeatability: repeatability && {
      max_range_v: repeatability.maxRangeV,
      max_range_percent_fs: repeatability.maxRangePercentFs,
      max_sd_v: repeatability.maxSdV,
      pooled_sd_v: repeatability.pooledSdV,
      pooled_sd_percent_fs: repeatability.pooledSdPercentFs,
    },
    total_error_band: {
      error_kpa: band.errorKpa,
      min_kpa: band.minKpa,
      max_kpa: band.maxKpa,
      max_abs_kpa: band.maxAbsKpa,
      mean_kpa: band.meanKpa,
      per_pressure: band.perPressure.map((each) => ({
        p: each.pressureKpa,
        min_kpa: each.minKpa,
        max_kpa: each.maxKpa,
      })),
    },
  };
}
