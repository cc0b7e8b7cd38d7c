import { useSyncExternalStore } from 'react';
import type { KeptNote, LabSnapshot, LabView } from '../../../server/lab/contract.ts';
import { deskQueries } from '../desk/desk-data.ts';
import { followStream } from '../shared/live-stream.ts';
import { unheard } from './lab-words.ts';

/** `loading`: no station was heard of yet; `lost`: what stands on the page is as old as it says. */
export type Link = 'loading' | 'live' | 'lost';

/** The server says something every five seconds: after this long a link is none, whatever the browser believes, ms. */
export const SILENT_MS = 12_000;
/** What comes together is asked for once, ms. */
const GATHER_MS = 200;

/** Which answers rest on what the ledger took in, by the first word of their key. */
export const RESTS_ON: Readonly<Record<KeptNote['about'], readonly string[]>> = {
  audit: ['audit', 'audits', 'comparison', 'others', 'suspects', 'sampling-plan', 'lot', 'lots'],
  decision: ['audit', 'audits', 'comparison', 'others', 'suspects', 'lot', 'lots'],
  lot: ['lot', 'lots'],
  plan: ['sampling-plan', 'lot'],
  station: ['readiness', 'audit', 'audits'],
};

/** Every station as it is known after one of them has changed. Pure. */
export const withLab = (labs: readonly LabView[], changed: LabView): readonly LabView[] =>
  labs.map((lab) => (lab.station === changed.station ? changed : lab));

/** A station as it may be shown: what is remembered from an earlier page says nothing of now. Pure. */
export const asHeard = (lab: LabView, now: Link): LabView => (now === 'live' ? lab : unheard(lab));

let link: Link = 'loading';
let heardAtMs = 0;
const watchers = new Set<() => void>();
let leave: (() => void) | null = null;

function be(now: Link): void {
  if (link === now) return;
  link = now;
  for (const watcher of watchers) watcher();
}

function follow(): () => void {
  const asked = new Set<string>();
  let gathering: ReturnType<typeof setTimeout> | undefined;
  const askAnew = (keys: readonly string[]): void => {
    for (const key of keys) asked.add(key);
    gathering ??= setTimeout(() => {
      gathering = undefined;
      for (const key of asked) void deskQueries.invalidateQueries({ queryKey: [key] });
      asked.clear();
    }, GATHER_MS);
  };
  // A stream that is there says nothing of the stations before its snapshot.
  let isTold = false;
  heardAtMs = performance.now();
  const heard = (atMs: number): void => {
    if (!isTold) return;
    heardAtMs = atMs;
    be('live');
  };
  const stop = followStream('/api/labs/live', '/api/labs', {
    events: {
      snapshot: (data, atMs) => {
        deskQueries.setQueryData(['labs'], (JSON.parse(data) as LabSnapshot).labs);
        isTold = true;
        heard(atMs);
        askAnew(Object.values(RESTS_ON).flat());
      },
      lab: (data, atMs) => {
        const changed = JSON.parse(data) as LabView;
        deskQueries.setQueryData<readonly LabView[]>(['labs'], (labs) => labs && withLab(labs, changed));
        heard(atMs);
      },
      kept: (data, atMs) => {
        heard(atMs);
        askAnew(RESTS_ON[(JSON.parse(data) as KeptNote).about]);
      },
    },
    heard,
    offline: () => be('lost'),
  });
  const listening = setInterval(() => {
    if (link !== 'lost' && performance.now() - heardAtMs > SILENT_MS) be('lost');
  }, 1000);
  return () => {
    stop();
    clearInterval(listening);
    clearTimeout(gathering);
    link = 'loading';
  };
}

/** Calls the watcher at every change of the link, and follows the lab while there is any; the answer ends it. */
export function watchLink(watcher: () => void): () => void {
  watchers.add(watcher);
  leave ??= follow();
  return () => {
    watchers.delete(watcher);
    if (watchers.size > 0) return;
    leave?.();
    leave = null;
  };
}

export const linkNow = (): Link => link;

/** Follows the lab for as long as a page shows something of it; what has changed is asked for anew. */
export const useLabLink = (): Link => useSyncExternalStore(watchLink, linkNow);
