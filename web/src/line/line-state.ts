import type { Frame, LineView, LiveView, Snapshot } from '../../../server/line/contract.ts';

/** What the screen knows, and how fresh it is. */
export interface LineState {
  /** `missing`: the server knows no such station. */
  readonly link: 'loading' | 'live' | 'offline' | 'missing';
  readonly view: LineView | null;
  /** Gone when it is older than two seconds: an old pressure is worse than none. */
  readonly live: LiveView | null;
  readonly liveAtMs: number;
  /** When anything was heard last. */
  readonly heardAtMs: number;
  readonly frames: readonly Frame[];
}

export type LineEvent =
  | { readonly type: 'snapshot'; readonly snapshot: Snapshot; readonly atMs: number }
  | { readonly type: 'view'; readonly view: LineView; readonly atMs: number }
  | { readonly type: 'live'; readonly live: LiveView; readonly atMs: number }
  /** A measurement of before the link came back. */
  | { readonly type: 'past'; readonly live: LiveView }
  | { readonly type: 'heard'; readonly atMs: number }
  | { readonly type: 'offline' }
  | { readonly type: 'missing' }
  | { readonly type: 'tick'; readonly atMs: number };

/** After this long without news a measured number is not shown any more, ms. */
export const STALE_MS = 2000;
/** The server says something every five seconds: after this long a link is none, whatever the browser believes, ms. */
export const SILENT_MS = 12_000;

export const UNKNOWN: LineState = { link: 'loading', view: null, live: null, liveAtMs: 0, heardAtMs: 0, frames: [] };

/** What is known after an event; pure. */
export function next(before: LineState, event: LineEvent): LineState {
  const state = 'atMs' in event && event.type !== 'tick' ? { ...before, heardAtMs: event.atMs } : before;
  switch (event.type) {
    case 'snapshot': {
      const { view, live, frames } = event.snapshot;
      return { link: 'live', view, live, liveAtMs: event.atMs, heardAtMs: event.atMs, frames };
    }
    case 'view':
      return { ...state, link: 'live', view: event.view, frames: framesAfter(state, event.view) };
    case 'live': {
      const { live, atMs } = event;
      return { ...state, link: 'live', live, liveAtMs: atMs, frames: framesWith(state, live) };
    }
    case 'past':
      return { ...state, frames: framesWith(state, event.live) };
    case 'heard':
      return state.link === 'offline' ? { ...state, link: 'live' } : state;
    case 'offline':
      return { ...state, link: state.view === null ? 'loading' : 'offline', live: null };
    case 'missing':
      return { ...UNKNOWN, link: 'missing' };
    case 'tick':
      if (state.link === 'live' && event.atMs - state.heardAtMs > SILENT_MS)
        return { ...state, link: 'offline', live: null };
      return state.live !== null && event.atMs - state.liveAtMs > STALE_MS ? { ...state, live: null } : state;
  }
}

function framesWith({ view, frames }: LineState, { frame }: LiveView): readonly Frame[] {
  return view !== null && view.test !== null && frame !== null ? [...frames, frame] : frames;
}

/** A new test begins its own picture; a new load has none; the last test keeps its. */
function framesAfter({ view, frames }: LineState, now: LineView): readonly Frame[] {
  if (now.test !== null) return now.test.cycle === view?.test?.cycle ? frames : [];
  return now.outcome === null ? [] : frames;
}
