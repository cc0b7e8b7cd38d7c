import { describe, expect, test } from 'vitest';
import type { CycleEvent } from '../../../station/cycle/event.ts';
import { measurementOf } from '../../../station/cycle/fold.ts';
import { readTrace } from '../../../station/cycle/trace.ts';
import { StationFault } from '../../../station/faults.ts';
import { StationHost } from '../../../station/host/host.ts';
import { PacedRig } from '../../../station/host/pacing.ts';
import { simulatedHost } from '../../../station/host/simulated-host.ts';
import type { Command, Message } from '../../../station/host/message.ts';
import { simulatedProofs, simulatedRig } from '../../../station/host/simulated-station.ts';
import { drawPart, partModelOf } from '../../../station/rig/simulated/part.ts';
import { soakFrom } from '../../../station/soak/core-observer.ts';
import type { Soaking } from '../../../station/soak/soak.ts';
import { never, stationFor } from '../../support/simulated-plant.ts';
import { virtualClock } from '../../support/virtual-clock.ts';
import { runAndKeep } from '../../../server/records/keep.ts';

/** In this test a demo is the seed of the parts. */
type Demo = number;

/** A station host on an unpaced rig, with what it says; `answer` keeps (or not) what waits for a disk. */
async function hosted(options: { answer?: (event: CycleEvent) => boolean | null } = {}) {
  const { rig, plan, revision, profile } = await stationFor('AQ-1105');
  const clock = virtualClock();
  const said: Message[] = [];
  const host = new StationHost<Demo>({
    rig,
    clock,
    revision,
    send: (message) => {
      said.push(structuredClone(message));
      if (message.type !== 'event' || !message.waits) return;
      const kept = (options.answer ?? (() => true))(message.event);
      if (kept === null) return;
      // The answer of another process never comes within the same turn.
      setImmediate(() => {
        host.command({ type: 'kept', cycle: message.cycle, number: message.number, kept });
      });
    },
    load: (seed) => {
      rig.mend();
      rig.loadParts(
        [0, 1].map((nest) => drawPart(seed, nest, partModelOf(profile.content))),
        seed,
      );
    },
    demo: () => undefined,
    onEvent: () => undefined,
    characterise: () => Promise.reject(new StationFault('guard-open')),
    studySoak: () => Promise.reject(new StationFault('guard-open')),
  });
  const over = host.run();
  const heard = async <T extends Message['type']>(type: T): Promise<Extract<Message, { type: T }>> => {
    for (let turn = 0; turn < 100_000; turn += 1) {
      const found = said.find((message) => message.type === type);
      if (found !== undefined) return found as Extract<Message, { type: T }>;
      await new Promise((resolve) => setImmediate(resolve));
    }
    throw new Error(`never said ${type}`);
  };
  const cycle: Extract<Command<Demo>, { type: 'cycle' }> = {
    type: 'cycle',
    cycle: 'c-1',
    plan,
    load: ['AQ1105-00001', 'AQ1105-00002'],
    proofs: simulatedProofs([]),
    demo: 7,
  };
  const events = (): CycleEvent[] => said.flatMap((message) => (message.type === 'event' ? [message.event] : []));
  return { host, rig, plan, clock, said, over, heard, cycle, events };
}

test('the first word is what was measured after making the rig safe, then looks at rest', async () => {
  const { host, said, heard, over } = await hosted();
  expect((await heard('awake')).safe.vented).toBe(true);
  const { look } = await heard('look');
  expect(look).toMatchObject({ vented: true, fault: null, inputs: { guardShut: true } });
  expect(look.nestKpaAbs[0]).toBeCloseTo(look.barometerKpaAbs ?? 0, 0);
  expect(said[0]?.type).toBe('awake');
  host.end();
  await over;
});

test('a cycle by messages is the cycle that runs in one process, to the bit; its trace comes with the closing', async () => {
  const { host, rig, plan, cycle, heard, events, said, over } = await hosted();
  await heard('look');
  host.command(cycle);
  await heard('ended');
  const measured = measurementOf(events());
  host.end();
  await over;
  rig.loadParts(
    [0, 1].map((nest) => drawPart(7, nest, partModelOf(plan.profile.content))),
    7,
  );
  const { record } = await runAndKeep(
    rig,
    { plan, load: measured.load, proofs: simulatedProofs([]) },
    { lot: 'K', program: 'test', actor: { name: 'a', role: 'b', proof: 'stated' }, seed: 7 },
    { clock: virtualClock(), store: null, stop: never },
  );
  expect(measured).toEqual(record?.measurement);
  expect(measured.results.map(({ verdict }) => verdict)).toEqual(['pass', 'pass']);
  const closed = said.find((message) => message.type === 'event' && message.event.type === 'closed');
  const closing = closed?.type === 'event' ? closed.closing : null;
  expect(readTrace(closing?.trace ?? new Uint8Array()).length).toBeGreaterThan(100);
  expect(closing?.barometerKpaAbs).toBeGreaterThan(90);
  const numbers = said.flatMap((message) => (message.type === 'event' ? [message.number] : []));
  expect(numbers).toEqual(numbers.map((_, i) => i));
  expect(said.filter(({ type }) => type === 'live').length).toBeGreaterThan(50);
});

test('an opening that is not kept: nothing moves', async () => {
  const { host, cycle, heard, events, over } = await hosted({ answer: ({ type }) => type !== 'opened' });
  await heard('look');
  host.command(cycle);
  await heard('ended');
  expect(events().map(({ type }) => type)).toEqual(['opened', 'fault']);
  host.end();
  await over;
});

test('while a cycle waits for its disk: another is refused, and the end leaves the rig vented', async () => {
  const { host, rig, cycle, heard, over } = await hosted({ answer: () => null });
  await heard('look');
  host.command(cycle);
  await heard('event');
  host.command({ ...cycle, cycle: 'c-2' });
  expect(await heard('refused')).toMatchObject({ command: 'cycle', code: 'busy' });
  host.end();
  await over;
  await heard('ended');
  expect((await rig.safe()).vented).toBe(true);
});

describe('a stop', () => {
  test('in mid-test ends it unjudged, vented, on record', async () => {
    const { host, cycle, heard, events, over } = await hosted({
      answer: (event) => {
        if (event.type === 'opened') setImmediate(() => host.command({ type: 'stop' }));
        return true;
      },
    });
    await heard('look');
    host.command(cycle);
    await heard('ended');
    const { faults, results, vented } = measurementOf(events());
    expect(faults[0]?.code).toBe('operator-stop');
    expect(results.map(({ verdict }) => verdict)).toEqual(['none', 'none']);
    expect(vented).toBe(true);
    host.end();
    await over;
  });
});

test('a command that cannot be carried out names the fault, and the station goes on', async () => {
  const { host, plan, cycle, heard, over } = await hosted();
  await heard('look');
  host.command({ type: 'characterise', profile: { ...plan.profile }, revision: plan.rig.revision });
  expect(await heard('refused')).toMatchObject({ command: 'characterise', code: 'guard-open' });
  await new Promise((resolve) => setImmediate(resolve));
  host.command(cycle);
  await heard('ended');
  host.end();
  await over;
});

describe('a driven chamber', () => {
  const soaking: Soaking = {
    condition: 'hot',
    targetC: 60,
    lags: { shellS: 30, coreS: 60 },
    from: soakFrom(23, { low: 20, high: 26 }),
    rampKPerS: 0.05,
    leastMs: 0,
    limitMs: 4 * 3_600_000,
  };

  /** A host on a paced rig with a chamber, and the air as it was last looked at. */
  async function withChamber() {
    const clock = virtualClock();
    const rig = simulatedRig({ nests: 2, rigSeed: 2, barometerKpaAbs: null, chamber: true });
    const said: Message[] = [];
    const host = simulatedHost(rig, new PacedRig(rig, clock, 1, 200), {
      station: 'LAB-1',
      clock,
      send: (message) => said.push(message),
    });
    const over = host.run();
    const until = async (enough: () => boolean): Promise<void> => {
      for (let turn = 0; turn < 20_000 && !enough(); turn += 1) await clock.advance(100);
      expect(enough()).toBe(true);
    };
    const isSoaked = () => said.some((message) => message.type === 'soak' && message.event.type === 'soaked');
    const airC = (): number =>
      said.flatMap((message) => (message.type === 'look' ? [message.look.chamberC] : [])).at(-1)!;
    await until(() => said.some(({ type }) => type === 'look'));
    return { clock, rig, host, said, over, until, isSoaked, airC };
  }

  test('is let go when a server that does not die asks for nothing more', async () => {
    const { clock, host, over, until, isSoaked, airC } = await withChamber();
    host.command({ type: 'soak', soaking, demo: null });
    await until(isSoaked);
    await clock.advance(30_000);
    expect(airC()).toBeGreaterThan(58);
    await clock.advance(600_000);
    expect(airC()).toBeLessThan(45);
    host.end();
    await Promise.all([over, clock.advance(1000)]);
  });

  test('that is asked for while the rig is being made safe is driven after it, not beside it', async () => {
    const { rig, clock, host, said, over, until, isSoaked } = await withChamber();
    // A real rig measures what it reached before it is safe.
    const safe = rig.safe.bind(rig);
    let isMakingSafe = false;
    rig.safe = async () => {
      isMakingSafe = true;
      await clock.sleep(2000, never);
      isMakingSafe = false;
      return safe();
    };
    const drive = rig.setChamber.bind(rig);
    rig.setChamber = (airC, stop) => {
      expect(isMakingSafe).toBe(false);
      return drive(airC, stop);
    };
    host.command({ type: 'stop' });
    await clock.advance(200);
    expect(isMakingSafe).toBe(true);
    host.command({ type: 'soak', soaking, demo: null });
    await until(isSoaked);
    expect(said.filter(({ type }) => type === 'refused')).toEqual([]);
    host.end();
    await Promise.all([over, clock.advance(5000)]);
  });
});
