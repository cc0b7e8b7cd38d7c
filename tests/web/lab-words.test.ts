import { expect, test } from 'vitest';
import { labEnglish } from '../../station/words/lab-en.ts';
import { labSpanish } from '../../station/words/lab-es.ts';
import { durationText } from '../../web/src/audit/lab-words.ts';

test.each([
  [0, '10 s'],
  [34, '30 s'],
  [54, '50 s'],
  [56, '1 min'],
  [29 * 60 + 31, '30 min'],
  [59 * 60 + 29, '59 min'],
  [59 * 60 + 31, '1 h 0 min'],
  // 2 h 8 min 40 s is about 2 h 10 min.
  [2 * 3600 + 8 * 60 + 40, '2 h 10 min'],
  [2 * 3600 + 58 * 60, '3 h 0 min'],
  [30 * 3600, '30 h 0 min'],
])('%d s is said as %s, in both languages', (seconds, says) => {
  expect(durationText({ lab: labEnglish }, seconds)).toBe(says);
  expect(durationText({ lab: labSpanish }, seconds)).toBe(says);
});
