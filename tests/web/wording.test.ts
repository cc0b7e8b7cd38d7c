import { describe, expect, test } from 'vitest';
import type { LineView, NestOutcome, NestView, Prompt, ReadingView, SheetRow } from '../../server/line/contract.ts';
import { english } from '../../station/words/en.ts';
import { spanish } from '../../station/words/es.ts';
import { isStationState } from '../../web/src/line/station-state.tsx';
import {
  isFedNow,
  isLockShown,
  isLowSide,
  isMendNeeded,
  outcomeOf,
  phaseText,
  readingName,
  whyText,
  wordClass,
} from '../../web/src/line/wording.ts';
import type { Voice } from '../../web/src/line/wording.ts';

const voice: Voice = {
  words: english,
  wish: { language: 'en', theme: 'light', unit: 'kPa', isBelowAmbient: false },
};

const output: ReadingView = {
  step: 'point:60-kpa',
  quantity: 'output',
  value: 3.1,
  u: 0.0015,
  unit: 'V',
  low: 2.9,
  high: 3.2,
  guard: 0.003,
  margin: 0.7,
  verdict: 'pass',
  inGuardBand: false,
};
const leak: ReadingView = {
  ...output,
  step: 'measure',
  quantity: 'leak',
  value: 2.41,
  u: 0.03,
  unit: 'std cm3/min',
  low: null,
  high: 0.5,
  margin: -3.82,
  verdict: 'fail',
};
const SHEET: readonly SheetRow[] = [
  { step: 'point:60-kpa', quantity: 'output', unit: 'V', oneSided: false, pointKpaAbs: 60 },
  { step: 'measure', quantity: 'leak', unit: 'std cm3/min', oneSided: true, pointKpaAbs: null },
];

const outcome = (parts: Partial<NestOutcome>): NestOutcome => ({
  nest: 1,
  serial: 'AQ1105-26K24-00001',
  verdict: 'fail',
  why: [],
  readings: [output, leak],
  isWaiting: false,
  ...parts,
});
const nest = (parts: Partial<NestView>): NestView => ({
  nest: 1,
  state: 'open',
  serial: null,
  attempt: null,
  typed: false,
  isFed: true,
  lock: null,
  ...parts,
});
const viewAt = (code: Prompt['code'], more: Partial<LineView> = {}): LineView =>
  ({ prompt: { code }, outcome: null, test: null, ...more }) as LineView;

describe('why a part did not pass', () => {
  test('is the reason, and the number behind it with what is allowed', () => {
    const why = [{ by: 'part', code: 'leak', facts: { step: 'measure' } }] as const;
    expect(whyText(voice, outcome({ why }), SHEET)).toEqual({
      says: 'Leaks',
      detail: '2.41 std cm³/min, at most 0.50 allowed',
    });
  });

  test('names the part number that a part reads like', () => {
    const why = [{ by: 'part', code: 'other-class', facts: { readsLike: 'AQ-2105' } }] as const;
    const low: ReadingView = { ...output, value: 2.2, margin: -5, verdict: 'fail' };
    expect(whyText(voice, outcome({ why, readings: [low] }), SHEET).detail).toBe(
      'AQ-2105 (60 kPa: 2.200 V, allowed 2.900 to 3.200)',
    );
    expect(whyText(voice, outcome({ why, readings: [] }), SHEET).detail).toBe('AQ-2105');
  });

  test('of a part that passed is its closest reading', () => {
    const text = whyText(voice, outcome({ verdict: 'pass', readings: [output] }), SHEET);
    expect(text).toEqual({ says: 'To the good parts', detail: 'All 1 inside. Nearest limit: 60 kPa, 70 % left' });
  });
});

test.each([
  [2.8, -0.3, true],
  [3.3, -0.3, false],
])('an output of %d V left its room at the low side: %s', (value, margin, isLow) => {
  const failed: ReadingView = { ...output, value, margin, verdict: 'fail' };
  expect(isLowSide(outcome({ readings: [failed] }))).toBe(isLow);
});

test('the worst of two failures says at which side; one-sided limits are left at the high one', () => {
  const low: ReadingView = { ...output, value: 2.8, margin: -0.3, verdict: 'fail' };
  const high: ReadingView = { ...output, step: 'x', value: 4, margin: -7, verdict: 'fail' };
  expect(isLowSide(outcome({ readings: [low, high] }))).toBe(false);
  expect(isLowSide(outcome({ readings: [leak] }))).toBe(false);
});

test.each([
  ['PASS', 'word'],
  ['FALLA', 'word wide'],
  ['NOT JUDGED', 'word'],
])('the word %s is set as %s', (word, set) => {
  expect(wordClass(word)).toBe(set);
});

test('verdicts of both languages are of a length that was looked at', () => {
  for (const { pass, fail } of [english.line.verdicts, spanish.line.verdicts])
    for (const word of [pass, fail]) expect(word.length).toBeLessThanOrEqual(5);
});

test('a stopped nest takes the place of its verdict only after all about the verdict is done', () => {
  const locked = nest({ state: 'locked', lock: { reason: 'leak', times: 3 } });
  expect(isLockShown(viewAt('reject'), locked)).toBe(false);
  expect(isLockShown(viewAt('not-judged'), locked)).toBe(false);
  expect(isLockShown(viewAt('scan'), locked)).toBe(true);
  expect(isLockShown(viewAt('nest-locked'), locked)).toBe(true);
  expect(isLockShown(viewAt('scan'), nest({}))).toBe(false);
});

test('the scanner feeds a nest only while the band asks for a scan', () => {
  expect(isFedNow(viewAt('scan'), nest({}))).toBe(true);
  expect(isFedNow(viewAt('reject'), nest({}))).toBe(false);
  expect(isFedNow(viewAt('scan'), nest({ isFed: false }))).toBe(false);
});

test.each([
  ['60-kpa', '60 kPa'],
  ['60-kpa:rising', '60 kPa, rising'],
  ['60-kpa:low-supply', '60 kPa, low supply'],
])('an output read at %s is called "%s"', (step, name) => {
  expect(readingName(voice, { step, quantity: 'output', pointKpaAbs: 60 })).toBe(name);
});

test('a phase of an audit names how its point is taken', () => {
  const phases = [{ phase: 'point:40-kpa:rising' as const, ms: 700, kPaAbs: 40 }];
  expect(phaseText(voice, 'point:40-kpa:rising', phases)).toBe('Output at 40 kPa, rising');
});

describe('what the station waits for', () => {
  test('spans the nests', () => {
    expect(isStationState(viewAt('masters-due'))).toBe(true);
    expect(isStationState(viewAt('scan'))).toBe(false);
  });

  test('never hides a verdict', () => {
    const kept = { nests: [outcome({})] } as unknown as NonNullable<LineView['outcome']>;
    expect(isStationState(viewAt('masters-due', { outcome: kept }))).toBe(false);
    expect(outcomeOf(viewAt('scan', { outcome: kept }), { nest: 1 })?.verdict).toBe('fail');
    expect(outcomeOf(viewAt('scan', { outcome: kept }), { nest: 2 })).toBeNull();
  });
});

test('only what the demo broke and nobody can mend by hand is left to the demo', () => {
  const demo = { parts: [], fault: null, nextSerial: null };
  const at = (code: Prompt['code'], facts: Prompt['facts'] = {}, more: Partial<LineView> = {}): boolean =>
    isMendNeeded({ demo, prompt: { code, facts, tone: 'act', key: null, quiet: null }, ...more });
  expect(at('close-guard')).toBe(true);
  expect(at('fault', { code: 'guard-open' })).toBe(true);
  expect(at('fault', { code: 'air-lost' })).toBe(false);
  expect(at('scan')).toBe(false);
  // On a real rig a hand shuts the guard.
  expect(at('close-guard', {}, { demo: null })).toBe(false);
});
