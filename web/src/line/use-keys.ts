import { useEffect, useRef, useState } from 'react';
import { Gatherer, QUIET_MS } from './scanner.ts';
import type { ScannerRule } from './scanner.ts';

/** What the keys of a line screen do. */
export interface Keys {
  readonly scan: (text: string, typed: boolean) => void;
  /** Space: the key of the band. */
  readonly act: () => void;
  /** Escape: stops a running cycle, or else goes back. */
  readonly stop: () => void;
  /** Whether a serial is asked for now. */
  readonly isScanAsked: boolean;
  /** Whether something runs that Escape stops, wherever the focus is. */
  readonly isRunning: boolean;
  readonly demo: () => void;
}

const isField = (target: EventTarget | null): boolean =>
  target instanceof HTMLInputElement || target instanceof HTMLTextAreaElement || target instanceof HTMLSelectElement;

/**
 * Listens to keyboard and scanner wherever the focus is, except in fields, which keep their own keys. `band` names what
 * the band asks for: right after it changes, and right after a scan, its key does nothing. Answers what is typed so far.
 */
export function useKeys(
  rule: ScannerRule,
  band: string,
  keys: Keys,
): { readonly typed: string; readonly mayAct: () => boolean } {
  const [typed, setTyped] = useState('');
  const now = useRef({ rule, keys, gatherer: new Gatherer(), quietFromMs: 0, band });
  now.current.rule = rule;
  now.current.keys = keys;
  if (now.current.band !== band) {
    now.current.band = band;
    now.current.quietFromMs = performance.now();
  }
  const mayAct = (): boolean => performance.now() - now.current.quietFromMs > QUIET_MS;

  useEffect(() => {
    const onKey = (event: KeyboardEvent): void => {
      if (event.ctrlKey || event.altKey || event.metaKey) return;
      const { gatherer, rule: by, keys: does } = now.current;
      if (event.key === 'F2') {
        event.preventDefault();
        if (!event.repeat) does.demo();
        return;
      }
      if (event.key === 'Escape' && does.isRunning) {
        event.preventDefault();
        gatherer.clear();
        setTyped('');
        if (!event.repeat) does.stop();
        return;
      }
      if (isField(event.target)) return;
      const gathered = gatherer.take(event.key, event.timeStamp, by, does.isScanAsked);
      setTyped(gatherer.text);
      if (gathered.type !== 'unused') event.preventDefault();
      if (gathered.type === 'scan' || gathered.type === 'typed') {
        now.current.quietFromMs = performance.now();
        if (gathered.text !== '') does.scan(gathered.text, gathered.type === 'typed');
        return;
      }
      if (gathered.type === 'text') return;
      if (event.key === 'Escape') does.stop();
      const isOnButton = event.target instanceof HTMLButtonElement || event.target instanceof HTMLAnchorElement;
      if (event.key === ' ' && !isOnButton) {
        event.preventDefault();
        if (!event.repeat && performance.now() - now.current.quietFromMs > QUIET_MS) does.act();
      }
    };
    window.addEventListener('keydown', onKey);
    return () => window.removeEventListener('keydown', onKey);
  }, []);
  return { typed, mayAct };
}
