import { describe, expect, test } from 'vitest';
import { conduct } from '../../../station/cycle/conduct.ts';
import type { CycleEvent } from '../../../station/cycle/event.ts';
import { foldEvent, measurementOf } from '../../../station/cycle/fold.ts';
import { StationFault } from '../../../station/faults.ts';
import { canonicalJson } from '../../../station/hash.ts';
import { phasesOf } from '../../../station/profile/plan.ts';
import type { Rig } from '../../../station/rig/port.ts';
import { simulatedProofs } from '../../../station/host/simulated-station.ts';
import { goodPart, never, runOn, stationFor } from '../../support/simulated-plant.ts';

async function loaded() {
  const station = await stationFor('AQ-1105');
  station.rig.loadParts([goodPart(station.profile, 1), goodPart(station.profile, 2)], 4);
  return { ...station, start: { plan: station.plan, load: ['T-00001', 'T-00002'], proofs: simulatedProofs([]) } };
}

/** The rig, and what was asked of it that moves or energises something. */
function witnessed(rig: Rig): { rig: Rig; moved: string[] } {
  const moved: string[] = [];
  const watched = ['setPressure', 'isolate', 'clamp', 'release', 'supply', 'vent'];
  const proxy = new Proxy(rig, {
    get(target, key): unknown {
      const value: unknown = Reflect.get(target, key, target);
      if (typeof value !== 'function') return value;
      return (...given: unknown[]): unknown => {
        if (typeof key === 'string' && watched.includes(key)) moved.push(key);
        return (value as (...args: unknown[]) => unknown).apply(target, given);
      };
    },
  });
  return { rig: proxy, moved };
}

describe('what must be kept is kept first', () => {
  test('nothing moves when the opening cannot be kept, and no part is judged', async () => {
    const { rig, start } = await loaded();
    const seen = witnessed(rig);
    const end = await conduct(seen.rig, start, never, (event) => {
      if (event.type === 'opened') throw new Error('disk full');
    });
    expect(seen.moved).toEqual([]);
    expect(end.results.map(({ verdict, why }) => [verdict, why[0]?.code])).toEqual([
      ['none', 'not-kept'],
      ['none', 'not-kept'],
    ]);
  });

  test('nothing moves before the opening is on disk, however long that takes', async () => {
    const { rig, start } = await loaded();
    const seen = witnessed(rig);
    let movedBefore = -1;
    await conduct(seen.rig, start, never, async (event) => {
      if (event.type !== 'opened') return;
      for (let turn = 0; turn < 50; turn += 1) await Promise.resolve();
      movedBefore = seen.moved.length;
    });
    expect(movedBefore).toBe(0);
    expect(seen.moved.length).toBeGreaterThan(0);
  });

  test('when the closing cannot be kept the rig is vented, no verdict leaves, and the parts can be taken out', async () => {
    const { rig, start } = await loaded();
    const events: CycleEvent[] = [];
    const end = await conduct(rig, start, never, async (event) => {
      events.push(event);
      if (event.type === 'closed') return Promise.reject(new Error('disk full'));
    });
    expect(end.results.map(({ verdict }) => verdict)).toEqual(['none', 'none']);
    expect(end.vented).toBe(true);
    expect(events.find(({ type }) => type === 'released')).toMatchObject({ released: true });
    expect((await rig.interlocks(never)).clamped).toBe(false);
  });

  test('no nest is released before the closing is on disk', async () => {
    const { rig, start } = await loaded();
    let clampedAtClosing: boolean | null = null;
    await conduct(rig, start, never, async (event) => {
      if (event.type === 'closed') clampedAtClosing = (await rig.interlocks(never)).clamped;
    });
    expect(clampedAtClosing).toBe(true);
  });
});

const phases = phasesOf((await stationFor('AQ-1105')).plan);

describe('a stop', () => {
  test.each(phases)('by the operator in %s leaves the rig safe', async (phase) => {
    const { rig, start } = await loaded();
    const stopping = new AbortController();
    const events: CycleEvent[] = [];
    const end = await conduct(rig, start, stopping.signal, (event) => {
      events.push(event);
      if (event.type === 'phase' && event.phase === phase) stopping.abort(new StationFault('operator-stop'));
    });
    const { nestKpaAbs, vented } = await rig.safe();
    expect(vented).toBe(true);
    expect(Math.max(...nestKpaAbs.map((kPaAbs) => kPaAbs ?? 0))).toBeLessThan(104);
    if (phase === 'release') {
      // The record is kept by then: its verdicts stand, only the clamps stay.
      expect(end.results.map(({ verdict }) => verdict)).toEqual(['pass', 'pass']);
    } else {
      expect(end.results.map(({ verdict, why }) => [verdict, why[0]?.code])).toEqual([
        ['none', 'operator-stop'],
        ['none', 'operator-stop'],
      ]);
      expect(measurementOf(events).faults[0]).toMatchObject({ code: 'operator-stop', phase });
    }
  });

  test('that came before the start moves nothing', async () => {
    const { rig, start } = await loaded();
    const seen = witnessed(rig);
    const end = await conduct(seen.rig, start, AbortSignal.abort(new StationFault('operator-stop')), () => undefined);
    expect(end.results[0]?.why[0]?.code).toBe('operator-stop');
    expect(seen.moved).toEqual([]);
  });

  test('a consumer that fails on an ordinary event gets its error back, the rig safe first', async () => {
    const { rig, start } = await loaded();
    await expect(
      conduct(rig, start, never, (event) => {
        if (event.type === 'phase' && event.phase === 'measure') throw new Error('screen gone');
      }),
    ).rejects.toThrow('screen gone');
    expect((await rig.safe()).vented).toBe(true);
  });
});

describe('a broken premise', () => {
  test('ends as the fault "program" with every part unjudged, said on one line as a record can hold it', async () => {
    const { rig, start } = await loaded();
    const broken = new Proxy(rig, {
      get(target, key): unknown {
        const value: unknown = Reflect.get(target, key, target);
        if (key === 'setPressure') return () => Promise.reject(new Error('no such\nvalve'));
        return typeof value === 'function' ? (value.bind(target) as unknown) : value;
      },
    });
    const events: CycleEvent[] = [];
    const end = await conduct(broken, start, never, (event) => void events.push(event));
    expect(end.results.map(({ verdict }) => verdict)).toEqual(['none', 'none']);
    expect(measurementOf(events).faults).toEqual([
      { code: 'program', phase: 'fill', nest: null, facts: { error: 'Error: no such valve' } },
    ]);
    expect((await rig.safe()).vented).toBe(true);
  });
});

test('a fault with a number that is none is still kept', async () => {
  const { rig, start } = await loaded();
  const broken = new Proxy(rig, {
    get(target, key): unknown {
      const value: unknown = Reflect.get(target, key, target);
      const facts = { readKpaAbs: Number.NaN, said: '', apartKpa: 1 / 3 };
      if (key === 'setPressure') return () => Promise.reject(new StationFault('instrument-silent', { nest: 1, facts }));
      return typeof value === 'function' ? (value.bind(target) as unknown) : value;
    },
  });
  const events: CycleEvent[] = [];
  await conduct(broken, start, never, (event) => void events.push(event));
  const { faults } = measurementOf(events);
  expect(JSON.parse(canonicalJson(faults))).toEqual([
    {
      code: 'instrument-silent',
      phase: 'fill',
      nest: 1,
      facts: { readKpaAbs: 'NaN', said: 'nothing', apartKpa: 0.33333333 },
    },
  ]);
});

describe('the proof gate', () => {
  test.each(['master-check', 'calibration'])(
    'a %s that is due stops a line cycle before anything moves',
    async (due) => {
      const { rig, start } = await loaded();
      const seen = witnessed(rig);
      const end = await conduct(seen.rig, { ...start, proofs: simulatedProofs([due]) }, never, () => undefined);
      expect(end.results[0]?.why[0]).toMatchObject({ code: 'proof-due', facts: { proof: due, state: 'due' } });
      expect(seen.moved).toEqual([]);
    },
  );

  test('a nest that never held this part sealed is not trusted with a leak', async () => {
    const station = await stationFor('AQ-1105');
    const revision = { ...station.revision, characters: station.revision.characters.filter(({ nest }) => nest === 0) };
    const plan = { ...station.plan, rig: { ...station.plan.rig, revision } };
    const { measurement } = await runOn({ ...station, plan }, [
      goodPart(station.profile, 1),
      goodPart(station.profile, 2),
    ]);
    expect(measurement.faults[0]).toMatchObject({ code: 'proof-due', facts: { proof: 'characterisation' } });
  });

  test('with an empty place in that nest the other one is tested', async () => {
    const station = await stationFor('AQ-1105');
    const revision = { ...station.revision, characters: station.revision.characters.filter(({ nest }) => nest === 0) };
    const plan = { ...station.plan, rig: { ...station.plan.rig, revision } };
    const { measurement } = await runOn({ ...station, plan }, [goodPart(station.profile, 1), null]);
    expect(measurement.results.map(({ verdict }) => verdict)).toEqual(['pass']);
  });
});

describe('the fold', () => {
  test('a replay of the events gives the record, and what comes after the closing changes nothing', async () => {
    const station = await stationFor('AQ-1105');
    const { events, measurement } = await runOn(station, [goodPart(station.profile, 1), goodPart(station.profile, 2)]);
    const copied = structuredClone(events) as CycleEvent[];
    expect(measurementOf(copied)).toEqual(measurement);
    const closed = copied.findIndex(({ type }) => type === 'closed');
    expect(measurementOf(copied.slice(0, closed + 1))).toEqual(measurement);
    expect(() => measurementOf(copied.slice(0, closed))).toThrow('closed cycle');
  });

  test('phases follow one another without a gap and end at the verdict', async () => {
    const station = await stationFor('AQ-1105');
    const { events, measurement } = await runOn(station, [goodPart(station.profile, 1), goodPart(station.profile, 2)]);
    const { phases } = measurement;
    phases.slice(1).forEach((phase, i) => expect(phase.fromMs).toBe(phases[i]?.toMs));
    expect(phases.map(({ phase }) => phase)).toEqual(phasesOf(station.plan).filter((phase) => phase !== 'release'));
    expect(phases.at(-1)?.toMs).toBe(events.find(({ type }) => type === 'closed')?.atMs);
  });

  test('an unfinished cycle folds to what is known so far', async () => {
    const station = await stationFor('AQ-1105');
    const { events } = await runOn(station, [goodPart(station.profile, 1), goodPart(station.profile, 2)]);
    const [first, ...rest] = events;
    const start = foldEvent(
      {
        format: 1,
        kind: 'line',
        plan: '',
        load: [],
        phases: [],
        readings: [],
        judgements: [],
        results: [],
        faults: [],
        vented: true,
        closed: false,
      },
      first!,
    );
    const half = rest.slice(0, 8).reduce(foldEvent, start);
    expect(half.results).toEqual([]);
    expect(half.phases.length).toBeGreaterThan(1);
    expect(half.closed).toBe(false);
  });
});
