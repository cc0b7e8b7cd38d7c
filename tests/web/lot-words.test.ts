import { expect, test } from 'vitest';
import type { LotCounts, LotPoint, LotReason } from '../../server/audit/contract.ts';
import { deskEnglish } from '../../station/words/desk-en.ts';
import { english } from '../../station/words/en.ts';
import type { DeskVoice } from '../../web/src/desk/desk-voice.ts';
import {
  allowedText,
  answerText,
  firstPassText,
  groupFigures,
  lotPath,
  suspectNest,
} from '../../web/src/desk/lot-words.ts';

const voice: DeskVoice = {
  words: english,
  desk: deskEnglish,
  wish: { language: 'en', theme: 'light', unit: 'kPa', isBelowAmbient: false },
};
const counts = (parts: Partial<LotCounts>): LotCounts => ({
  parts: 52,
  passed: 50,
  failed: 2,
  notJudged: 0,
  retested: 0,
  firstPass: { passed: 49, of: 52 },
  ...parts,
});

test('one sentence answers, and says when nothing is known', () => {
  expect(answerText(voice, counts({}))).toBe('50 of 52 parts passed, 94.2 % at their first test');
  expect(answerText(voice, counts({ firstPass: { passed: 0, of: 0 } }))).toBe('No part was judged yet');
  expect(firstPassText(voice, counts({ firstPass: { passed: 0, of: 0 } }))).toBe('–');
});

test('a nest is suspected when it gives more than its share, not for one part and not when there is no other', () => {
  const nest = (number: number, parts: number, of: number) => ({ station: 'EOL-1', nest: number, parts, of });
  const reason = (parts: number, nests: LotReason['nests']): LotReason => ({ reason: 'leak', parts, nests });
  expect(suspectNest(reason(6, [nest(2, 6, 42)]), 84)).toMatchObject({ nest: 2 });
  expect(suspectNest(reason(6, [nest(2, 3, 42), nest(1, 3, 42)]), 84)).toBeNull();
  expect(suspectNest(reason(2, [nest(2, 2, 42)]), 84)).toBeNull();
  // The only nest of a station gives everything.
  expect(suspectNest(reason(6, [nest(1, 6, 84)]), 84)).toBeNull();
});

test('figures have the digits that the spread earns, limits the same', () => {
  const group = { n: 52, mean: 2.22634, sd: 0.017, cpk: 1.294 };
  const point: LotPoint = {
    step: '60-kpa',
    quantity: 'output',
    pointKpaAbs: 60,
    unit: 'V',
    low: 2.1575,
    high: 2.2925,
    all: group,
    nests: [],
  };
  expect(groupFigures(voice, point, group)).toEqual({ mean: '2.226', sd: '0.0170', cpk: '1.29' });
  expect(groupFigures(voice, point, { ...group, sd: null, cpk: null })).toMatchObject({ sd: '–', cpk: '–' });
  expect(allowedText(voice, { ...point, low: null, high: 0.5 })).toBe('at most 0.500');
  expect(lotPath('AQ-1105', 'K24/3')).toBe('/lots/AQ-1105/K24%2F3');
});
