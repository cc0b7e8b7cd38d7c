import { useMemo } from 'react';
import { auditEnglish } from '../../../station/words/audit-en.ts';
import { auditSpanish } from '../../../station/words/audit-es.ts';
import type { AuditTongue } from '../../../station/words/audit-text.ts';
import { labEnglish } from '../../../station/words/lab-en.ts';
import type { LabWords } from '../../../station/words/lab-en.ts';
import { labSpanish } from '../../../station/words/lab-es.ts';
import { useDeskVoice } from '../desk/desk-voice.ts';
import type { DeskVoice } from '../desk/desk-voice.ts';

/** A person's language with the words of the audit lab. */
export interface AuditVoice extends DeskVoice {
  readonly lab: LabWords;
  /** What screen and report say alike. */
  readonly tongue: AuditTongue;
}

export function useAuditVoice(): AuditVoice {
  const voice = useDeskVoice();
  return useMemo(() => {
    const isSpanish = voice.wish.language === 'es';
    return {
      ...voice,
      lab: isSpanish ? labSpanish : labEnglish,
      tongue: {
        language: voice.wish.language,
        words: isSpanish ? auditSpanish : auditEnglish,
        catalogue: voice.words,
      },
    };
  }, [voice]);
}
