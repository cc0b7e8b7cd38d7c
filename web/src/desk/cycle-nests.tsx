import type { ReactElement } from 'react';
import { Link } from 'wouter';
import type { CycleLine } from '../../../server/records/contract.ts';
import type { Verdict } from '../../../station/cycle/result.ts';
import { fill } from '../../../station/words/fill.ts';
import { sayingOf } from '../line/wording.ts';
import { VerdictMark } from '../shared/verdict-mark.tsx';
import { useDeskVoice } from './desk-voice.ts';
import { reasonText, recordPath } from './record-words.ts';

const MARK_PX = 18;

/** A verdict in a line of text: its mark and its word. */
export function VerdictWord(props: {
  readonly verdict: Verdict;
  readonly isLow?: boolean;
  readonly size?: number;
}): ReactElement {
  const { verdict, isLow = false, size = MARK_PX } = props;
  const { words } = useDeskVoice();
  return (
    <span className={`vv ${verdict}`}>
      <VerdictMark verdict={verdict} isLow={isLow} size={size} /> {words.verdicts[verdict]}
    </span>
  );
}

/** Reasons by which a reading left its limits on the low side. */
const LOW: ReadonlySet<string> = new Set(['reads-low', 'current-low', 'span-small', 'output-at-ground']);
export const isLowSide = (code: string | undefined): boolean => code !== undefined && LOW.has(code);

/** The nests of a cycle, each a way to its record; a fault is the station's and stands under all of them. */
export function CycleNests({ line }: { readonly line: CycleLine }): ReactElement {
  const voice = useDeskVoice();
  const { desk } = voice;
  const fault = line.faults[0];
  return (
    <>
      {line.nests.length === 0 && <p className="note">{desk.records.noParts}</p>}
      <ul className="nests-of">
        {line.nests.map(({ nest, serial, verdict, why }) => (
          <li key={nest}>
            <span className="note">{nest}</span>
            <Link
              className="code"
              href={recordPath(serial, line.cycle)}
              aria-label={fill(desk.records.open, { serial })}
            >
              {serial}
            </Link>
            <VerdictWord verdict={verdict} isLow={isLowSide(why?.code)} />
            <span className="why">{why?.by === 'part' ? reasonText(voice, why) : ''}</span>
          </li>
        ))}
      </ul>
      {fault !== undefined && <p className="fault-of">{sayingOf(voice, 'station', fault.code).says}</p>}
    </>
  );
}
