import { copyFileSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect } from 'vitest';
import { openStore } from '../../../server/store/store.ts';
import type { Store } from '../../../server/store/store.ts';
import { verify } from '../../../server/store/verify.ts';
import { brokenLog } from '../../../server/store/write-ahead-log.ts';
import { PROGRAM, drawsOf } from '../../support/ledger-content.ts';
import { test } from '../../support/ledger-fixture.ts';
import { keepCycle, steppingClock } from '../../support/ledger-use.ts';
import type { Plan } from '../../../station/profile/plan.ts';

const FRAME_BYTES = 24 + 4096;

/** A ledger as a cut leaves it: `early` cycles in the file, `late` ones only in the log beside it. */
function cutOff(at: { folder: string; path: string; store: Store; plan: Plan }, early: number, late: number) {
  for (let number = 0; number < early; number += 1) keepCycle(at.store, at.plan, number);
  at.store.checkpoint();
  const places = Array.from({ length: late }, (_, index) => {
    keepCycle(at.store, at.plan, early + index);
    return framesOf(readFileSync(`${at.path}-wal`));
  });
  const copy = join(at.folder, 'copy.db');
  copyFileSync(at.path, copy);
  const log = readFileSync(`${at.path}-wal`);
  const lay = (bytes: Buffer): string => {
    writeFileSync(`${copy}-wal`, bytes);
    writeFileSync(`${copy}-shm`, '');
    return copy;
  };
  return { log, lay, places, entries: at.store.head().sequence };
}

/** How many frames of the log belong to its present round. */
function framesOf(log: Buffer): number {
  let frames = 0;
  for (let at = 32; at + FRAME_BYTES <= log.length; at += FRAME_BYTES) {
    if (!log.subarray(at + 8, at + 16).equals(log.subarray(16, 24))) return frames;
    frames += 1;
  }
  return frames;
}

test('a log with everything in it is sound, also with frames of an earlier round behind', ({
  folder,
  path,
  store,
  plan,
}) => {
  const { log, lay, entries } = cutOff({ folder, path, store, plan }, 6, 2);
  expect(framesOf(log)).toBeLessThan(log.length / FRAME_BYTES - 10);
  expect(verify(lay(log))).toMatchObject({ ok: true, entries });
});

test('a log that ends within a transaction is what a cut leaves, and is sound', ({ folder, path, store, plan }) => {
  const { log, lay, entries, places } = cutOff({ folder, path, store, plan }, 0, 3);
  const frames = places.at(-1)!;
  const torn = log.subarray(0, 32 + (frames - 3) * FRAME_BYTES + 700);
  expect(verify(lay(torn))).toMatchObject({ ok: true, entries: entries - 1, problems: [] });
});

test('a byte gone bad before the last transaction would take committed ones along, and is named', ({
  folder,
  path,
  store,
  plan,
}) => {
  const { log, lay, places } = cutOff({ folder, path, store, plan }, 1, 4);
  const draw = drawsOf(11);
  const end = 32 + places[2]! * FRAME_BYTES;
  for (let flip = 0; flip < 150; flip += 1) {
    const offset = Math.floor(draw() * end);
    const spoiled = Buffer.from(log);
    spoiled.writeUInt8(log.readUInt8(offset) ^ (1 << Math.floor(draw() * 8)), offset);
    const found = verify(lay(spoiled));
    expect(
      found.problems.map(({ where }) => where),
      `byte ${offset}`,
    ).toContain('log');
    // Nor is it opened for writing, which would put the seal on the loss.
    if (flip % 10 === 0)
      expect(() => openStore(lay(spoiled), { clock: steppingClock(), program: PROGRAM })).toThrow(/damaged/);
  }
});

test('no log, an empty one and one too short to hold anything are sound', ({ folder }) => {
  const path = join(folder, 'ledger.db');
  expect(brokenLog(path)).toBeUndefined();
  writeFileSync(`${path}-wal`, '');
  expect(brokenLog(path)).toBeUndefined();
  writeFileSync(`${path}-wal`, Buffer.alloc(20_000));
  expect(brokenLog(path)).toBeUndefined();
});
