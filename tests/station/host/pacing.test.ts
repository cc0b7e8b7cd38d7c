import { expect, test } from 'vitest';
import { PacedRig } from '../../../station/host/pacing.ts';
import { simulatedRig } from '../../../station/host/simulated-station.ts';
import { never } from '../../support/simulated-plant.ts';
import { virtualClock } from '../../support/virtual-clock.ts';

const inner = () => simulatedRig({ nests: 2, rigSeed: 1, barometerKpaAbs: null });

test('blocks take as long on the wall as they say, whatever else takes its time in between', async () => {
  const clock = virtualClock();
  const rig = new PacedRig(inner(), clock);
  let taken = 0;
  const pass = (async () => {
    for (; taken < 50; taken += 1) await rig.acquire(20, never);
  })();
  await clock.advance(499);
  expect(taken).toBe(24);
  await clock.advance(1);
  expect(taken).toBe(25);
  await clock.advance(500);
  await pass;
  expect(taken).toBe(50);
});

test('a stop ends the wait for a block at once', async () => {
  const clock = virtualClock();
  const rig = new PacedRig(inner(), clock);
  const stop = new AbortController();
  const block = rig.acquire(20, stop.signal);
  stop.abort(new Error('stopped'));
  await expect(block).rejects.toThrow('stopped');
  expect(clock.nowMs()).toBe(0);
});

test('a guard that opens while a block is waited for vents at once', async () => {
  const clock = virtualClock();
  const simulated = inner();
  const rig = new PacedRig(simulated, clock);
  await rig.setPressure(200, never);
  void rig.acquire(20, never);
  await clock.advance(10);
  simulated.strike({ what: 'guard-open', where: {}, size: 0 });
  expect(rig.trip.aborted).toBe(true);
  await expect(rig.setPressure(150, never)).rejects.toMatchObject({ code: 'guard-open' });
});

test('a process that stood still while pressure was held finds that the dead-man has vented the rig', async () => {
  const clock = virtualClock();
  const simulated = inner();
  const rig = new PacedRig(simulated, clock);
  // Nothing is loaded: shut, the nests let nothing out.
  for (const nest of [0, 1]) await rig.isolate(nest, true, never);
  await rig.setPressure(200, never);
  for (let block = 0; block < 100; block += 1) {
    rig.renewDeadMan();
    const taking = rig.acquire(20, never);
    await clock.advance(20);
    await taking;
  }
  expect(simulated.inside.manifoldKpaAbs).toBeGreaterThan(190);
  await clock.advance(1500);
  const late = rig.acquire(20, never);
  await clock.advance(20);
  await late;
  expect(rig.trip.reason).toMatchObject({ code: 'dead-man' });
  expect(simulated.inside.manifoldKpaAbs).toBeLessThan(150);
});

test('an idle rig that nobody asked for a while is no dead-man', async () => {
  const clock = virtualClock();
  const rig = new PacedRig(inner(), clock);
  for (const pauseMs of [20, 500, 60_000]) {
    const look = rig.acquire(20, never);
    await clock.advance(20);
    await look;
    await clock.advance(pauseMs);
  }
  expect(rig.trip.aborted).toBe(false);
});
