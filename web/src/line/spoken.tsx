import type { ReactElement } from 'react';
import type { LineView } from '../../../server/line/contract.ts';
import { fill } from '../../../station/words/fill.ts';
import type { Voice } from './wording.ts';

/** The verdicts of the last test for who does not see them (WCAG 2.2, 4.1.3). */
export function Spoken({ view, voice }: { readonly view: LineView; readonly voice: Voice }): ReactElement {
  const { line } = voice.words;
  const said = (view.outcome?.nests ?? []).map(
    ({ nest, serial, verdict }) => `${fill(line.nests.nest, { nest })}, ${serial}: ${line.verdicts[verdict]}.`,
  );
  return (
    <p className="away" role="status">
      {said.join(' ')}
    </p>
  );
}
