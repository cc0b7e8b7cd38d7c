import { deskEnglish } from '../../../station/words/desk-en.ts';
import type { DeskWords } from '../../../station/words/desk-en.ts';
import { deskSpanish } from '../../../station/words/desk-es.ts';
import type { Voice } from '../line/wording.ts';
import { catalogueOf, usePreferences } from '../shared/preferences.ts';
import type { Preferences } from '../shared/preferences.ts';

/** A person's language with the words of the desk. */
export interface DeskVoice extends Voice {
  readonly desk: DeskWords;
}

export const deskVoiceOf = (wish: Preferences): DeskVoice => ({
  words: catalogueOf(wish.language),
  wish,
  desk: wish.language === 'es' ? deskSpanish : deskEnglish,
});

export const useDeskVoice = (): DeskVoice => deskVoiceOf(usePreferences());
