import { describe, expect, test } from 'vitest';
import type { FaultCode } from '../../../station/faults.ts';
import { phasesOf } from '../../../station/profile/plan.ts';
import type { RigFaultKind } from '../../../station/rig/simulated/rig-fault.ts';
import { goodPart, runOn, stationFor } from '../../support/simulated-plant.ts';

interface Row {
  readonly what: RigFaultKind;
  readonly size: number;
  readonly nest?: number;
  readonly called: readonly FaultCode[];
  /** Phases in which this fault changes nothing that a verdict could rest on, with the reason why. */
  readonly except?: readonly { readonly phase: string; readonly why: string }[];
}

const last = (why: string) => [{ phase: 'vent', why }];
const points = ['point:ambient', 'point:80-kpa', 'point:60-kpa', 'point:40-kpa', 'point:20-kpa'];
const from = (phases: readonly string[], why: string) => phases.map((phase) => ({ phase, why }));
const onlyClamping = [
  'contact',
  'ambient-check',
  'fill',
  'stabilise',
  'measure',
  'point:ambient',
  'point:80-kpa',
  'point:60-kpa',
  'point:40-kpa',
  'point:20-kpa',
  'vent',
];

/** Each fault of the rig, what it must be called, and in which phases it can no longer touch anything. */
const ROWS: readonly Row[] = [
  { what: 'guard-open', size: 0, called: ['guard-open'] },
  { what: 'stop-chain-open', size: 0, called: ['stop-chain-open'] },
  { what: 'air-lost', size: 0, called: ['air-lost'] },
  { what: 'vacuum-lost', size: 0, called: ['vacuum-lost'] },
  {
    what: 'clamp-jammed',
    size: 0,
    called: ['not-clamped'],
    except: from(onlyClamping, 'the clamps have closed already'),
  },
  {
    what: 'supply-lost',
    size: 0,
    nest: 0,
    called: ['supply-off'],
    except: last('the supply is off by then'),
  },
  {
    what: 'supply-readback-offset',
    size: 0.3,
    nest: 1,
    called: ['supply-off'],
    except: last('the supply is off by then'),
  },
  { what: 'reference-silent', size: 0, nest: 0, called: ['instrument-silent'] },
  { what: 'reference-stuck', size: 0, nest: 1, called: ['instrument-stuck', 'instrument-disagrees'] },
  {
    what: 'reference-drift',
    size: 500,
    nest: 0,
    called: ['instrument-disagrees', 'pressure-rises', 'pressure-not-reached', 'pressure-unsteady', 'not-vented'],
  },
  {
    what: 'reference-drift',
    size: -500,
    nest: 0,
    called: ['instrument-disagrees', 'pressure-not-reached', 'not-vented'],
  },
  { what: 'reference-offset', size: 0.3, nest: 1, called: ['instrument-disagrees', 'pressure-rises'] },
  { what: 'reference-offset', size: -0.3, nest: 0, called: ['instrument-disagrees'] },
  { what: 'controller-silent', size: 0, called: ['instrument-silent'] },
  {
    what: 'controller-stuck',
    size: 0,
    called: ['instrument-stuck', 'over-pressure', 'pressure-not-reached', 'instrument-disagrees'],
  },
  { what: 'controller-offset', size: 0.3, called: ['instrument-disagrees'] },
  { what: 'controller-offset', size: -0.3, called: ['instrument-disagrees'] },
  { what: 'controller-drift', size: 300, called: ['instrument-disagrees'] },
  { what: 'barometer-silent', size: 0, called: ['instrument-silent'] },
  { what: 'barometer-offset', size: 0.3, called: ['instrument-disagrees'] },
  { what: 'output-silent', size: 0, nest: 0, called: ['instrument-silent'] },
  { what: 'output-stuck', size: 0, nest: 1, called: ['instrument-stuck'] },
  { what: 'output-offset', size: 0.01, nest: 0, called: ['output-meter-off'] },
  { what: 'output-drift', size: 0.01, nest: 1, called: ['output-meter-off'] },
  { what: 'isolation-silent', size: 0, nest: 0, called: ['valve-no-answer'] },
  {
    what: 'isolation-stuck-open',
    size: 0,
    nest: 0,
    called: ['valve-no-answer'],
    except: from([...points, 'vent'], 'the valve is open then anyway'),
  },
  { what: 'isolation-stuck-shut', size: 0, nest: 1, called: ['valve-no-answer', 'pressure-not-reached', 'not-vented'] },
  {
    what: 'supply-valve-stuck-open',
    size: 0,
    called: ['over-pressure', 'pressure-not-reached', 'not-vented', 'instrument-disagrees', 'pressure-unsteady'],
  },
  { what: 'exhaust-stuck-shut', size: 0, called: ['not-vented', 'pressure-not-reached'] },
  {
    what: 'inlet-blocked',
    size: 0,
    called: ['pressure-not-reached'],
    except: from(
      ['stabilise', 'measure', ...points, 'vent'],
      'after the fill every pressure is reached downwards, without compressed air',
    ),
  },
  {
    what: 'vacuum-valve-stuck-shut',
    size: 0,
    called: ['pressure-not-reached'],
    except: last('the vent needs no vacuum'),
  },
];

/** At the end of the fill the pressure has long been reached: air is not missed any more. */
const isLateBlock = (what: string, phase: string, share: number): boolean =>
  what === 'inlet-blocked' && phase === 'fill' && share > 0.8;

const phases = phasesOf((await stationFor('AQ-1105')).plan).filter((phase) => phase !== 'release');
const cases = ROWS.flatMap((row) =>
  phases.map((phase) => ({ ...row, phase, exception: row.except?.find((each) => each.phase === phase)?.why })),
);

describe('each fault of the rig gives no verdict, a safe rig and its name, whenever it strikes', () => {
  test.each(cases)('$what $size in $phase', async ({ what, size, nest, phase, called, exception }) => {
    const station = await stationFor('AQ-1105');
    const { profile } = station;
    const { measurement, events } = await runOn(station, [goodPart(profile, 1), goodPart(profile, 2)], {
      seed: 17,
      faults: [{ phase, fault: { where: nest === undefined ? {} : { nest }, what, size } }],
    });
    const verdicts = measurement.results.map(({ verdict }) => verdict);
    // Where nothing can depend on the fault any more the parts keep their verdicts.
    if (exception === undefined) {
      expect(verdicts).toEqual(['none', 'none']);
      expect(called).toContain(measurement.faults[0]?.code);
      expect(measurement.judgements).toEqual([]);
    } else {
      expect(verdicts).toEqual(['pass', 'pass']);
    }
    const valveShut =
      what === 'exhaust-stuck-shut' || what === 'supply-valve-stuck-open' || what === 'isolation-stuck-shut';
    if (!valveShut && !/silent|stuck|offset|drift/.test(what)) expect(measurement.vented).toBe(true);
    expect(events.map(({ type }) => type)).toContain('closed');
  });

  // Half-way through a phase, too: a fault need not wait for one to begin.
  const lengths: Readonly<Record<string, number>> = { stabilise: 2740, measure: 480, fill: 580, 'point:60-kpa': 690 };
  const late = ROWS.flatMap((row) =>
    Object.entries(lengths).flatMap(([phase, ms]) =>
      [0.1, 0.35, 0.6, 0.85].map((share) => ({
        ...row,
        phase,
        afterMs: Math.round(ms * share),
        harmless: (row.except?.some((each) => each.phase === phase) ?? false) || isLateBlock(row.what, phase, share),
      })),
    ),
  );
  test.each(late)(
    '$what $size in $phase after $afterMs ms blames no part',
    async ({ what, size, nest, phase, afterMs, harmless }) => {
      const station = await stationFor('AQ-1105');
      const { measurement } = await runOn(station, [goodPart(station.profile, 1), goodPart(station.profile, 2)], {
        seed: 23,
        faults: [{ phase, afterMs, fault: { where: nest === undefined ? {} : { nest }, what, size } }],
      });
      const verdicts = measurement.results.map(({ verdict }) => verdict);
      expect(verdicts).toEqual(harmless ? ['pass', 'pass'] : ['none', 'none']);
    },
  );
});
