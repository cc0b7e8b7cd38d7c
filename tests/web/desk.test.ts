import { describe, expect, test } from 'vitest';
import type { JudgedReading } from '../../server/records/contract.ts';
import { deskVoiceOf } from '../../web/src/desk/desk-voice.ts';
import {
  acceptedText,
  allowedText,
  amount,
  decidingReading,
  factsText,
  gapText,
  hashText,
  nextText,
  numberLine,
  readingNumber,
  reasonText,
  recordPath,
  sheetOf,
  signedNumber,
  termText,
  testText,
} from '../../web/src/desk/record-words.ts';
import type { Preferences } from '../../web/src/shared/preferences.ts';

const WISH: Preferences = { language: 'en', theme: 'light', unit: 'kPa', isBelowAmbient: false };
const voice = deskVoiceOf(WISH);
const voz = deskVoiceOf({ ...WISH, language: 'es' });

/** The leak of the drawing of one record: 2.41 where 0.50 less a guard band of 0.06 is allowed. */
const leak: JudgedReading = {
  nest: 2,
  step: 'measure',
  quantity: 'leak',
  pointKpaAbs: null,
  value: 2.41,
  u: 0.0365,
  unit: 'std cm3/min',
  low: null,
  high: 0.5,
  guard: 0.06,
  margin: -3.82,
  verdict: 'fail',
  inGuardBand: false,
  arithmetic: [{ term: 'volume', value: 10, unit: 'cm3' }],
};

const output: JudgedReading = {
  ...leak,
  step: '80-kpa',
  quantity: 'output',
  pointKpaAbs: 80,
  value: 3.1852,
  u: 0.0007,
  unit: 'V',
  low: 3.0575,
  high: 3.1925,
  guard: 0.00115,
  margin: 0.11,
  verdict: 'pass',
};

describe('the reading that decides', () => {
  const other = { ...output, step: '20-kpa', margin: -0.2, verdict: 'fail' } as const;

  test('is the one that the first reason names', () => {
    const why = { by: 'part', code: 'reads-low', facts: { step: '20-kpa' } } as const;
    expect(decidingReading([output, leak, other], why)).toBe(other);
  });

  test('is the worst that failed where the reason names none', () => {
    expect(decidingReading([output, other, leak], { by: 'part', code: 'leak', facts: {} })).toBe(leak);
  });

  test('is the closest to its limit for a pass, and none where nothing was measured', () => {
    const easy = { ...output, margin: 0.9 };
    expect(decidingReading([easy, output], null)).toBe(output);
    expect(decidingReading([], null)).toBeNull();
  });

  test('is not one that passed, even if the reason names its step', () => {
    expect(decidingReading([output, leak], { by: 'part', code: 'leak', facts: { step: '80-kpa' } })).toBe(leak);
  });
});

test('the sheet is one nest’s, the plausibility before the fill only where it failed', () => {
  const before = { ...output, step: 'ambient-check' };
  expect(sheetOf([leak, output, before, { ...leak, nest: 1 }], 2)).toEqual([leak, output]);
  const failed = { ...before, verdict: 'fail' } as const;
  expect(sheetOf([failed], 2)).toEqual([failed]);
});

describe('numbers', () => {
  test('have the digits that their uncertainty earns', () => {
    expect(readingNumber(voice, leak, leak.value)).toBe('2.41');
    expect(readingNumber(voice, output, output.value)).toBe('3.185');
    expect(readingNumber(voz, output, output.value)).toBe('3,185');
  });

  test('say what is allowed and what the rule accepts of it', () => {
    expect(allowedText(voice, leak)).toBe('at most 0.50');
    expect(allowedText(voice, output)).toBe('3.058 to 3.193');
    expect(acceptedText(voice, leak)).toBe('at most 0.4400');
    expect(acceptedText(voice, output)).toBe('3.05865 to 3.19135');
    expect(numberLine(voice, leak)).toBe('2.410 std cm³/min, at most 0.500 allowed');
    expect(numberLine(voz, output)).toBe('3,1852 V, permitido de 3,0575 a 3,1925');
  });

  test('name a reading in the guard band as such', () => {
    expect(numberLine(voice, { ...leak, value: 0.46, inGuardBand: true })).toContain('in guard band');
  });

  test('show which way something changed, and no sign where it did not', () => {
    expect(signedNumber(voice, leak, 2.33)).toBe('+2.33');
    expect(signedNumber(voice, leak, -0.08)).toBe('−0.08');
    expect(signedNumber(voice, leak, 0.0001)).toBe('0.00');
    expect(signedNumber(voice, leak, -0.0001)).toBe('0.00');
  });

  test('of a sum keep six digits, the small ones as parts of a million', () => {
    expect(amount(voice, 101.3251)).toBe('101.325');
    expect(amount(voz, -0.859658)).toBe('−0,859658');
    expect(amount(voice, 0.0002722)).toBe('272.2 · 10⁻⁶');
    expect(amount(voice, 0)).toBe('0');
  });
});

describe('words', () => {
  test('of a reason name what another part reads like', () => {
    const why = { by: 'part', code: 'other-class', facts: { readsLike: 'AQ-2105' } } as const;
    expect(reasonText(voice, why)).toBe('Reads like another part number: AQ-2105');
    expect(reasonText(voice, null)).toBe('');
  });

  test('of what comes next are the fault’s, the reason’s, or those of a good part', () => {
    expect(nextText(voice, null)).toBe('Put the part with the good ones');
    expect(nextText(voice, { by: 'part', code: 'leak', facts: {} })).toBe('Put the part in the reject bin');
    expect(nextText(voice, { by: 'station', code: 'air-lost', facts: {} })).toContain('air supply');
  });

  test('show what a newer program stored as it stands', () => {
    expect(termText(voice, 'volume')).toBe('volume');
    expect(termText(voz, 'volume')).toBe('volumen');
    expect(termText(voz, 'new number')).toBe('new number');
    expect(reasonText(voice, { by: 'station', code: 'new-fault', facts: {} })).toBe('new-fault');
  });

  test('of a test name its condition where that is not the room', () => {
    expect(testText(voice, { kind: 'line', condition: 'ambient' })).toBe('Line test');
    expect(testText(voice, { kind: 'audit', condition: 'cold' })).toBe('Audit, cold');
    expect(testText(voz, { kind: 'audit', condition: 'ambient' })).toBe('Auditoría, ambiente');
  });

  test('of a fault’s facts have units, and proofs by their words', () => {
    expect(factsText(voice, { referenceKpaAbs: 101.3254, nest: 2 })).toBe('reference 101.3 kPa abs, nest 2');
    expect(factsText(voz, { proof: 'master-check' })).toBe('Control de patrones');
    expect(factsText(voice, {})).toBe('');
  });
});

describe('the time between two tests', () => {
  const from = '2026-11-12T09:12:00.000Z';

  test.each([
    ['2026-11-13T09:11:00.000Z', null],
    ['2026-11-13T09:12:00.000Z', '1 day'],
    ['2026-12-20T09:12:00.000Z', '38 days'],
    ['2028-06-02T14:31:00.000Z', '18 months'],
    ['2030-11-12T09:12:00.000Z', '4 years'],
    ['2026-11-11T09:12:00.000Z', null],
  ])('to %s is said as %s', (to, said) => {
    expect(gapText(voice, from, to)).toBe(said);
  });
});

test('an address keeps a serial whatever it is made of', () => {
  expect(recordPath('AQ/1 ?#', 'c 1')).toBe('/records/AQ%2F1%20%3F%23?cycle=c%201');
});

test('hashes are grouped for the eye', () => {
  expect(hashText('9f3c71d0e2a8b71e09c44d3f')).toBe('9f3c 71d0 e2a8 b71e');
});
