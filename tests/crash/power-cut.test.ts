import { createHash } from 'node:crypto';
import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readFileSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { basename, join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { drawsOf } from '../support/ledger-content.ts';
import { compile } from '../support/compiled.ts';
import type { Compiled } from '../support/compiled.ts';
import { temporaryFolder } from '../support/ledger-use.ts';
import { aftermathOf } from './aftermath.ts';
import { compileRecorder, eventsOf, hasCompiler, recordedEnvironment } from './recording.ts';
import type { StorageEvent } from './recording.ts';
import { Storage } from './storage.ts';
import type { Fate } from './storage.ts';
import { sayingsOf } from './witness.ts';
import type { Saying } from './witness.ts';
import type { Errand } from './writer.ts';

const seed = Number(process.env['SEED'] ?? 4711);
const compiler = hasCompiler();
if (!compiler && process.env['CI'] === undefined)
  console.warn('no C compiler (cc) on this machine: the tests of power cuts are skipped');

test.runIf(process.env['CI'] !== undefined)('there is a C compiler: without one, power cuts cannot be tested', () => {
  expect(compiler).toBe(true);
});

describe.runIf(compiler)('storage that drops or tears whatever was not synced', () => {
  const folder = temporaryFolder();
  let program: Compiled;
  let library: string;
  beforeAll(() => {
    program = compile(['station', 'server/store', 'tests/crash', 'tests/support']);
    library = compileRecorder(folder.path);
  });
  afterAll(() => {
    program.remove();
    folder.remove();
  });

  interface Run {
    readonly limit: number;
    readonly end: Errand['end'];
    readonly failAt?: number;
  }

  /** Lets a writer work below a folder under the recorder; returns its exit code and what it said itself. */
  function work(place: string, run: Run): { code: number | null; said: readonly Saying[] } {
    const errand: Errand = {
      ledger: join(place, 'ledger.db'),
      seed: 1,
      cycles: null,
      witness: join(place, 'witness'),
      limit: run.limit,
      checkpointEvery: 2,
      end: run.end,
    };
    const { failAt } = run;
    const environment = { library, folder: place, log: `${place}.log`, ...(failAt === undefined ? {} : { failAt }) };
    const { status, stdout } = spawnSync(
      process.execPath,
      [program.fileOf('tests/crash/writer.ts'), JSON.stringify(errand)],
      {
        env: recordedEnvironment(environment),
        stdio: ['ignore', 'pipe', failAt === undefined ? 'inherit' : 'ignore'],
      },
    );
    return { code: status, said: sayingsOf(stdout.toString('utf8')) };
  }

  test(`cut at every write, no verdict that was shown is lost (SEED=${seed})`, { timeout: 240_000 }, () => {
    const place = join(folder.path, 'recorded');
    mkdirSync(place);
    // From nothing; then leaving an open cycle and a full log behind; then a recovery and an orderly end.
    expect(work(place, { limit: 3, end: 'close' }).code).toBe(0);
    expect(work(place, { limit: 3, end: 'cut off' }).code).toBe(0);
    expect(work(place, { limit: 2, end: 'close' }).code).toBe(0);
    const events = eventsOf(`${place}.log`);
    expectWholeRecording(events, place);

    const storage = new Storage();
    const images = new Images(join(folder.path, 'image'));
    const draw = drawsOf(seed);
    let witnessed = '';
    events.forEach((event, index) => {
      if (basename(event.path) === 'witness') {
        if (event.did === 'write') witnessed += event.data.toString('utf8');
        return;
      }
      if (event.path.endsWith('-shm')) return;
      storage.apply(event);
      for (const fateOf of fates(draw))
        images.check(storage.image(fateOf, draw), witnessed, `event ${index}, SEED=${seed}`);
    });
    console.log(`power cuts: ${events.length} events, ${JSON.stringify(images.totals)}, SEED=${seed}`);
    expect(images.wrong).toEqual([]);
    expect(images.totals.checked).toBeGreaterThan(500);
    expect(images.totals.interrupted).toBeGreaterThan(0);
    expect(images.totals.unseen).toBeGreaterThan(0);
  });

  test('a write or sync that fails shows no verdict without a record', { timeout: 120_000 }, () => {
    const endings = { refused: 0, 'at the start': 0, 'witness failed': 0 };
    // Steps that share no factor with the pattern of a commit, so that every kind of write is met.
    for (let failAt = 1; ; failAt += 5) {
      const place = join(folder.path, `failing-${failAt}`);
      mkdirSync(place);
      const { code, said } = work(place, { limit: 3, end: 'close', failAt });
      const witness = join(place, 'witness');
      const sayings = existsSync(witness) ? sayingsOf(readFileSync(witness, 'utf8')) : [];
      const { wrong } = aftermathOf(join(place, 'ledger.db'), sayings, { goOn: true });
      expect(wrong, `failure ${failAt}`).toEqual([]);
      rmSync(place, { recursive: true });
      // The writer has come to its end before the failure.
      if (code === 0) break;
      const codes = said.map((saying) => (saying.says === 'refused' ? saying.code : saying.says));
      if (codes.length === 0) endings['witness failed'] += 1;
      else if (codes.length === 1) endings['at the start'] += 1;
      else endings.refused += 1;
      // Once the storage has failed, the store takes nothing more until it is opened anew.
      expect(codes, `failure ${failAt}`).not.toContain('done');
    }
    console.log(`failed writes: ${JSON.stringify(endings)}`);
    expect(endings.refused).toBeGreaterThan(20);
  });
});

/** What may become of unsynced changes: nothing, everything, everything but a torn last one, and two mixtures. */
function fates(draw: () => number): ((change: { readonly last: boolean }) => Fate)[] {
  const mixed = (): Fate => {
    const lot = draw();
    return lot < 0.4 ? 'kept' : lot < 0.7 ? 'dropped' : 'torn';
  };
  return [() => 'dropped', () => 'kept', ({ last }) => (last ? 'torn' : 'kept'), mixed, mixed];
}

/** Everything that the program did is in the recording: played back it gives the files as they are. */
function expectWholeRecording(events: readonly StorageEvent[], place: string): void {
  const storage = new Storage();
  for (const event of events) if (!event.path.endsWith('-shm')) storage.apply(event);
  const seen = storage.seen();
  const names = readdirSync(place).filter((name) => !name.endsWith('-shm'));
  expect([...seen.keys()].map((path) => basename(path)).sort()).toEqual(names.sort());
  for (const [path, bytes] of seen) expect(bytes.equals(readFileSync(path)), path).toBe(true);
}

/** Surviving files, each different set of them looked at once. */
class Images {
  readonly wrong: string[] = [];
  readonly totals = { images: 0, checked: 0, interrupted: 0, unseen: 0 };
  readonly #folder: string;
  readonly #known = new Set<string>();

  constructor(folder: string) {
    this.#folder = folder;
  }

  check(files: Map<string, Buffer>, witnessed: string, about: string): void {
    this.totals.images += 1;
    const digest = createHash('sha256').update(witnessed);
    for (const [path, bytes] of [...files].sort(([a], [b]) => (a < b ? -1 : 1))) digest.update(path).update(bytes);
    const name = digest.digest('hex');
    if (this.#known.has(name) || this.wrong.length > 5) return;
    this.#known.add(name);
    rmSync(this.#folder, { recursive: true, force: true });
    mkdirSync(this.#folder);
    for (const [path, bytes] of files) writeFileSync(join(this.#folder, basename(path)), bytes);
    this.totals.checked += 1;
    try {
      const found = aftermathOf(join(this.#folder, 'ledger.db'), sayingsOf(witnessed), {
        goOn: this.totals.checked % 20 === 0,
      });
      this.wrong.push(...found.wrong.map((what) => `${about}: ${what}`));
      this.totals.interrupted += found.interrupted;
      this.totals.unseen += found.unseen;
    } catch (cause) {
      this.wrong.push(`${about}: ${String(cause)}`);
    }
  }
}
