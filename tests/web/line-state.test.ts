import { expect, test } from 'vitest';
import type { Frame, LineView, LiveView, OutcomeView, TestView } from '../../server/line/contract.ts';
import { SILENT_MS, STALE_MS, UNKNOWN, next } from '../../web/src/line/line-state.ts';
import type { LineEvent, LineState } from '../../web/src/line/line-state.ts';

const viewWith = (parts: { test?: string; outcome?: string }): LineView =>
  ({
    test: parts.test === undefined ? null : ({ cycle: parts.test } as TestView),
    outcome: parts.outcome === undefined ? null : ({ cycle: parts.outcome } as OutcomeView),
  }) as LineView;

const frame = (atMs: number): Frame => ({ atMs, kPaAbs: 150, nests: [] });
const liveAt = (atMs: number): LiveView => ({
  pressure: { state: 'present', kPaAbs: 150, barometerKpaAbs: 101 },
  guardShut: true,
  frame: frame(atMs),
});

const after = (events: readonly LineEvent[], from: LineState = UNKNOWN): LineState => events.reduce(next, from);
const view = (parts: { test?: string; outcome?: string }): LineEvent => ({
  type: 'view',
  view: viewWith(parts),
  atMs: 0,
});
const live = (atMs: number): LineEvent => ({ type: 'live', live: liveAt(atMs), atMs });

test('the picture of a test grows while it runs, stays with its outcome, and goes with the next load', () => {
  const running = after([view({ test: 'a' }), live(0), live(100), live(200)]);
  expect(running.frames.map(({ atMs }) => atMs)).toEqual([0, 100, 200]);
  const over = after([view({ outcome: 'a' }), live(300)], running);
  expect(over.frames).toHaveLength(3);
  expect(after([view({})], over).frames).toEqual([]);
});

test('a second test begins its own picture', () => {
  const first = after([view({ test: 'a' }), live(0), live(100), view({ test: 'a' })]);
  expect(first.frames).toHaveLength(2);
  expect(after([view({ test: 'b' }), live(0)], first).frames).toHaveLength(1);
});

test('after a break the snapshot says where things stand, the picture included', () => {
  const snapshot = { view: viewWith({ test: 'a' }), live: liveAt(500), frames: [frame(0), frame(500)] };
  const state = after([{ type: 'offline' }, { type: 'snapshot', snapshot, atMs: 10 }, live(600)]);
  expect(state).toMatchObject({ link: 'live' });
  expect(state.frames.map(({ atMs }) => atMs)).toEqual([0, 500, 600]);
});

test('a measured number is gone after two seconds without news; what is stored stays', () => {
  const state = after([view({ outcome: 'a' }), live(1000)]);
  expect(next(state, { type: 'tick', atMs: 1000 + STALE_MS }).live).not.toBeNull();
  expect(next(state, { type: 'tick', atMs: 1001 + STALE_MS })).toMatchObject({
    live: null,
    view: { outcome: { cycle: 'a' } },
  });
});

test('a link that says nothing for longer than the server is ever silent is none', () => {
  const state = after([view({ outcome: 'a' }), live(1000), { type: 'heard', atMs: 5000 }]);
  expect(next(state, { type: 'tick', atMs: 5000 + SILENT_MS }).link).toBe('live');
  expect(next(state, { type: 'tick', atMs: 5001 + SILENT_MS })).toMatchObject({ link: 'offline', live: null });
});

test('a measurement of before the link came back is drawn, and not shown as measured now', () => {
  const past = { type: 'past', live: liveAt(600) } as const;
  const state = after([view({ test: 'a' }), live(500), { type: 'offline' }, past]);
  expect(state.live).toBeNull();
  expect(state.frames.map(({ atMs }) => atMs)).toEqual([500, 600]);
});

test('offline: numbers go at once, verdicts stay, and the link comes back by itself', () => {
  const state = after([view({ outcome: 'a' }), live(1000), { type: 'offline' }]);
  expect(state).toMatchObject({ link: 'offline', live: null, view: { outcome: { cycle: 'a' } } });
  expect(next(state, { type: 'heard', atMs: 2000 }).link).toBe('live');
  expect(next(UNKNOWN, { type: 'offline' }).link).toBe('loading');
  expect(next(UNKNOWN, { type: 'missing' }).link).toBe('missing');
});
