import { monitorEventLoopDelay } from 'node:perf_hooks';
import type { AddressInfo } from 'node:net';
import { pino } from 'pino';
import { buildApp } from '../../server/app.ts';
import { Clerks } from '../../server/clerk/clerks.ts';
import { openStore } from '../../server/store/store.ts';
import { systemClock } from '../../station/clock.ts';
import { clerkHere } from '../support/clerk.ts';
import { PROGRAM } from '../support/ledger-content.ts';

/**
 * A server in a process of its own that says how long its own thread was held. Arguments: the ledger; `threads`, or `here`
 * for one that makes reports on its own thread.
 */
const [ledger = '', which = ''] = process.argv.slice(2);
const store = openStore(ledger, { clock: systemClock, program: PROGRAM });
const log = pino({ level: 'warn' });
const clerks = new Clerks({ ledger, plant: 'Alder Quay', timeZone: 'UTC', clock: systemClock, log });
const app = await buildApp({
  ...{ lines: [], labs: [], store, profiles: [], history: () => null, reader: store },
  ...{ clerk: which === 'here' ? clerkHere(store) : clerks, clock: systemClock, log },
  ...{ life: 'bench', web: null, isLoopback: true },
});
await app.listen({ host: '127.0.0.1', port: 0 });
const delay = monitorEventLoopDelay({ resolution: 1 });
delay.enable();
process.send?.({ port: (app.server.address() as AddressInfo).port });

const ms = (ns: number): number => ns / 1e6;
process.on('message', (asked: 'reset' | 'delay') => {
  if (asked === 'reset') delay.reset();
  process.send?.({ p50Ms: ms(delay.percentile(50)), p99Ms: ms(delay.percentile(99)), mostMs: ms(delay.max) });
});
process.on('disconnect', () => {
  void clerks.end().then(() => process.exit(0));
});
