import { assert } from '../assert.ts';
import type { CycleEvent } from './event.ts';
import type { Measurement } from './record.ts';

/** A measurement in the making: what the events so far say. */
export type Unfinished = { -readonly [K in keyof Measurement]: Measurement[K] } & { readonly closed: boolean };

/** The measurement before its first event. */
const EMPTY = {
  format: 1,
  kind: 'line',
  plan: '',
  load: [],
  phases: [],
  readings: [],
  judgements: [],
  results: [],
  faults: [],
  vented: true,
  closed: false,
} as const satisfies Unfinished;

/**
 * Adds one event to a measurement in the making; pure. The record, the live screen and a replay are this fold. What
 * comes after `closed` (the release) is no longer part of the measurement.
 */
export function foldEvent(state: Unfinished, event: CycleEvent): Unfinished {
  if (state.closed) return state;
  switch (event.type) {
    case 'opened':
      return {
        ...EMPTY,
        kind: event.kind,
        plan: event.plan,
        load: event.load,
        ...(event.soak === undefined ? {} : { soak: event.soak }),
      };
    case 'phase':
      return {
        ...endPhase(state, event.atMs),
        phases: [...endPhase(state, event.atMs).phases, { phase: event.phase, fromMs: event.atMs, toMs: event.atMs }],
      };
    case 'reading':
      return { ...state, readings: [...state.readings, event.reading] };
    case 'judgement':
      return { ...state, judgements: [...state.judgements, event.judgement] };
    case 'fault':
      return { ...state, faults: [...state.faults, event.fault] };
    case 'vented':
      return { ...state, vented: event.vented };
    case 'closed':
      return { ...endPhase(state, event.atMs), results: event.results, closed: true };
    case 'isolated':
    case 'released':
      return state;
  }
}

/** The measurement of a whole cycle out of its events. Asserts that the cycle was opened and closed. */
export function measurementOf(events: Iterable<CycleEvent>): Measurement {
  let state: Unfinished = EMPTY;
  for (const event of events) state = foldEvent(state, event);
  assert(state.closed, 'a record is made of a closed cycle');
  const { closed: _closed, ...measurement } = state;
  return measurement;
}

/** The last phase ends where the next one, or the closing, begins. */
function endPhase(state: Unfinished, atMs: number): Unfinished {
  const last = state.phases[state.phases.length - 1];
  if (last === undefined) return state;
  return { ...state, phases: [...state.phases.slice(0, -1), { ...last, toMs: atMs }] };
}
