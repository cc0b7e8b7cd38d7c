import { useEffect, useState } from 'react';
import type { LineView, LiveView, Snapshot } from '../../../server/line/contract.ts';
import { UNKNOWN, next } from './line-state.ts';
import type { LineEvent, LineState } from './line-state.ts';

/** Follows a station for as long as the screen shows it. The browser reconnects by itself and says what it saw last. */
export function useLine(station: string): LineState {
  const [state, setState] = useState<LineState>(UNKNOWN);
  useEffect(() => {
    const tell = (event: LineEvent): void => setState((before) => next(before, event));
    const path = `/api/stations/${encodeURIComponent(station)}/line`;
    const source = new EventSource(`${path}/live`);
    const on = (name: string, take: (data: string) => void): void =>
      source.addEventListener(name, (event) => take((event as MessageEvent<string>).data));
    on('snapshot', (data) =>
      tell({ type: 'snapshot', snapshot: JSON.parse(data) as Snapshot, atMs: performance.now() }),
    );
    on('view', (data) => tell({ type: 'view', view: JSON.parse(data) as LineView, atMs: performance.now() }));
    on('live', (data) => tell({ type: 'live', live: JSON.parse(data) as LiveView, atMs: performance.now() }));
    source.addEventListener('open', () => tell({ type: 'online' }));
    source.addEventListener('error', () => {
      tell({ type: 'offline' });
      // A stream that was refused is not tried again by the browser: the station does not exist.
      if (source.readyState === EventSource.CLOSED)
        void fetch(path).then(
          ({ status }) => tell({ type: status === 404 ? 'missing' : 'offline' }),
          () => undefined,
        );
    });
    const ticking = setInterval(() => tell({ type: 'tick', atMs: performance.now() }), 250);
    return () => {
      source.close();
      clearInterval(ticking);
    };
  }, [station]);
  return state;
}
