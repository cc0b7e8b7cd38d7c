import type { ReactElement } from 'react';
import { useDeskVoice } from '../desk/desk-voice.ts';
import { useLabLink } from './lab-link.ts';

/** Says that the link is lost, for as long as it is. */
export function LinkLine(): ReactElement | null {
  const { desk } = useDeskVoice();
  if (useLabLink() !== 'lost') return null;
  return (
    <p className="away" role="alert">
      {desk.page.away}
    </p>
  );
}
