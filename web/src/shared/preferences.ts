import { useSyncExternalStore } from 'react';
import type { Catalogue } from '../../../station/words/catalogue.ts';
import { english } from '../../../station/words/en.ts';
import { spanish } from '../../../station/words/es.ts';

export const UNITS = ['kPa', 'bar', 'psi', 'inHg'] as const;
export type ShownUnit = (typeof UNITS)[number];

/** How a person wants to see things; kept in the browser, never in the store of measurements. */
export interface Preferences {
  readonly language: 'en' | 'es';
  readonly theme: 'light' | 'dark';
  readonly unit: ShownUnit;
  readonly isBelowAmbient: boolean;
}

const KEY = 'barolot.preferences';
const USUAL: Preferences = { language: 'en', theme: 'light', unit: 'kPa', isBelowAmbient: false };
const listeners = new Set<() => void>();
let current = read();

function read(): Preferences {
  try {
    const kept = JSON.parse(localStorage.getItem(KEY) ?? '{}') as Partial<Preferences>;
    return {
      language: kept.language === 'es' ? 'es' : 'en',
      theme: kept.theme === 'dark' ? 'dark' : 'light',
      unit: UNITS.find((unit) => unit === kept.unit) ?? USUAL.unit,
      isBelowAmbient: kept.isBelowAmbient === true,
    };
  } catch {
    // A browser that keeps nothing shows the usual.
    return USUAL;
  }
}

function apply({ language, theme }: Preferences): void {
  document.documentElement.lang = language;
  document.documentElement.dataset['theme'] = theme;
}

export function setPreferences(change: Partial<Preferences>): void {
  current = { ...current, ...change };
  apply(current);
  try {
    localStorage.setItem(KEY, JSON.stringify(current));
  } catch {
    // It holds for this visit then.
  }
  for (const listener of listeners) listener();
}

/** Called once before anything is shown. */
export const applyPreferences = (): void => apply(current);

function subscribe(listener: () => void): () => void {
  listeners.add(listener);
  return () => listeners.delete(listener);
}

export const usePreferences = (): Preferences => useSyncExternalStore(subscribe, () => current);

export const catalogueOf = (language: Preferences['language']): Catalogue => (language === 'es' ? spanish : english);

/** Every word in the language that is chosen. */
export const useWords = (): Catalogue => catalogueOf(usePreferences().language);
