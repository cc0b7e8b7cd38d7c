import { expect, test } from 'vitest';
import { Hub } from '../../../server/live/hub.ts';
import type { Sink } from '../../../server/live/hub.ts';
import { EventStreamParser } from '../../support/event-stream.ts';
import { virtualClock } from '../../support/virtual-clock.ts';

/** A client that takes everything, or nothing. */
class Client {
  readonly parser = new EventStreamParser();
  writableLength = 0;
  isEnded = false;
  isDestroyed = false;
  readonly #isSlow: boolean;
  readonly #closers: (() => void)[] = [];

  constructor(isSlow = false) {
    this.#isSlow = isSlow;
  }

  write(text: string): boolean {
    if (this.#isSlow) this.writableLength += text.length;
    else this.parser.push(text);
    return !this.#isSlow;
  }

  on(event: string, listener: () => void): this {
    if (event === 'close') this.#closers.push(listener);
    return this;
  }

  end(): void {
    this.isEnded = true;
    this.close();
  }

  destroy(): void {
    this.isDestroyed = true;
    this.close();
  }

  close(): void {
    for (const closer of this.#closers) closer();
  }

  get sink(): Sink {
    return this as unknown as Sink;
  }

  get numbers(): unknown[] {
    return this.parser.events.map(({ event, data }) =>
      event === 'snapshot' ? 'snapshot' : (JSON.parse(data) as unknown),
    );
  }
}

const hubOf = (life = 'a') => {
  const clock = virtualClock();
  return { hub: new Hub(life, clock, () => ({ event: 'snapshot', data: { where: 'now' } })), clock };
};

test('a client is told where things stand, then every event, once and in order', () => {
  const { hub } = hubOf();
  hub.say({ event: 'live', data: 1 });
  const client = new Client();
  hub.join(client.sink, undefined);
  hub.say({ event: 'live', data: 2 });
  hub.say({ event: 'live', data: 'two\nlines' });
  expect(client.numbers).toEqual(['snapshot', 2, 'two\nlines']);
  expect(client.parser.retryMs).toBe(1000);
  expect(client.parser.lastId).toBe('a-3');
  hub.end();
  expect(client.isEnded).toBe(true);
});

test('who comes back is given what was missed, each once and in order, whenever the stream broke', () => {
  for (let broken = 1; broken <= 20; broken += 1) {
    const { hub } = hubOf();
    const first = new Client();
    hub.join(first.sink, undefined);
    for (let said = 1; said <= broken; said += 1) hub.say({ event: 'live', data: said });
    first.close();
    for (let said = broken + 1; said <= 40; said += 1) hub.say({ event: 'live', data: said });
    const again = new Client();
    hub.join(again.sink, first.parser.lastId);
    hub.say({ event: 'live', data: 41 });
    expect([...first.numbers.slice(1), ...again.numbers]).toEqual(Array.from({ length: 41 }, (_, at) => at + 1));
    hub.end();
  }
});

test('what is not there any more, or was of another life, begins anew with a snapshot', () => {
  const { hub } = hubOf('b');
  for (let said = 1; said <= 700; said += 1) hub.say({ event: 'live', data: said });
  for (const id of ['b-10', 'a-699', 'b-701', 'b-', 'nonsense', '']) {
    const client = new Client();
    hub.join(client.sink, id);
    expect([id, client.numbers]).toEqual([id, ['snapshot']]);
  }
  const near = new Client();
  hub.join(near.sink, 'b-698');
  expect(near.numbers).toEqual([699, 700]);
  const upToDate = new Client();
  hub.join(upToDate.sink, 'b-700');
  expect(upToDate.numbers).toEqual([]);
  hub.end();
});

test('a client that takes nothing is cut off while the others go on, and the hub holds no bytes for it', () => {
  const { hub } = hubOf();
  const [slow, quick] = [new Client(true), new Client()];
  hub.join(slow.sink, undefined);
  hub.join(quick.sink, undefined);
  const data = 'x'.repeat(10_000);
  for (let said = 0; said < 100; said += 1) hub.say({ event: 'view', data });
  expect(slow.isDestroyed).toBe(true);
  expect(slow.writableLength).toBeLessThan(300_000);
  expect(quick.parser.events).toHaveLength(101);
  expect(hub.clients).toBe(1);
  hub.end();
});

test('a quiet stream says every five seconds that it is there', async () => {
  const { hub, clock } = hubOf();
  const client = new Client();
  hub.join(client.sink, undefined);
  await clock.advance(12_000);
  expect(client.parser.events.map(({ event }) => event)).toEqual(['snapshot', 'still-here', 'still-here']);
  hub.end();
});

test('the parser reads what the HTML standard gives as examples (WHATWG HTML 9.2.6)', () => {
  const parse = (text: string) => {
    const parser = new EventStreamParser();
    parser.push(text);
    return parser;
  };
  // "YHOO", "+2", "10" joined by line feeds.
  expect(parse('data: YHOO\ndata: +2\ndata: 10\n\n').events).toEqual([
    { event: 'message', data: 'YHOO\n+2\n10', id: '' },
  ]);
  // A comment, then two events, the second with an id reset to nothing, then one whose data is " third event".
  const four = parse(': test stream\n\ndata: first event\nid: 1\n\ndata:second event\nid\n\ndata:  third event\n\n');
  expect(four.events).toEqual([
    { event: 'message', data: 'first event', id: '1' },
    { event: 'message', data: 'second event', id: '' },
    { event: 'message', data: ' third event', id: '' },
  ]);
  // Two events with the data "" and "\n"; the last block is discarded, for no empty line follows.
  expect(parse('data\n\ndata\ndata\n\ndata:').events.map(({ data }) => data)).toEqual(['', '\n']);
  // Both have the same data: the space is optional. CRLF and CR end lines as LF does.
  expect(parse('data:test\r\n\r\ndata: test\r\r').events.map(({ data }) => data)).toEqual(['test', 'test']);
});
