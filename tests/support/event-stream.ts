/** An event as a browser would dispatch it. */
export interface StreamEvent {
  readonly event: string;
  readonly data: string;
  readonly id: string;
}

/**
 * Interprets a stream of server-sent events as the HTML standard says (WHATWG HTML, 9.2.6 "Interpreting an event
 * stream"): lines end with CRLF, LF or CR; a colon begins a comment; one space after the colon of a field goes; data
 * lines are joined by LF; an empty line dispatches, but not without data; the id stays until it is changed; `retry`
 * takes digits only; a last event without its empty line is discarded.
 */
export class EventStreamParser {
  readonly events: StreamEvent[] = [];
  readonly comments: string[] = [];
  retryMs: number | null = null;
  lastId = '';
  #rest = '';
  #wasCr = false;
  #data: string[] = [];
  #event = '';
  #id = '';

  push(chunk: string): void {
    for (const letter of chunk) {
      if (letter === '\n' && this.#wasCr) {
        this.#wasCr = false;
        continue;
      }
      this.#wasCr = letter === '\r';
      if (letter === '\n' || letter === '\r') {
        this.#line(this.#rest);
        this.#rest = '';
      } else this.#rest += letter;
    }
  }

  #line(line: string): void {
    if (line === '') {
      this.lastId = this.#id;
      if (this.#data.length > 0)
        this.events.push({ event: this.#event || 'message', data: this.#data.join('\n'), id: this.#id });
      this.#data = [];
      this.#event = '';
      return;
    }
    const colon = line.indexOf(':');
    if (colon === 0) {
      this.comments.push(line.slice(1));
      return;
    }
    const field = colon < 0 ? line : line.slice(0, colon);
    const value = colon < 0 ? '' : line.slice(colon + 1).replace(/^ /, '');
    if (field === 'data') this.#data.push(value);
    if (field === 'event') this.#event = value;
    if (field === 'id' && !value.includes('\0')) this.#id = value;
    if (field === 'retry' && /^[0-9]+$/.test(value)) this.retryMs = Number(value);
  }
}
