const AGAIN_MS = 2000;

/** What is told of a stream as it comes. Times are those of the page. */
export interface StreamListener {
  /** By the name of the event; each is also `heard`. */
  readonly events: Readonly<Record<string, (data: string, atMs: number) => void>>;
  /** The stream is there, or said that it is. */
  heard(atMs: number): void;
  offline(): void;
  /** The server knows no such thing. */
  missing?(): void;
}

/**
 * Follows server-sent events until the answer is called. The browser reconnects by itself and says what it saw last; a
 * stream that was refused (a server that ends, something in between) is asked for anew as soon as `probe` is answered.
 */
export function followStream(path: string, probe: string, listener: StreamListener): () => void {
  let isOver = false;
  let trying: ReturnType<typeof setTimeout> | undefined;
  let source = follow();

  function follow(): EventSource {
    const opened = new EventSource(path);
    for (const [name, take] of Object.entries(listener.events))
      opened.addEventListener(name, (event) => take((event as MessageEvent<string>).data, performance.now()));
    for (const name of ['open', 'still-here']) opened.addEventListener(name, () => listener.heard(performance.now()));
    opened.addEventListener('error', () => {
      listener.offline();
      if (opened.readyState === EventSource.CLOSED) askAgain();
    });
    return opened;
  }

  /** A stream that was refused is not tried again by the browser. */
  function askAgain(): void {
    const later = (again: () => void): void => {
      if (!isOver) trying = setTimeout(again, AGAIN_MS);
    };
    void fetch(probe).then(
      ({ status }) => {
        if (status === 404) listener.missing?.();
        else later(() => (source = follow()));
      },
      () => later(askAgain),
    );
  }

  return () => {
    isOver = true;
    source.close();
    clearTimeout(trying);
  };
}
