import { fork } from 'node:child_process';
import type { ChildProcess } from 'node:child_process';
import { once } from 'node:events';
import { readFileSync, readdirSync } from 'node:fs';
import { Agent, get } from 'node:http';
import { join } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import { gzipSync } from 'node:zlib';
import { asked, openBrowser, openPage } from '../support/browser.ts';
import { compile } from '../support/compiled.ts';
import type { Compiled } from '../support/compiled.ts';
import { Product, buildProduct } from '../support/product.ts';
import { median } from './timing.ts';

const ROUNDS = 5;
const REQUESTS = 4000;
const CONNECTIONS = 50;
const CLIENTS = 200;
const EVENTS = 100;
const EVERY_MS = 50;

/** One of the servers of cost-server.ts, running. */
class Costed {
  readonly #child: ChildProcess;
  readonly port: number;

  private constructor(child: ChildProcess, port: number) {
    this.#child = child;
    this.port = port;
  }

  static async start(compiled: Compiled, which: string): Promise<Costed> {
    const child = fork(compiled.fileOf('tests/bench/cost-server.ts'), [which]);
    const [said] = (await once(child, 'message')) as [{ port: number }];
    return new Costed(child, said.port);
  }

  async cpuMs(): Promise<number> {
    this.#child.send('cpu');
    const [said] = (await once(this.#child, 'message')) as [{ cpuMs: number }];
    return said.cpuMs;
  }

  say(): void {
    this.#child.send('say');
  }

  end(): void {
    this.#child.disconnect();
  }
}

/** CPU of a JSON route in the server's own process over bare node:http sending the same bytes. */
export async function routesBench(): Promise<void> {
  const compiled = compile(['station', 'server', 'tests']);
  const [app, bare] = [await Costed.start(compiled, 'app'), await Costed.start(compiled, 'bare')];
  try {
    const cost = async (server: Costed): Promise<number> => {
      const before = await server.cpuMs();
      await requests(`http://127.0.0.1:${server.port}/api/stations`, REQUESTS);
      return ((await server.cpuMs()) - before) / REQUESTS;
    };
    // Warm first.
    await cost(app);
    await cost(bare);
    const pairs: [number, number][] = [];
    for (let round = 0; round < ROUNDS; round += 1) pairs.push([await cost(app), await cost(bare)]);
    const ratio = median(pairs.map(([a, b]) => a / b));
    console.log(
      `routes: CPU of GET /api/stations (state of a line station made anew, headers, schemas) ${(1000 * median(pairs.map(([a]) => a))).toFixed(0)} µs, ` +
        `${ratio.toFixed(2)} x bare node:http with the same bytes (wanted 4 or less); ${REQUESTS} requests, ${CONNECTIONS} connections, median of ${ROUNDS} pairs`,
    );
  } finally {
    app.end();
    bare.end();
    compiled.remove();
  }
}

async function requests(address: string, count: number): Promise<void> {
  const agent = new Agent({ keepAlive: true, maxSockets: CONNECTIONS });
  let left = count;
  const one = (): Promise<void> =>
    new Promise((resolve, reject) => {
      get(address, { agent }, (reply) => reply.resume().on('end', resolve)).on('error', reject);
    });
  const worker = async (): Promise<void> => {
    while (left > 0) {
      left -= 1;
      await one();
    }
  };
  await Promise.all(Array.from({ length: CONNECTIONS }, worker));
  agent.destroy();
}

/** CPU of the live fan-out over bare writes of the same text to as many clients. */
export async function liveBench(): Promise<void> {
  const compiled = compile(['station', 'server', 'tests']);
  const [hub, bare] = [await Costed.start(compiled, 'hub'), await Costed.start(compiled, 'writes')];
  const readers: ChildProcess[] = [];
  try {
    for (const server of [hub, bare]) {
      const reader = fork(compiled.fileOf('tests/bench/readers.ts'), [
        `http://127.0.0.1:${server.port}/`,
        String(CLIENTS),
      ]);
      readers.push(reader);
      await once(reader, 'message');
    }
    const cost = async (server: Costed): Promise<number> => {
      const before = await server.cpuMs();
      for (let event = 0; event < EVENTS; event += 1) {
        server.say();
        await pause(EVERY_MS);
      }
      return ((await server.cpuMs()) - before) / EVENTS;
    };
    const pairs: [number, number][] = [];
    for (let round = 0; round < ROUNDS; round += 1) pairs.push([await cost(hub), await cost(bare)]);
    const ratio = median(pairs.map(([a, b]) => a / b));
    console.log(
      `live: CPU of an event to ${CLIENTS} clients ${median(pairs.map(([a]) => a)).toFixed(2)} ms, ${ratio.toFixed(2)} x bare writes of the same text ` +
        `(wanted 1.3 or less); 20 events a second, median of ${ROUNDS} pairs of ${EVENTS} events`,
    );
  } finally {
    for (const reader of readers) reader.disconnect();
    hub.end();
    bare.end();
    compiled.remove();
  }
}

/** What the panel at a station loads, and how long it takes until the band says what to do. */
export async function screenBench(): Promise<void> {
  const built = await buildProduct();
  const product = await Product.start(built, [{ station: 'EOL-1', nests: 2 }]);
  const browser = await openBrowser();
  try {
    const assets = join(built.main, '../../../.build/web/assets');
    const page = readFileSync(join(assets, '../index.html'), 'utf8');
    const loaded = readdirSync(assets).filter((name) => page.includes(name));
    const bytes = loaded.reduce(
      (sum, name) => sum + gzipSync(readFileSync(join(assets, name)), { level: 9 }).length,
      0,
    );
    const fonts = readdirSync(assets).filter((name) => name.endsWith('.woff2'));
    const fontBytes = fonts.reduce((sum, name) => sum + readFileSync(join(assets, name)).length, 0);
    const times: [ready: number, health: number][] = [];
    for (let round = 0; round < ROUNDS; round += 1) {
      const { page: screen } = await openPage(browser);
      const fromMs = performance.now();
      await screen.goto(`${product.address}/api/health`);
      const healthMs = performance.now() - fromMs;
      const screenMs = performance.now();
      await screen.goto(`${product.address}/line/EOL-1`);
      await asked(screen, 'choose-work');
      times.push([performance.now() - screenMs, healthMs]);
      await screen.context().close();
    }
    console.log(
      `screen: the line screen loads ${(bytes / 1000).toFixed(1)} kB of script and style, gzip -9 (wanted 110 or less), and ${(fontBytes / 1000).toFixed(0)} kB of letters; ` +
        `ready in ${median(times.map(([ready]) => ready)).toFixed(0)} ms, ${median(times.map(([ready, health]) => ready / health)).toFixed(1)} x a page of one line from the same server, median of ${ROUNDS}`,
    );
  } finally {
    await browser.close();
    await product.remove();
    built.remove();
  }
}
