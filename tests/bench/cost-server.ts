import { createServer } from 'node:http';
import type { Server, ServerResponse } from 'node:http';
import type { AddressInfo } from 'node:net';
import { pino } from 'pino';
import { buildApp } from '../../server/app.ts';
import { Hub } from '../../server/live/hub.ts';
import { systemClock } from '../../station/clock.ts';
import { clerkHere } from '../support/clerk.ts';
import { lineHere } from '../support/line.ts';

/**
 * A server in a process of its own, whose CPU time is asked for: the program's application or bare node:http that sends
 * the same bytes; the program's hub or bare writes of the same text. Argument: which.
 */
const [which = ''] = process.argv.slice(2);
const EVENT = {
  event: 'live',
  data: { pressure: { state: 'vented', kPaAbs: 101.325, barometerKpaAbs: 101.325 }, guardShut: true, frame: null },
};

let say: () => void = () => undefined;
const server = await serverOf(which);
const port = server.listening ? (server.address() as AddressInfo).port : await listened(server);
process.send?.({ port });

process.on('message', (asked: 'cpu' | 'say') => {
  if (asked === 'say') say();
  else {
    const { user, system } = process.cpuUsage();
    process.send?.({ cpuMs: (user + system) / 1000 });
  }
});
process.on('disconnect', () => process.exit(0));

async function serverOf(name: string): Promise<Server> {
  if (name === 'app' || name === 'bare') {
    const here = await lineHere();
    const app = await buildApp({
      lines: [here.line],
      labs: [],
      store: here.store,
      profiles: [],
      history: () => null,
      reader: here.store,
      clerk: clerkHere(here.store),
      clock: systemClock,
      log: pino({ level: 'warn' }),
      life: 'bench',
      web: null,
      isLoopback: true,
    });
    if (name === 'app') {
      await app.listen({ host: '127.0.0.1', port: 0 });
      return app.server;
    }
    const { body, headers } = await app.inject('/api/stations');
    return createServer((_request, response) => {
      response.writeHead(200, { 'content-type': String(headers['content-type']) }).end(body);
    });
  }
  const head = { 'content-type': 'text/event-stream' };
  if (name === 'hub') {
    const hub = new Hub('bench', systemClock, () => EVENT);
    say = () => hub.say(EVENT);
    return createServer((_request, response) => hub.join(response.writeHead(200, head), undefined));
  }
  const clients = new Set<ServerResponse>();
  const text = `id: bench-1\nevent: ${EVENT.event}\ndata: ${JSON.stringify(EVENT.data)}\n\n`;
  say = () => {
    for (const client of clients) client.write(text);
  };
  return createServer((_request, response) => {
    clients.add(response.writeHead(200, head));
    response.write(text);
  });
}

function listened(bare: Server): Promise<number> {
  return new Promise((resolve) => bare.listen(0, '127.0.0.1', () => resolve((bare.address() as AddressInfo).port)));
}
