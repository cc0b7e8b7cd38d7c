import { useEffect, useState } from 'react';
import type { LineView, LiveView, Snapshot } from '../../../server/line/contract.ts';
import { UNKNOWN, next } from './line-state.ts';
import type { LineEvent, LineState } from './line-state.ts';

const AGAIN_MS = 2000;

/**
 * Follows a station for as long as the screen shows it. The browser reconnects by itself and says what it saw last; a
 * stream that was refused (a server that ends, something in between) is asked for anew.
 */
export function useLine(station: string): LineState {
  const [state, setState] = useState<LineState>(UNKNOWN);
  useEffect(() => {
    const tell = (event: LineEvent): void => setState((before) => next(before, event));
    const path = `/api/stations/${encodeURIComponent(station)}/line`;
    let source = follow();
    let trying: ReturnType<typeof setTimeout> | undefined;

    function follow(): EventSource {
      const opened = new EventSource(`${path}/live`);
      const on = (name: string, take: (data: string, atMs: number) => void): void =>
        opened.addEventListener(name, (event) => take((event as MessageEvent<string>).data, performance.now()));
      on('snapshot', (data, atMs) => tell({ type: 'snapshot', snapshot: JSON.parse(data) as Snapshot, atMs }));
      on('view', (data, atMs) => tell({ type: 'view', view: JSON.parse(data) as LineView, atMs }));
      on('live', (data, atMs) => tell({ type: 'live', live: JSON.parse(data) as LiveView, atMs }));
      on('past', (data) => tell({ type: 'past', live: JSON.parse(data) as LiveView }));
      on('still-here', (_data, atMs) => tell({ type: 'heard', atMs }));
      opened.addEventListener('open', () => tell({ type: 'heard', atMs: performance.now() }));
      opened.addEventListener('error', () => {
        tell({ type: 'offline' });
        if (opened.readyState === EventSource.CLOSED) askAgain();
      });
      return opened;
    }

    /** A stream that was refused is not tried again by the browser. */
    function askAgain(): void {
      void fetch(path).then(
        ({ status }) => {
          if (status === 404) tell({ type: 'missing' });
          else trying = setTimeout(() => (source = follow()), AGAIN_MS);
        },
        () => (trying = setTimeout(askAgain, AGAIN_MS)),
      );
    }

    const ticking = setInterval(() => tell({ type: 'tick', atMs: performance.now() }), 250);
    return () => {
      source.close();
      clearInterval(ticking);
      clearTimeout(trying);
    };
  }, [station]);
  return state;
}
