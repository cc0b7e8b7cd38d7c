import { describe, expect, test } from 'vitest';
import type { ReasonCode } from '../../../station/reasons.ts';
import { partModelOf } from '../../../station/rig/simulated/part.ts';
import { type PartFault, spoilPart } from '../../../station/rig/simulated/part-fault.ts';
import { goodPart, profileNamed, runOn, stationFor } from '../../support/simulated-plant.ts';

type Bad = PartFault extends infer F ? (F extends PartFault ? Omit<F, 'where'> : never) : never;

/** What each fault of a part must be called; several names where nothing in the readings tells them apart. */
interface Row {
  readonly fault: string;
  readonly on: string;
  readonly bad: Bad;
  readonly called: readonly ReasonCode[];
  readonly verdict: 'fail' | 'none';
}

const row = (fault: string, bad: Bad, called: ReasonCode | ReasonCode[], on = 'AQ-1105'): Row => ({
  fault,
  on,
  bad,
  called: Array.isArray(called) ? called : [called],
  verdict: called === 'no-contact' ? 'none' : 'fail',
});

const classOf = (partNumber: string): Bad => ({
  what: 'other-class',
  model: partModelOf(profileNamed(partNumber).content),
});

const ROWS: readonly Row[] = [
  row('a small leak, half above the limit', { what: 'leak', size: 0.8 }, 'leak'),
  row('a leak', { what: 'leak', size: 2.5 }, 'leak'),
  row('a gross leak', { what: 'leak', size: 12 }, 'gross-leak'),
  row('a very gross leak', { what: 'leak', size: 400 }, 'gross-leak'),
  row('a leak that lets the fill come late', { what: 'leak', size: 1500 }, 'gross-leak'),
  row('a leak that lets the fill come nearly', { what: 'leak', size: 2000 }, 'gross-leak'),
  row('a missing seal', { what: 'leak', size: 20_000 }, 'gross-leak'),
  row('an offset upwards', { what: 'offset', size: 3 }, 'reads-high'),
  row('an offset downwards', { what: 'offset', size: -3 }, 'reads-low'),
  row('too large a span', { what: 'span', size: 4 }, 'span-large'),
  row('too small a span', { what: 'span', size: -4 }, 'span-small'),
  row('an open output', { what: 'output-open', size: 0 }, 'output-at-ground'),
  row('an output shorted to ground', { what: 'output-short-to-ground', size: 0 }, 'output-at-ground'),
  row('an output shorted to supply', { what: 'output-short-to-supply', size: 0 }, 'output-at-supply'),
  row('an open supply', { what: 'supply-open', size: 0 }, 'no-contact'),
  row('an open ground', { what: 'ground-open', size: 0 }, 'ground-open'),
  row('no part', { what: 'no-part', size: 0 }, 'no-contact'),
  row('a noisy output', { what: 'noise', size: 0.012 }, 'noisy'),
  row('a slow port, 40 ms', { what: 'slow', size: 0.04 }, 'slow'),
  row('a slow port, 0.3 s', { what: 'slow', size: 0.3 }, 'slow'),
  row('a slow port, 3 s', { what: 'slow', size: 3 }, 'slow'),
  row('a port so slow that nothing settles', { what: 'slow', size: 3 }, 'slow', 'AQ-3105'),
  row('a very noisy output', { what: 'noise', size: 0.2 }, 'noisy'),
  row('an output that is nothing but noise', { what: 'noise', size: 1 }, 'noisy'),
  row('an output stuck near ambient', { what: 'stuck', size: 0.82 }, 'stuck'),
  row('an output stuck half way', { what: 'stuck', size: 0.5 }, ['ambient-implausible', 'other-class']),
  row('a current too high', { what: 'current', size: 14 }, 'current-high'),
  row('a current too low', { what: 'current', size: 2 }, 'current-low'),
  row('a part of a class above', classOf('AQ-2105'), 'other-class'),
  row('a part of two classes above', classOf('AQ-3105'), 'other-class'),
  row('a part of a class below', classOf('AQ-1105'), 'other-class', 'AQ-3105'),
  row('an offset of a regulated part', { what: 'offset', size: 3 }, 'reads-high', 'AQ-1112'),
  row('a leak of a regulated part', { what: 'leak', size: 2.5 }, 'leak', 'AQ-1112'),
  row('an open output of a regulated part', { what: 'output-open', size: 0 }, 'output-at-ground', 'AQ-1112'),
  row('a gross leak of a 2 bar part', { what: 'leak', size: 60 }, 'gross-leak', 'AQ-2105'),
  row('too small a span of a 3 bar part', { what: 'span', size: -4 }, 'span-small', 'AQ-3105'),
];

const cases = ROWS.flatMap((given) => [0, 1].map((nest) => ({ ...given, nest, other: 1 - nest })));

describe('each fault of a part is caught and named, and its neighbour keeps its own verdict', () => {
  test.each(cases)('$fault in nest $nest of $on', async ({ on, bad, called, verdict, nest, other }) => {
    const station = await stationFor(on);
    const good = [goodPart(station.profile, 1), goodPart(station.profile, 2)];
    const parts = good.map((part, n) => (n === nest ? spoilPart(part, { where: { nest }, ...bad }) : part));
    const load = ['T-00001', 'T-00002'];
    const { measurement } = await runOn(station, parts, { seed: 11, load });
    const [spoilt, neighbour] = [measurement.results[nest], measurement.results[other]];
    expect(measurement.faults).toEqual([]);
    expect(called).toContain(spoilt?.why[0]?.code);
    expect(spoilt?.why.every(({ by }) => by === 'part')).toBe(true);
    expect(spoilt?.verdict).toBe(verdict);
    expect(neighbour).toEqual({ nest: other, serial: load[other], verdict: 'pass', why: [] });
    expect(measurement.vented).toBe(true);
  });

  test.each(['AQ-1105', 'AQ-1107', 'AQ-1112', 'AQ-2105', 'AQ-3105'])(
    'two good parts of %s pass',
    async (partNumber) => {
      const station = await stationFor(partNumber);
      const { measurement } = await runOn(station, [goodPart(station.profile, 1), goodPart(station.profile, 2)], {
        seed: 5,
      });
      expect(measurement.results.map(({ verdict }) => verdict)).toEqual(['pass', 'pass']);
    },
  );

  test('the name of the other class is said, and the part was never filled', async () => {
    const station = await stationFor('AQ-3105');
    const intruder = spoilPart(goodPart(station.profile, 1), {
      where: { nest: 0 },
      ...classOf('AQ-1105'),
    });
    let highestKpaAbs = 0;
    const { measurement } = await runOn(station, [intruder, goodPart(station.profile, 2)], {
      seed: 3,
      onlooker: (block) => {
        highestKpaAbs = Math.max(highestKpaAbs, ...(block.nests[0]?.referenceKpaAbs ?? []));
      },
    });
    expect(measurement.results[0]?.why[0]).toMatchObject({ code: 'other-class', facts: { readsLike: 'AQ-1105' } });
    expect(highestKpaAbs).toBeLessThan(105);
  });

  test.each([800, 2000, 20_000])(
    'two parts that both leak %f std cm3/min: the manifold alone proves the air',
    async (size) => {
      const station = await stationFor('AQ-1105');
      const parts = [1, 2].map((index) => ({ ...goodPart(station.profile, index), leakStdCm3PerMin: size }));
      const { measurement } = await runOn(station, parts, { seed: 13 });
      expect(measurement.faults).toEqual([]);
      expect(measurement.results.map(({ why }) => why[0]?.code)).toEqual(['gross-leak', 'gross-leak']);
    },
  );

  test('no offset within the band lets a slow port pass, however the two meet', async () => {
    const station = await stationFor('AQ-1105');
    for (const lagS of [0.03, 0.06, 0.1, 0.14, 0.18, 0.22, 0.26, 0.3, 0.4, 0.6, 1, 2])
      for (const offsetKpa of [-1.3, -0.9, -0.6, -0.3, 0, 0.3, 0.6, 0.9, 1.3]) {
        const fresh = await stationFor('AQ-1105');
        const part = { ...goodPart(station.profile, 1), offsetKpa, span: 0, bowKpa: 0, lagS };
        const { measurement } = await runOn(fresh, [part, goodPart(station.profile, 2)], { seed: 16 });
        expect(measurement.results[0]?.why[0]?.code, `${lagS} s, ${offsetKpa} kPa`).toBe('slow');
      }
  });

  test('two of four that refuse the pressure end, the other two are tested on', async () => {
    const station = await stationFor('AQ-1105', { nests: 4 });
    const parts = [20_000, 0.02, 3000, 0.02].map((size, nest) => ({
      ...goodPart(station.profile, nest),
      leakStdCm3PerMin: size,
    }));
    const { measurement } = await runOn(station, parts, { seed: 14 });
    expect(measurement.results.map(({ verdict }) => verdict)).toEqual(['fail', 'pass', 'fail', 'pass']);
  });

  test('when more than four refuse, the air is to blame and nobody is judged', async () => {
    const station = await stationFor('AQ-1105', { nests: 8 });
    const parts = Array.from({ length: 8 }, (_, nest) => ({
      ...goodPart(station.profile, nest),
      leakStdCm3PerMin: 20_000,
    }));
    const { measurement } = await runOn(station, parts, { seed: 15 });
    expect(measurement.faults[0]?.code).toBe('pressure-not-reached');
    expect(new Set(measurement.results.map(({ verdict }) => verdict))).toEqual(new Set(['none']));
  });

  test('an odd last part and an empty nest are ordinary', async () => {
    const station = await stationFor('AQ-1105');
    const { measurement } = await runOn(station, [null, goodPart(station.profile, 2)], { seed: 9 });
    expect(measurement.results).toEqual([{ nest: 1, serial: 'T-9-2', verdict: 'pass', why: [] }]);
  });

  test.each([1, 4, 8, 16])('%i nests at once, a leak in the last one', async (nests) => {
    const station = await stationFor('AQ-1105', { nests });
    const parts = Array.from({ length: nests }, (_, nest) => ({
      ...goodPart(station.profile, nest),
      leakStdCm3PerMin: nest === nests - 1 ? 1.5 : 0.02,
    }));
    const { measurement } = await runOn(station, parts, { seed: 21 });
    expect(measurement.faults).toEqual([]);
    expect(measurement.results.map(({ verdict }) => verdict)).toEqual(
      parts.map((_, nest) => (nest === nests - 1 ? 'fail' : 'pass')),
    );
  });
});
