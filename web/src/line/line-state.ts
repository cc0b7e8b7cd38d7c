import type { Frame, LineView, LiveView, Snapshot } from '../../../server/line/contract.ts';

/** What the screen knows, and how fresh it is. */
export interface LineState {
  /** `missing`: the server knows no such station. */
  readonly link: 'loading' | 'live' | 'offline' | 'missing';
  readonly view: LineView | null;
  /** Gone when it is older than two seconds: an old pressure is worse than none. */
  readonly live: LiveView | null;
  readonly liveAtMs: number;
  readonly frames: readonly Frame[];
}

export type LineEvent =
  | { readonly type: 'snapshot'; readonly snapshot: Snapshot; readonly atMs: number }
  | { readonly type: 'view'; readonly view: LineView; readonly atMs: number }
  | { readonly type: 'live'; readonly live: LiveView; readonly atMs: number }
  | { readonly type: 'offline' }
  | { readonly type: 'online' }
  | { readonly type: 'missing' }
  | { readonly type: 'tick'; readonly atMs: number };

/** After this long without news a measured number is not shown any more, ms. */
export const STALE_MS = 2000;

export const UNKNOWN: LineState = { link: 'loading', view: null, live: null, liveAtMs: 0, frames: [] };

/** What is known after an event; pure. */
export function next(state: LineState, event: LineEvent): LineState {
  switch (event.type) {
    case 'snapshot': {
      const { view, live, frames } = event.snapshot;
      return { link: 'live', view, live, liveAtMs: event.atMs, frames };
    }
    case 'view':
      return { ...state, link: 'live', view: event.view, frames: framesAfter(state, event.view) };
    case 'live': {
      const { live, atMs } = event;
      const isRunning = state.view !== null && state.view.test !== null;
      return {
        ...state,
        link: 'live',
        live,
        liveAtMs: atMs,
        frames: isRunning && live.frame !== null ? [...state.frames, live.frame] : state.frames,
      };
    }
    case 'offline':
      return { ...state, link: state.view === null ? 'loading' : 'offline', live: null };
    case 'online':
      return state.link === 'offline' ? { ...state, link: 'live' } : state;
    case 'missing':
      return { ...UNKNOWN, link: 'missing' };
    case 'tick':
      return state.live !== null && event.atMs - state.liveAtMs > STALE_MS ? { ...state, live: null } : state;
  }
}

/** A new test begins its own picture; a new load has none; the last test keeps its. */
function framesAfter({ view, frames }: LineState, now: LineView): readonly Frame[] {
  if (now.test !== null) return now.test.cycle === view?.test?.cycle ? frames : [];
  return now.outcome === null ? [] : frames;
}
