import { describe, expect, test } from 'vitest';
import { PROMPTS, REFUSALS } from '../../../server/line/contract.ts';
import type { Key } from '../../../server/line/contract.ts';
import { judge } from '../../../station/cycle/judge.ts';
import { FAULTS } from '../../../station/faults.ts';
import { ConditionId, CycleKind } from '../../../station/profile/schema.ts';
import { REASONS } from '../../../station/reasons.ts';
import { auditEnglish } from '../../../station/words/audit-en.ts';
import { auditSpanish } from '../../../station/words/audit-es.ts';
import { deskEnglish } from '../../../station/words/desk-en.ts';
import { deskSpanish } from '../../../station/words/desk-es.ts';
import { english } from '../../../station/words/en.ts';
import { spanish } from '../../../station/words/es.ts';
import { fill, placesOf } from '../../../station/words/fill.ts';
import { labEnglish } from '../../../station/words/lab-en.ts';
import { labSpanish } from '../../../station/words/lab-es.ts';
import { reportEnglish } from '../../../station/words/report-en.ts';
import { reportSpanish } from '../../../station/words/report-es.ts';
import { goodPart, runOn, stationFor } from '../../support/simulated-plant.ts';

const LANGUAGES = [
  ['English', english, deskEnglish, auditEnglish, reportEnglish, labEnglish],
  ['Spanish', spanish, deskSpanish, auditSpanish, reportSpanish, labSpanish],
] as const;

/** Every text under its path. */
function textsOf(words: object | string, path: readonly string[] = []): [string, string][] {
  if (typeof words === 'string') return [[path.join('/'), words]];
  return Object.entries<object | string>(words as Record<string, object>).flatMap(([key, value]) =>
    textsOf(value, [...path, key]),
  );
}

const keysOf = (table: object): string[] => Object.keys(table).sort();
const sorted = (codes: readonly string[]): string[] => [...codes].sort();

/** Codes of the keys: a list that TypeScript holds to be the whole union. */
const KEYS: Readonly<Record<Key['code'], true>> = {
  start: true,
  stop: true,
  repeat: true,
  'in-the-bin': true,
  read: true,
  'leave-empty': true,
  'masters-right': true,
  characterise: true,
};

describe.each(LANGUAGES)('%s', (_name, words, desk, audit, report, lab) => {
  test('has a text for every code of the line, and for no other', () => {
    expect(keysOf(words.line.prompts)).toEqual(sorted(PROMPTS));
    expect(keysOf(words.line.keys)).toEqual(keysOf(KEYS));
    // The last two are what a screen says itself: the server said nothing, or nothing that is the station's.
    expect(keysOf(words.line.refusals)).toEqual(sorted([...REFUSALS, 'no-answer', 'not-accepted']));
    expect(keysOf(desk.standing)).toEqual(sorted(PROMPTS));
  });

  test('has a text for every fault, reason, kind and condition, and for no other', () => {
    expect(keysOf(words.faults)).toEqual(keysOf(FAULTS));
    expect(keysOf(words.reasons)).toEqual(keysOf(REASONS));
    expect(keysOf(desk.kinds)).toEqual(sorted(CycleKind.options));
    expect(keysOf(desk.conditions)).toEqual(sorted(ConditionId.options));
    for (const table of [audit.conditions, audit.conditionsAgain, audit.at, audit.atAgain])
      expect(keysOf(table)).toEqual(sorted(ConditionId.options));
  });

  test('names every number of the sums behind the judgements of a cycle', async () => {
    const station = await stationFor('AQ-1105');
    const { measurement } = await runOn(station, [goodPart(station.profile, 1), null]);
    const terms = judge(station.plan, measurement.readings).flatMap(({ arithmetic }) =>
      arithmetic.map(([term]) => term),
    );
    expect(terms.length).toBeGreaterThan(50);
    for (const term of terms) expect(keysOf(desk.terms)).toContain(term);
  });

  test('says nothing that is forbidden', () => {
    for (const [path, text] of [words, desk, audit, report, lab].flatMap((each) => textsOf(each))) {
      expect(text, path).not.toMatch(/emergency|emergencia|please|por favor|certif|error for/i);
      expect(text, path).not.toMatch(/!/);
      expect(text, path).not.toMatch(/^\s|\s$|\s{2}/);
    }
  });

  test('keeps the line of what to do now within its room', () => {
    // Letters of 48 px are about 25 px wide: beside a key there is room for 38, without one for 47.
    const keyless = [
      'station-starting',
      'station-lost',
      'choose-work',
      'lot-over',
      'proof-due',
      'scan',
      'close-guard',
      'nest-locked',
    ];
    for (const [path, text] of textsOf(words.line.prompts)) {
      const longest = fill(text, { nest: 16, parts: 16, done: 20, of: 20, proof: words.line.proofs['master-check'] });
      expect(longest.length, path).toBeLessThanOrEqual(keyless.includes(path) ? 47 : 38);
    }
    for (const [path, text] of textsOf(words.line.keys)) expect(text.length, path).toBeLessThanOrEqual(20);
    for (const [path, text] of textsOf(words.line.verdicts)) expect(text.length, path).toBeLessThanOrEqual(10);
    for (const [path, text] of textsOf(words.line.pressure)) expect(text.length, path).toBeLessThanOrEqual(48);
  });
});

test('both languages say the same places everywhere', () => {
  const places = (words: object): Record<string, string[]> =>
    Object.fromEntries(textsOf(words).map(([path, text]) => [path, placesOf(text).sort()]));
  expect(places(spanish)).toEqual(places(english));
  expect(places(deskSpanish)).toEqual(places(deskEnglish));
  expect(places(auditSpanish)).toEqual(places(auditEnglish));
  expect(places(reportSpanish)).toEqual(places(reportEnglish));
  expect(places(labSpanish)).toEqual(places(labEnglish));
});

test('the Spanish texts are Spanish', () => {
  // Words that are the same in both languages, and texts that are only places.
  const same =
    /^(\{[a-zA-Z]+\}([:;, ]| kPa| °C)*)+$|^(k|JSON|normal|(\{hours\} h )?\{minutes\} min|\{seconds\} s|s = \{sd\} kPa\.|kPa|Esc|F2|plan|Demo|Cpk|Ppk|n|n = \{n\}|Lote?|error|± U .*|s|–|)$/;
  // The place of a catalogue keeps equal paths of two of them apart.
  const textsOfAll = (...catalogues: object[]) => catalogues.flatMap((each, k) => textsOf(each, [String(k)]));
  const spanishTexts = new Map(textsOfAll(spanish, deskSpanish, auditSpanish, reportSpanish, labSpanish));
  const untranslated = textsOfAll(english, deskEnglish, auditEnglish, reportEnglish, labEnglish).filter(
    ([path, text]) => spanishTexts.get(path) === text && !same.test(text),
  );
  expect(untranslated).toEqual([]);
});

describe('fill', () => {
  test('puts facts into their places, as often as they stand there', () => {
    expect(fill('{serial} of {n}, {serial}', { serial: 'AQ1105-1', n: 0 })).toBe('AQ1105-1 of 0, AQ1105-1');
  });

  test('leaves a place without a fact, so that its lack is seen', () => {
    expect(fill('Load nest {nest}', {})).toBe('Load nest {nest}');
    expect(fill('{toString}', {})).toBe('{toString}');
  });

  test('takes what a fact says as it is', () => {
    expect(fill('{serial}', { serial: '$& {nest}' })).toBe('$& {nest}');
  });

  test('names the places of a text', () => {
    expect(placesOf('{reason}, {times} times running')).toEqual(['reason', 'times']);
    expect(placesOf('Close the guard')).toEqual([]);
  });
});

/**
 * What the line station says beside each code: every place of the words has its fact. `next` of a fault comes from the
 * catalogue of faults, `proof` as its word.
 */
const FACTS: Readonly<Record<string, readonly string[]>> = {
  'prompts/characterising': ['done', 'of'],
  'prompts/proof-due': ['proof', 'state'],
  'prompts/scan': ['nest'],
  'prompts/load': ['parts'],
  'prompts/start': ['parts'],
  'prompts/reject': ['nest', 'serial', 'cycle'],
  'prompts/read-verdicts': ['cycle'],
  'prompts/fault': ['code', 'nests', 'next'],
  'prompts/not-judged': ['code', 'nests', 'next'],
  'prompts/nest-locked': ['nest', 'reason', 'times'],
  'keys/leave-empty': ['nest'],
  'refusals/unknown-part-number': ['partNumber'],
  'refusals/proof-due': ['proof', 'state'],
  'refusals/not-a-serial': ['serial', 'partNumber'],
  'refusals/other-part-number': ['serial', 'other', 'partNumber'],
  'refusals/already-in-nest': ['serial', 'nest'],
  'refusals/passed-already': ['serial'],
  'refusals/retests-used-up': ['serial', 'failed', 'retests'],
  'refusals/nests-full': ['serial'],
  'refusals/reject-first': ['nest', 'serial', 'cycle'],
  'refusals/scan-first': ['nest'],
  'refusals/nest-locked': ['nest'],
  'refusals/not-locked': ['nest'],
  'refusals/no-such-nest': ['nest', 'nests'],
  'refusals/cannot-simulate': ['what'],
  'refusals/in-test-elsewhere': ['serial', 'station'],
  'refusals/lot-closed': ['lot'],
  'refusals/lot-accepted': ['lot'],
  'refusals/lot-on-hold': ['lot'],
  'refusals/lot-rejected': ['lot'],
  'refusals/of-held-lot': ['serial', 'lot'],
};

test.each(LANGUAGES)('%s asks for no fact that the line station does not give', (_name, { line }) => {
  const { prompts, keys, refusals } = line;
  for (const [path, text] of textsOf({ prompts, keys, refusals }))
    for (const place of placesOf(text)) expect(FACTS[path] ?? [], path).toContain(place);
});
