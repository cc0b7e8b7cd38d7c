import { type ChildProcess, fork } from 'node:child_process';
import { createServer, type Server, type ServerResponse } from 'node:http';
import type { AddressInfo } from 'node:net';
import { join } from 'node:path';
import { setTimeout as after } from 'node:timers/promises';
import { Worker } from 'node:worker_threads';
import Database from 'better-sqlite3';

/** What the load did, so that nobody has to believe that there was one. */
export interface Toil {
  readonly sums: number;
  readonly reports: number;
  readonly sentMb: number;
}

export interface BusyServer {
  end(): Promise<Toil>;
}

const ROWS = 3_000_000;
const SCREENS = 20;
const SCREEN_EVERY_MS = 50;
/** Every so many rounds the sum is made on the server's own thread, as no server should. */
const OWN_SUM_EVERY = 40;

/** A table as long as a year of readings. */
const FILL = `
  create table value (point integer, reading real);
  with recursive n(i) as (select 1 union all select i + 1 from n where i < ${ROWS})
  insert into value select i % 12, (i * 7919 % 10007) / 1000.0 from n;`;
const SUM = 'select point, count(*), avg(reading), sum((reading - 5) * (reading - 5)) from value group by point';

/**
 * Keeps this process as busy as a server can be, until it is ended: writes a long report as JSON again and again, sums
 * three million rows over and over in a worker (and now and then here), and feeds twenty screens twenty times a second
 * through sockets that another process reads. With the worker it takes both cores of a small machine.
 */
export async function busyServer(folder: string, readers: string): Promise<BusyServer> {
  const path = join(folder, 'values.db');
  const database = new Database(path);
  database.pragma('journal_mode = WAL');
  database.exec(FILL);
  const summing = new Worker(SUMMING, { eval: true, workerData: { path, sum: SUM, from: import.meta.filename } });
  let workersSums = 0;
  summing.on('message', () => (workersSums += 1));
  const screens = new Set<ServerResponse>();
  const server = createServer((_, reply) => {
    reply.writeHead(200, { 'content-type': 'text/event-stream' });
    screens.add(reply);
  });
  await listening(server);
  const { port } = server.address() as AddressInfo;
  const clients = fork(readers, [`http://127.0.0.1:${port}/`, String(SCREENS)]);

  let sums = 0;
  let reports = 0;
  let sent = 0;
  const event = `event: live\ndata: ${JSON.stringify(Array.from({ length: 12 }, (_, i) => ({ i, kPa: i / 7 })))}\n\n`;
  const feeding = setInterval(() => {
    for (const screen of screens) screen.write(event);
    sent += event.length * screens.size;
  }, SCREEN_EVERY_MS);
  const isOver = { now: false };
  const toiling = (async () => {
    for (let round = 0; !isOver.now; round += 1) {
      reports += reportOf(round).length > 0 ? 1 : 0;
      if (round % OWN_SUM_EVERY === 0) sums += database.prepare(SUM).all().length > 0 ? 1 : 0;
      await after(0);
    }
  })();
  return {
    end: async () => {
      isOver.now = true;
      await toiling;
      clearInterval(feeding);
      clients.kill();
      await exitOf(clients);
      server.closeAllConnections();
      server.close();
      await summing.terminate();
      database.close();
      return { sums: sums + workersSums, reports, sentMb: sent / 1e6 };
    },
  };
}

const SUMMING = `
  const { workerData, parentPort } = require('node:worker_threads');
  const Database = require('node:module').createRequire(workerData.from)('better-sqlite3');
  const sum = new Database(workerData.path, { readonly: true }).prepare(workerData.sum);
  for (;;) { sum.all(); parentPort.postMessage(null); }`;

/** A report of some thousand lines, written out: about 20 ms. */
function reportOf(round: number): string {
  const lines = Array.from({ length: 8000 }, (_, i) => ({
    serial: `AQ1105-${String(i + round).padStart(6, '0')}`,
    verdict: i % 40 === 0 ? 'fail' : 'pass',
    readings: [0.095 + i / 1e6, 1.2 - i / 1e6, 2.4 + i / 1e6].map((value) => ({ value, u: value / 1000 })),
  }));
  return JSON.stringify(lines);
}

const listening = (server: Server): Promise<void> =>
  new Promise((resolve) => void server.listen(0, '127.0.0.1', () => resolve()));

/** Also when it ended by itself before anybody asked. */
const exitOf = (child: ChildProcess): Promise<void> =>
  new Promise((resolve) => {
    if (child.exitCode !== null || child.signalCode !== null) resolve();
    else child.once('exit', () => resolve());
  });
