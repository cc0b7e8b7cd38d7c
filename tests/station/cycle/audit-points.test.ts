import { describe, expect, test } from 'vitest';
import { conduct } from '../../../station/cycle/conduct.ts';
import { StationFault } from '../../../station/faults.ts';
import { hashOf } from '../../../station/hash.ts';
import { simulatedProofs } from '../../../station/host/simulated-station.ts';
import { checkContent } from '../../../station/profile/checks.ts';
import { phasesOf } from '../../../station/profile/plan.ts';
import { ProfileContent } from '../../../station/profile/schema.ts';
import type { Rig } from '../../../station/rig/port.ts';
import { goodPart, never, profileNamed, runOn, shipped, stationFor } from '../../support/simulated-plant.ts';

const WAY_BACK = ['40-kpa:rising', '60-kpa:rising', '60-kpa:low-supply', '60-kpa:high-supply', '80-kpa:rising'];

async function audit() {
  const station = await stationFor('AQ-1105', { kind: 'audit' });
  const parts = [goodPart(station.profile, 1), goodPart(station.profile, 2)];
  return { ...station, parts, start: { plan: station.plan, load: ['T-1', 'T-2'], proofs: simulatedProofs([]) } };
}

/** The rig with what each nest's supply was set to, V, in order. */
function witnessed(rig: Rig): { rig: Rig; set: (nest: number) => number[] } {
  const calls: { nest: number; volts: number }[] = [];
  const supply: Rig['supply'] = (nest, volts, stop) => {
    calls.push({ nest, volts });
    return rig.supply(nest, volts, stop);
  };
  const proxy = new Proxy(rig, {
    get: (target, key): unknown => {
      if (key === 'supply') return supply;
      const value: unknown = Reflect.get(target, key, target);
      return typeof value === 'function' ? (value.bind(target) as unknown) : value;
    },
  });
  return { rig: proxy, set: (nest) => calls.filter((each) => each.nest === nest).map(({ volts }) => volts) };
}

describe('what an audit takes after the line', () => {
  test('the way back and two supplies, each judged in every nest, and its parts pass', async () => {
    const station = await audit();
    const { measurement } = await runOn(station, station.parts);
    expect(measurement.faults).toEqual([]);
    expect(measurement.results.map(({ verdict }) => verdict)).toEqual(['pass', 'pass']);
    const own = measurement.judgements.filter(({ nest, quantity }) => nest === 0 && quantity === 'output');
    expect(own.map(({ step }) => step).slice(-5)).toEqual(WAY_BACK);
    const at = (step: string) => measurement.readings.find((each) => each.nest === 0 && each.step === step);
    for (const [step, setV] of [
      ['60-kpa:rising', 5],
      ['60-kpa:low-supply', 4.85],
      ['60-kpa:high-supply', 5.15],
      ['80-kpa:rising', 5],
    ] as const) {
      const reading = at(step);
      if (reading?.kind !== 'output') throw new Error(`${step} was not read`);
      // Sources are within 1 % of what is asked for, and what they give is measured.
      expect(Math.abs(reading.supplyV.value / setV - 1)).toBeLessThan(0.0101);
      const judged = own.find((each) => each.step === step);
      expect(judged?.arithmetic.find(([term]) => term === 'supply as read')?.[1]).toBeCloseTo(reading.supplyV.value, 5);
    }
  });

  test('a line cycle of the same profile takes none of it, and measures what it did without', async () => {
    const line = await stationFor('AQ-1105');
    expect(phasesOf(line.plan).filter((phase) => phase.includes(':', 6))).toEqual([]);
    const { auditPoints: _, ...content } = line.profile.content;
    const without = await stationFor('AQ-1105', { profile: { revision: 9, content, hash: hashOf(content) } });
    const [ran, bare] = await Promise.all(
      [line, without].map((station) => runOn(station, [goodPart(station.profile, 1), goodPart(station.profile, 2)])),
    );
    expect(bare?.measurement.plan).not.toBe(ran?.measurement.plan);
    expect({ ...bare?.measurement, plan: '' }).toEqual({ ...ran?.measurement, plan: '' });
  });

  test('back at the nominal supply before anything else moves, and off at the end', async () => {
    const { rig, start, parts } = await audit();
    rig.loadParts(parts, 1);
    const seen = witnessed(rig);
    await conduct(seen.rig, start, never, () => undefined);
    for (const nest of [0, 1]) expect(seen.set(nest)).toEqual([0, 5, 4.85, 5.15, 5, 0]);
  });

  test('a profile that asks for nothing is audited as on the line', async () => {
    const { plan } = await stationFor('AQ-2105', { kind: 'audit' });
    expect(plan.steps.map(({ step }) => step).filter((step) => step.includes(':'))).toEqual([]);
  });
});

describe('whatever ends it', () => {
  test.each(WAY_BACK.map((step) => `point:${step}`))('a stop in %s leaves no supply and no pressure', async (phase) => {
    const { rig, start, parts } = await audit();
    rig.loadParts(parts, 1);
    for (const afterBlocks of [0, 3]) {
      const stopping = new AbortController();
      let blocks = -1;
      const end = await conduct(
        rig,
        start,
        stopping.signal,
        (event) => {
          if (event.type === 'phase' && event.phase === phase) blocks = afterBlocks;
        },
        () => {
          if (blocks === 0) stopping.abort(new StationFault('operator-stop'));
          blocks -= 1;
        },
      );
      expect(end.results.map(({ verdict, why }) => [verdict, why[0]?.code])).toEqual([
        ['none', 'operator-stop'],
        ['none', 'operator-stop'],
      ]);
      const { vented } = await rig.safe();
      const { nests } = await rig.acquire(20, never);
      expect(vented).toBe(true);
      for (const { supplyV } of nests) expect(Math.abs(supplyV)).toBeLessThan(0.01);
    }
  });

  test('a supply that fails while it is switched is the fault of the station', async () => {
    const station = await audit();
    const { measurement } = await runOn(station, station.parts, {
      faults: [{ phase: 'point:60-kpa:low-supply', fault: { what: 'supply-lost', where: { nest: 1 }, size: 0 } }],
    });
    expect(measurement.faults).toMatchObject([{ code: 'supply-off', nest: 1, phase: 'point:60-kpa:low-supply' }]);
    expect(measurement.results.map(({ verdict }) => verdict)).toEqual(['none', 'none']);
  });

  test('a supply beyond what the part is allowed is not read, and is the fault of the station', async () => {
    const { content: shippedOne } = profileNamed('AQ-1105');
    const supply = { ...shippedOne.supply, allowedV: { low: 4.79, high: 5.205 } };
    const content = { ...shippedOne, supply };
    expect(checkContent(content)).toEqual([]);
    const profile = { revision: 9, content, hash: hashOf(content) };
    const station = await stationFor('AQ-1105', { kind: 'audit', profile });
    const parts = [goodPart(profile, 1), goodPart(profile, 2)];
    const good = await runOn(station, parts);
    expect(good.measurement.faults).toEqual([]);
    // 50 mV more are within the 2 % that a source may be off unnoticed.
    const { measurement } = await runOn(station, parts, {
      faults: [
        {
          phase: 'point:60-kpa:high-supply',
          fault: { what: 'supply-readback-offset', where: { nest: 0 }, size: 0.05 },
        },
      ],
    });
    const [fault] = measurement.faults;
    expect(fault).toMatchObject({ code: 'supply-off', nest: 0, facts: { setV: 5.15 } });
    expect(Number(fault?.facts['readV'])).toBeGreaterThan(5.205);
    expect(Number(fault?.facts['readV'])).toBeLessThan(1.02 * 5.15);
    expect(measurement.readings.filter(({ step }) => step === '60-kpa:high-supply')).toEqual([]);
  });
});

describe('profiles that were kept before', () => {
  test.each(shipped.filter(({ content }) => content.auditPoints === undefined))(
    '$content.partNumber reads as it was and keeps its hash',
    ({ content, hash }) => {
      const stored = JSON.parse(JSON.stringify(content)) as unknown;
      const read = ProfileContent.parse(stored);
      expect(Object.keys(read)).not.toContain('auditPoints');
      expect(hashOf(read)).toBe(hash);
    },
  );

  test('two profiles that differ only in what audits take are two', () => {
    const { content, hash } = profileNamed('AQ-1105');
    const { auditPoints: _, ...without } = content;
    expect(hashOf(without)).not.toBe(hash);
  });
});
