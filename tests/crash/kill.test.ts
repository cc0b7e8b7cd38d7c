import { spawn } from 'node:child_process';
import { join } from 'node:path';
import { afterAll, expect, test } from 'vitest';
import { StoreError } from '../../server/store/errors.ts';
import { openStore } from '../../server/store/store.ts';
import { PROGRAM, drawsOf } from '../support/ledger-content.ts';
import { compile } from '../support/compiled.ts';
import { steppingClock, temporaryFolder } from '../support/ledger-use.ts';
import { aftermathOf } from './aftermath.ts';
import { sayingsOf } from './witness.ts';
import type { Saying } from './witness.ts';
import type { Errand } from './writer.ts';

/** Kills of cycles that take no time, so that they meet the ledger at work. */
const KILLS = 200;
/** And of the product's own cycles, so that they meet every phase. */
const REAL_KILLS = 100;
/** Opened, shown, and the phases of a cycle of the first profile. */
const SAYINGS_OF_A_CYCLE = 16;
/** Ledgers at work side by side, one a core. */
const LANES = 2;
/** A ledger is killed this often before a new one is taken, so that most kills meet one with a past. */
const KILLS_OF_A_LEDGER = 10;
const seed = Number(process.env['SEED'] ?? 4711);

const program = compile(['station', 'server', 'tests/crash', 'tests/support']);
const place = temporaryFolder();
afterAll(() => {
  program.remove();
  place.remove();
});

interface Running {
  /** Waits until the writer has said so much, or has ended. */
  wait(sayings: number): Promise<void>;
  kill(): Promise<readonly Saying[]>;
}

function start(ledger: string, lane: number): Running {
  const errand: Errand = {
    ledger,
    seed: lane,
    cycles: null,
    witness: null,
    limit: null,
    checkpointEvery: 5,
    end: 'close',
  };
  return watch('tests/crash/writer.ts', JSON.stringify(errand));
}

function watch(script: string, ...words: readonly string[]): Running {
  const child = spawn(process.execPath, [program.fileOf(script), ...words], { stdio: ['ignore', 'pipe', 'inherit'] });
  let said = '';
  let look = (): void => undefined;
  child.stdout.setEncoding('utf8').on('data', (text: string) => {
    said += text;
    look();
  });
  const ended = new Promise<void>((resolve) => child.once('close', () => resolve()));
  return {
    wait: (sayings) =>
      Promise.race([
        ended,
        new Promise<void>((resolve) => {
          look = () => {
            if (sayingsOf(said).length >= sayings) resolve();
          };
          look();
        }),
      ]),
    kill: async () => {
      child.kill('SIGKILL');
      await ended;
      return sayingsOf(said);
    },
  };
}

const after = (ms: number): Promise<void> => new Promise((resolve) => setTimeout(resolve, ms));

test(`a writer killed at ${KILLS} random instants loses nothing that was shown (SEED=${seed})`, {
  timeout: 240_000,
}, async () => {
  const totals = { kills: 0, shown: 0, interrupted: 0, unseen: 0, early: 0 };
  const lane = async (number: number): Promise<void> => {
    const draw = drawsOf(seed + number);
    for (let kills = 0; kills < KILLS / LANES; kills += KILLS_OF_A_LEDGER) {
      const ledger = join(place.path, `lane-${number}-${kills}`, 'ledger.db');
      const sayings: Saying[] = [];
      for (let round = 0; round < KILLS_OF_A_LEDGER; round += 1) {
        const writer = start(ledger, number);
        // One in six dies somewhere in its start or its recovery, the others within a few ms of one of their sayings.
        if (draw() < 1 / 6) await after(60 + 120 * draw());
        else {
          await writer.wait(Math.ceil(9 * draw()));
          await after(5 * draw());
        }
        const said = await writer.kill();
        sayings.push(...said);
        totals.kills += 1;
        totals.shown += said.filter(({ says }) => says === 'shown').length;
        if (said.length === 0) totals.early += 1;
        const { wrong } = aftermathOf(ledger, sayings, { goOn: false });
        expect(wrong, `lane ${number}, SEED=${seed}`).toEqual([]);
      }
      const { interrupted, unseen } = aftermathOf(ledger, sayings, { goOn: true });
      totals.interrupted += interrupted;
      totals.unseen += unseen - 1;
      // A kill cuts at most one cycle, between its opening and its verdict.
      expect(interrupted + unseen - 1).toBeLessThanOrEqual(KILLS_OF_A_LEDGER);
    }
  };
  await Promise.all(Array.from({ length: LANES }, (_, number) => lane(number)));
  console.log(`kills ${JSON.stringify(totals)}, SEED=${seed}`);
  // The kills met what they were meant to meet.
  expect(totals.kills).toBe(KILLS);
  expect(totals.shown).toBeGreaterThan(KILLS);
  expect(totals.interrupted).toBeGreaterThan(KILLS / 10);
  expect(totals.early).toBeGreaterThan(0);
});

test(`the product's own road killed at ${REAL_KILLS} random instants of real cycles (SEED=${seed})`, {
  timeout: 240_000,
}, async () => {
  const totals = { kills: 0, shown: 0, interrupted: 0, unseen: 0 };
  const phases: string[] = [];
  const lane = async (number: number): Promise<void> => {
    const draw = drawsOf(seed + 100 + number);
    for (let kills = 0; kills < REAL_KILLS / LANES; kills += KILLS_OF_A_LEDGER) {
      const ledger = join(place.path, `real-${number}-${kills}`, 'ledger.db');
      const sayings: Saying[] = [];
      for (let round = 1; round <= KILLS_OF_A_LEDGER; round += 1) {
        const station = watch('tests/crash/station-writer.ts', ledger, 'profiles', String(seed + kills + round));
        // The words of two cycles: a kill falls within a few ms of any of them.
        await station.wait(1 + Math.ceil(2 * SAYINGS_OF_A_CYCLE * draw()));
        await after(3 * draw());
        const said = await station.kill();
        sayings.push(...said);
        totals.kills += 1;
        totals.shown += said.filter(({ says }) => says === 'shown').length;
        const last = said.at(-1);
        phases.push(last?.says === 'phase' ? last.phase : (last?.says ?? 'nothing'));
        // Otherwise the next start of the station itself finds what was cut off.
        if (round % 2 === 0)
          expect(aftermathOf(ledger, sayings, { goOn: false }).wrong, `lane ${number}, SEED=${seed}`).toEqual([]);
      }
      const { interrupted, unseen } = aftermathOf(ledger, sayings, { goOn: false });
      totals.interrupted += interrupted;
      totals.unseen += unseen;
      expect(interrupted + unseen).toBeLessThanOrEqual(KILLS_OF_A_LEDGER);
    }
  };
  await Promise.all(Array.from({ length: LANES }, (_, number) => lane(number)));
  const met = new Set(phases);
  console.log(`real cycles ${JSON.stringify(totals)}, last heard of: ${[...met].sort().join(' ')}, SEED=${seed}`);
  // The kills met what they were meant to meet.
  expect(totals.kills).toBe(REAL_KILLS);
  expect(totals.shown).toBeGreaterThan(REAL_KILLS / 4);
  expect(totals.interrupted).toBeGreaterThan(REAL_KILLS / 4);
  expect(met.size).toBeGreaterThan(SAYINGS_OF_A_CYCLE / 2);
});

test('while one process writes another is refused, and no longer when it was killed', async () => {
  const ledger = join(place.path, 'shared', 'ledger.db');
  const writer = start(ledger, 0);
  await writer.wait(1);
  const open = () => openStore(ledger, { clock: steppingClock(), program: PROGRAM });
  expect(open).toThrow(StoreError);
  expect(open).toThrow(/store-in-use/);
  const second = start(ledger, 1);
  await second.wait(1);
  expect(await second.kill()).toEqual([{ says: 'refused', code: 'store-in-use' }]);
  await writer.kill();
  open().close();
});
