import { execFileSync, spawn } from 'node:child_process';
import type { ChildProcess } from 'node:child_process';
import { once } from 'node:events';
import { mkdirSync, mkdtempSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { build } from 'vite';
import { compile } from './compiled.ts';
import type { Compiled } from './compiled.ts';

const root = join(import.meta.dirname, '../..');

/** The program as it is delivered, built into a folder of its own: JavaScript, profiles, screens. */
export interface Built {
  readonly main: string;
  remove(): void;
}

/** Builds server, station and (unless told otherwise) the screens. */
export async function buildProduct(options: { screens?: boolean } = {}): Promise<Built> {
  const compiled: Compiled = compile(['station', 'server']);
  const main = compiled.fileOf('server/cli/main.ts');
  const folder = join(main, '../../..');
  symlinkSync(join(root, 'profiles'), join(folder, 'profiles'));
  if (options.screens ?? true) await buildScreens(join(folder, '.build/web'));
  return { main, remove: () => compiled.remove() };
}

/** The screens as they are delivered: a test's environment would have them built for developers. */
async function buildScreens(outDir: string): Promise<void> {
  const { NODE_ENV } = process.env;
  process.env['NODE_ENV'] = 'production';
  try {
    await build({
      configFile: join(root, '.config/vite.config.js'),
      logLevel: 'error',
      build: { outDir, emptyOutDir: true },
    });
  } finally {
    process.env['NODE_ENV'] = NODE_ENV;
  }
}

/** One station of a test's settings. */
export interface TestStation {
  readonly station: string;
  readonly nests: number;
  readonly rigSeed?: number;
  readonly chamber?: boolean;
  readonly pace?: number;
  readonly soakPace?: number;
}

/** `barolot serve` as a process of its own, on a folder of its own, which can be killed and started again. */
export class Product {
  readonly #main: string;
  readonly folder: string;
  readonly #stations: readonly TestStation[];
  /** Further options of the command. */
  readonly #more: readonly string[];
  #child: ChildProcess | null = null;
  #port = 0;
  #errors = '';

  private constructor(main: string, stations: readonly TestStation[], more: readonly string[]) {
    this.#main = main;
    this.#more = more;
    this.#stations = stations;
    this.folder = mkdtempSync(join(tmpdir(), 'barolot-product-'));
    mkdirSync(this.data);
  }

  /** Starts the server and waits until it answers. */
  static async start(
    built: Built,
    stations: readonly TestStation[],
    settings: object = {},
    more: readonly string[] = [],
  ): Promise<Product> {
    const product = new Product(built.main, stations, more);
    product.#write(settings);
    await product.restart();
    return product;
  }

  get data(): string {
    return join(this.folder, 'data');
  }

  get ledger(): string {
    return join(this.data, 'ledger.db');
  }

  get address(): string {
    return `http://127.0.0.1:${this.#port}`;
  }

  /** What the server wrote to its log. */
  get log(): string {
    return this.#errors;
  }

  #write(settings: object): void {
    // JSON is YAML too.
    const all = { data: this.data, log: 'warn', stations: this.#stations, shifts: { zone: 'UTC' }, ...settings };
    writeFileSync(join(this.folder, 'barolot.yaml'), JSON.stringify(all));
  }

  /** Starts the server again on the same ledger, and on the same port, so that screens find it. */
  async restart(): Promise<void> {
    const { BAROLOT_CONFIG: _config, ...env } = process.env;
    const child = spawn(
      process.execPath,
      [this.#main, 'serve', '--config', join(this.folder, 'barolot.yaml'), '--port', String(this.#port), ...this.#more],
      { stdio: ['ignore', 'pipe', 'pipe'], env },
    );
    this.#child = child;
    // Node leaves a pipe that ended in the same turn as its process half open, which would keep whoever started it alive.
    for (const pipe of [child.stdout, child.stderr]) pipe.once('end', () => pipe.destroy());
    child.stderr.setEncoding('utf8').on('data', (text: string) => {
      this.#errors += text;
    });
    let said = '';
    child.stdout.setEncoding('utf8');
    for await (const text of child.stdout as AsyncIterable<string>) {
      said += text;
      const port = /Barolot is at http:\/\/[^:]+:(\d+)/.exec(said)?.[1];
      if (port === undefined) continue;
      this.#port = Number(port);
      return;
    }
    throw new Error(`the server ended: ${said}${this.#errors}`);
  }

  /** The process ids of the stations, by name. */
  stationPids(): ReadonlyMap<string, number> {
    const own = this.#child?.pid ?? 0;
    const lines = execFileSync('ps', ['-axo', 'pid=,ppid=,args='], { encoding: 'utf8' }).split('\n');
    const pids = lines.flatMap((line): [string, number][] => {
      const [, pid, parent, args = ''] = /^\s*(\d+)\s+(\d+)\s+(.*)$/.exec(line) ?? [];
      const station = /"station":"([^"]+)"/.exec(args)?.[1];
      return Number(parent) === own && station !== undefined ? [[station, Number(pid)]] : [];
    });
    return new Map(pids);
  }

  killStation(station: string): void {
    const pid = this.stationPids().get(station);
    if (pid !== undefined) process.kill(pid, 'SIGKILL');
  }

  /** The server dies at once. Its stations notice by themselves. */
  async kill(): Promise<void> {
    await this.#signal('SIGKILL');
  }

  /** Ends the server as a person does. Answers its exit status. */
  async stop(): Promise<number | null> {
    return this.#signal('SIGTERM');
  }

  async #signal(signal: 'SIGKILL' | 'SIGTERM'): Promise<number | null> {
    const child = this.#child;
    if (child === null || child.exitCode !== null || child.signalCode !== null) return child?.exitCode ?? null;
    const exited = once(child, 'exit');
    child.kill(signal);
    const [code] = (await exited) as [number | null];
    return code;
  }

  async remove(): Promise<void> {
    await this.stop();
    rmSync(this.folder, { recursive: true, force: true });
  }
}
