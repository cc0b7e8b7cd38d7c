import { useEffect, useState } from 'react';
import type { LineView, LiveView, Snapshot } from '../../../server/line/contract.ts';
import { followStream } from '../shared/live-stream.ts';
import { UNKNOWN, next } from './line-state.ts';
import type { LineEvent, LineState } from './line-state.ts';

/** Follows a station for as long as the screen shows it. */
export function useLine(station: string): LineState {
  const [state, setState] = useState<LineState>(UNKNOWN);
  useEffect(() => {
    const tell = (event: LineEvent): void => setState((before) => next(before, event));
    const path = `/api/stations/${encodeURIComponent(station)}/line`;
    const leave = followStream(`${path}/live`, path, {
      events: {
        snapshot: (data, atMs) => tell({ type: 'snapshot', snapshot: JSON.parse(data) as Snapshot, atMs }),
        view: (data, atMs) => tell({ type: 'view', view: JSON.parse(data) as LineView, atMs }),
        live: (data, atMs) => tell({ type: 'live', live: JSON.parse(data) as LiveView, atMs }),
        past: (data) => tell({ type: 'past', live: JSON.parse(data) as LiveView }),
      },
      heard: (atMs) => tell({ type: 'heard', atMs }),
      offline: () => tell({ type: 'offline' }),
      missing: () => tell({ type: 'missing' }),
    });
    const ticking = setInterval(() => tell({ type: 'tick', atMs: performance.now() }), 250);
    return () => {
      leave();
      clearInterval(ticking);
    };
  }, [station]);
  return state;
}
