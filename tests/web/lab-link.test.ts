import { afterEach, beforeEach, expect, test, vi } from 'vitest';
import type { LabView } from '../../server/lab/contract.ts';
import { SILENT_MS, asHeard, linkNow, watchLink, withLab } from '../../web/src/audit/lab-link.ts';
import { unheard } from '../../web/src/audit/lab-words.ts';
import { deskQueries } from '../../web/src/desk/desk-data.ts';

/** The browser's end of a stream, which Node has none of: events are given to it by hand. */
class Stream extends EventTarget {
  static readonly CLOSED = 2;
  static last: Stream;
  readyState = 1;
  constructor() {
    super();
    Stream.last = this;
  }
  close(): void {
    this.readyState = Stream.CLOSED;
  }
  say(event: string, data: unknown = null): void {
    this.dispatchEvent(new MessageEvent(event, { data: JSON.stringify(data) }));
  }
}

let leave: () => void = () => undefined;
beforeEach(() => {
  vi.useFakeTimers();
  vi.stubGlobal('EventSource', Stream);
});
afterEach(() => {
  leave();
  deskQueries.clear();
  vi.unstubAllGlobals();
  vi.useRealTimers();
});

const lab = (station: string, door: LabView['door']): LabView =>
  ({ station, door, chamberC: 23, partC: [23], isVented: true, guardShut: true, roomC: 23 }) as unknown as LabView;

test('a view takes the place of the one of its station', () => {
  const before = [lab('LAB-1', 'running'), lab('LAB-2', 'running')];
  expect(withLab(before, lab('LAB-2', 'ready'))).toEqual([lab('LAB-1', 'running'), lab('LAB-2', 'ready')]);
});

test('without a link nobody says that a door may be opened, nor what was measured', () => {
  expect(unheard(lab('LAB-1', 'ready'))).toMatchObject({
    ...{ station: 'LAB-1', door: 'not-measured', chamberC: null, partC: [], isVented: null },
  });
});

test('a station remembered from an earlier page is unheard until the snapshot, whatever else the stream says', () => {
  const ready = lab('LAB-1', 'ready');
  deskQueries.setQueryData(['labs'], [ready]);
  const shown = (): LabView['door'] => asHeard(ready, linkNow()).door;
  const heard = vi.fn();
  leave = watchLink(heard);
  expect(shown()).toBe('not-measured');
  for (const event of ['open', 'still-here']) Stream.last.say(event);
  expect([linkNow(), shown()]).toEqual(['loading', 'not-measured']);
  // Whoever hears that the link is live finds what the snapshot says.
  heard.mockImplementation(() => {
    expect(deskQueries.getQueryData(['labs'])).toMatchObject([{ door: 'running' }]);
  });
  Stream.last.say('snapshot', { labs: [lab('LAB-1', 'running')], head: 1 });
  expect([linkNow(), shown(), heard.mock.calls.length]).toEqual(['live', 'ready', 1]);
  leave();
  expect(linkNow()).toBe('loading');
});

test('a stream that never says where the stations stand is lost after the silence, and live with its snapshot', () => {
  leave = watchLink(() => undefined);
  Stream.last.say('open');
  vi.advanceTimersByTime(SILENT_MS);
  expect(linkNow()).toBe('loading');
  Stream.last.say('still-here');
  vi.advanceTimersByTime(1000);
  expect(linkNow()).toBe('lost');
  Stream.last.say('still-here');
  expect(linkNow()).toBe('lost');
  Stream.last.say('snapshot', { labs: [], head: 1 });
  expect(linkNow()).toBe('live');
});

test('what an audit or a decision changes is asked for anew wherever it is shown, once and only that', () => {
  const keys = ['audit', 'audits', 'comparison', 'others', 'suspects', 'sampling-plan', 'lot', 'lots', 'readiness'];
  for (const key of keys) deskQueries.setQueryData([key, 'x'], 1);
  const old = (): string[] => keys.filter((key) => deskQueries.getQueryState([key, 'x'])?.isInvalidated);
  leave = watchLink(() => undefined);
  const afterNote = (about: string): string[] => {
    for (const key of keys) deskQueries.setQueryData([key, 'x'], 1);
    Stream.last.say('kept', { sequence: 1, about, audit: null });
    vi.advanceTimersByTime(1000);
    return old();
  };
  expect(afterNote('audit')).toEqual(keys.filter((key) => key !== 'readiness'));
  expect(afterNote('decision')).toEqual(keys.filter((key) => key !== 'readiness' && key !== 'sampling-plan'));
  expect(afterNote('lot')).toEqual(['lot', 'lots']);
  expect(afterNote('plan')).toEqual(['sampling-plan', 'lot']);
});
