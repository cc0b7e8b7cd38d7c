import { expect, test } from 'vitest';
import type { LabView } from '../../server/lab/contract.ts';
import { auditEnglish } from '../../station/words/audit-en.ts';
import { labEnglish } from '../../station/words/lab-en.ts';
import { labSpanish } from '../../station/words/lab-es.ts';
import type { AuditVoice } from '../../web/src/audit/audit-voice.ts';
import { doingText, durationText, waitText } from '../../web/src/audit/lab-words.ts';
import { deskVoiceOf } from '../../web/src/desk/desk-voice.ts';

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

const desk = deskVoiceOf({ language: 'en', theme: 'light', unit: 'kPa', isBelowAmbient: false });
const voice: AuditVoice = {
  ...desk,
  lab: labEnglish,
  tongue: { language: 'en', words: auditEnglish, catalogue: desk.words },
};
const lab: Pick<LabView, 'link' | 'doing' | 'soak'> = { link: 'up', doing: 'soaking', soak: null };

test('no temperature is named before the chamber has one to go to', () => {
  expect(doingText(voice, lab)).toBe('The chamber is being set');
  const soak = { targetC: -40, airC: 20, coreLowC: 20, coreHighC: 23, atMs: 0, leftS: null, heldBy: null };
  expect(doingText(voice, { ...lab, soak })).toBe('Parts are on their way to −40 °C');
});

test('a wait is said by the chamber, and as long as it lasts here where it passes faster', () => {
  expect(waitText(voice, 4680, null)).toBe('1 h 20 min');
  expect(waitText(voice, 4680, 60)).toBe('1 h 20 min of the chamber, 1 min here');
});
