import type { ServerResponse } from 'node:http';
import type { Clock } from '../../station/clock.ts';

/** What is said to every listener of one stream. */
export interface LiveEvent {
  readonly event: string;
  readonly data: unknown;
  /** Its name for who is told of it later, when it says what was true for a moment only. */
  readonly later?: string;
}

/** Events that are kept for who comes back: about a minute of a running test. */
const RING = 600;
/** A client that has not taken so many bytes is cut off; it comes back by itself and is told where things stand. */
const MOST_WAITING_BYTES = 256 * 1024;
/** A listener that hears nothing for longer takes the link for lost. */
const KEEP_ALIVE_MS = 5000;
/** How long a client waits before it comes back, ms. */
const RETRY_MS = 1000;

/** Where a stream is written: a response, as far as it is needed. */
export type Sink = Pick<ServerResponse, 'write' | 'end' | 'destroy' | 'writableLength' | 'on'>;

/**
 * One stream of numbered events to many clients (WHATWG HTML, server-sent events). Each event is formatted once and the
 * same text written to all. A client that comes back with the last number it saw is given what it missed, each event
 * once and in order; when that is not there any more, or was of another life of the server, a snapshot.
 */
export class Hub {
  readonly #life: string;
  readonly #snapshot: () => LiveEvent;
  readonly #clients = new Set<Sink>();
  readonly #ring: { readonly number: number; readonly later: string }[] = [];
  readonly #over = new AbortController();
  #number = 0;

  /** `life` tells one life of the server from another; `snapshot` says where things stand. */
  constructor(life: string, clock: Clock, snapshot: () => LiveEvent) {
    this.#life = life;
    this.#snapshot = snapshot;
    void this.#keepAlive(clock);
  }

  get clients(): number {
    return this.#clients.size;
  }

  say(said: LiveEvent): void {
    this.#number += 1;
    const text = eventText(`${this.#life}-${this.#number}`, said);
    const { event, later = event, data } = said;
    this.#ring.push({
      number: this.#number,
      later: later === event ? text : eventText(`${this.#life}-${this.#number}`, { event: later, data }),
    });
    if (this.#ring.length > RING) this.#ring.shift();
    for (const client of this.#clients) this.#write(client, text);
  }

  /**
   * Takes a client in; `lastId` is the last event that it saw, if it says so. What it missed goes out in one piece; more
   * of that than a client may leave waiting is a snapshot instead.
   */
  join(client: Sink, lastId: string | undefined): void {
    const missed = this.#missedSince(lastId)?.join('') ?? null;
    const isTooMuch = missed === null || missed.length > MOST_WAITING_BYTES;
    const begin = isTooMuch ? eventText(`${this.#life}-${this.#number}`, this.#snapshot()) : missed;
    this.#write(client, `retry: ${RETRY_MS}\n\n${begin}`);
    this.#clients.add(client);
    client.on('close', () => this.#clients.delete(client));
    client.on('error', () => this.#clients.delete(client));
  }

  /** Ends every stream; clients come back to the next life of the server. */
  end(): void {
    this.#over.abort();
    for (const client of this.#clients) client.end();
    this.#clients.clear();
  }

  /** What was said after an event; null when that cannot be known any more. */
  #missedSince(lastId: string | undefined): string[] | null {
    const match = lastId === undefined ? null : /^(.*)-([0-9]{1,15})$/.exec(lastId);
    if (match?.[1] !== this.#life) return null;
    const last = Number(match[2]);
    const first = this.#ring[0]?.number ?? this.#number + 1;
    if (last > this.#number || last + 1 < first) return null;
    return this.#ring.filter(({ number }) => number > last).map(({ later }) => later);
  }

  #write(client: Sink, text: string): void {
    if (client.writableLength > MOST_WAITING_BYTES) {
      this.#clients.delete(client);
      client.destroy();
      return;
    }
    client.write(text);
  }

  async #keepAlive(clock: Clock): Promise<void> {
    const { signal } = this.#over;
    const isOver = (): boolean => signal.aborted;
    while (!isOver()) {
      await clock.sleep(KEEP_ALIVE_MS, signal).catch(() => undefined);
      for (const client of this.#clients) this.#write(client, 'event: still-here\ndata:\n\n');
    }
  }
}

/** JSON has no line breaks outside its texts and escapes them inside: one data line. */
const eventText = (id: string, { event, data }: LiveEvent): string =>
  `id: ${id}\nevent: ${event}\ndata: ${JSON.stringify(data)}\n\n`;
