import { fork } from 'node:child_process';
import { once } from 'node:events';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { StationProcess } from '../../../server/line/station-process.ts';
import { type Clock, systemClock } from '../../../station/clock.ts';
import type { Message } from '../../../station/host/message.ts';
import { type Compiled, compile } from '../../support/compiled.ts';

const SETUP = {
  station: 'EOL-1',
  simulated: { nests: 2, rigSeed: 1, barometerKpaAbs: null, chamber: false, pace: 1, soakPace: 1 },
};

let compiled: Compiled;
beforeAll(() => {
  compiled = compile(['station']);
});
afterAll(() => {
  compiled.remove();
});

/** A station's process and what was heard of it. */
function started(clock: Clock = systemClock) {
  const said: (Message | { readonly type: 'lost'; readonly why: string })[] = [];
  const waiters: (() => void)[] = [];
  const tell = (each: (typeof said)[number]): void => {
    said.push(each);
    for (const wake of waiters.splice(0)) wake();
  };
  const station = new StationProcess(
    SETUP,
    clock,
    { message: tell, lost: (why) => tell({ type: 'lost', why }) },
    compiled.fileOf('station/host/main.ts'),
  );
  station.start();
  const until = async (enough: (all: typeof said) => boolean): Promise<void> => {
    while (!enough(said)) await new Promise<void>((resolve) => waiters.push(resolve));
  };
  const count = (type: string) => said.filter((each) => each.type === type).length;
  return { station, said, until, count };
}

test('a station that is killed is lost, started again, measures before it speaks, and ends when asked to', async () => {
  const { station, said, until, count } = started();
  await until(() => count('look') > 0);
  expect(said[0]?.type).toBe('awake');
  process.kill(station.pid ?? 0, 'SIGKILL');
  await until(() => count('awake') === 2);
  expect(said.find((each) => each.type === 'lost')).toMatchObject({ why: 'SIGKILL' });
  await station.end();
  expect(station.pid).toBeNull();
  expect(count('lost')).toBe(1);
});

test('a station whose server is gone before it has read its own program ends too', async () => {
  const child = fork(compiled.fileOf('station/host/main.ts'), [JSON.stringify(SETUP)], { serialization: 'advanced' });
  child.disconnect();
  expect(await once(child, 'exit')).toEqual([0, null]);
});

test('a station that loses its server makes its rig safe and ends', async () => {
  const child = fork(compiled.fileOf('station/host/main.ts'), [JSON.stringify(SETUP)], { serialization: 'advanced' });
  await once(child, 'message');
  child.disconnect();
  expect(await once(child, 'exit')).toEqual([0, null]);
});

test('time in which the server itself stood still is no silence of the station', async () => {
  let stoodMs = 0;
  let turns = 0;
  const clock: Clock = {
    ...systemClock,
    nowMs: () => systemClock.nowMs() + stoodMs,
    // The server's own wait ends six seconds late; nothing that the station said meanwhile has been read.
    sleep: async (forMs, stop) => {
      await systemClock.sleep(forMs, stop);
      turns += 1;
      if (turns === 2) stoodMs += 6000;
    },
  };
  const { station, until, count } = started(clock);
  await until(() => count('look') > 0);
  const before = count('look');
  await until(() => (turns > 3 && count('look') > before + 2) || count('lost') > 0);
  expect(count('lost')).toBe(0);
  await station.end();
}, 30_000);
