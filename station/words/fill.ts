import type { Facts } from '../faults.ts';

const PLACE = /\{([a-zA-Z]+)\}/g;

/** Puts facts into the places of a text, `{serial}`; a place without a fact stays, so that its lack is seen. */
export const fill = (text: string, facts: Facts): string =>
  text.replace(PLACE, (place, name: string) => (Object.hasOwn(facts, name) ? String(facts[name]) : place));

/** The names of a text's places. */
export const placesOf = (text: string): string[] => [...text.matchAll(PLACE)].map((match) => match[1] ?? '');
