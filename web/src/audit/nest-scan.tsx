import { useRef, useState } from 'react';
import type { ReactElement } from 'react';
import type { AuditView } from '../../../server/audit/contract.ts';
import type { LabView } from '../../../server/lab/contract.ts';
import { fill } from '../../../station/words/fill.ts';
import { lowTone } from '../line/tone.ts';
import { useAuditVoice } from './audit-voice.ts';
import { layingRefusal } from './sample-scan.ts';
import type { ScanRefusal } from './sample-scan.ts';
import { ScanField } from './scan-field.tsx';
import { NotTaken } from './told.tsx';

/** Parts into nests by scanner or keyboard, in the order of the nests. What is no part of this load is refused at its scan. */
export function NestScan(props: {
  readonly lab: Pick<LabView, 'nests'>;
  readonly view: AuditView;
  /** What was scanned, one place a nest from the first on; null is left empty. */
  readonly places: readonly (string | null)[];
  readonly setPlaces: (places: readonly (string | null)[]) => void;
  readonly mayBegin: boolean;
  /** Something was scanned: what was refused before is no news any more. */
  readonly onScan: () => void;
  readonly begin: (places: readonly (string | null)[]) => void;
}): ReactElement {
  const { lab, view, places, setPlaces, mayBegin, onScan, begin } = props;
  const { lab: words } = useAuditVoice().lab;
  const [refusal, setRefusal] = useState<ScanRefusal | null>(null);
  const field = useRef<HTMLInputElement>(null);
  const { nests } = lab;
  const waiting = view.sample.filter(({ state, load }) => state !== 'missing' && load === null);
  const load = 1 + Math.max(0, ...view.sample.map((part) => part.load ?? 0));
  const isFull = places.length >= nests;
  const put = (serial: string): void => {
    onScan();
    if (serial === '') {
      if (!isFull) setPlaces([...places, null]);
      return;
    }
    const refused = layingRefusal(view, { places, nests }, serial);
    setRefusal(refused);
    if (refused === null) setPlaces([...places, serial]);
    else lowTone();
  };
  const anew = (): void => {
    onScan();
    setPlaces([]);
    setRefusal(null);
    field.current?.focus();
  };
  return (
    <div className="nests">
      <h3>{fill(words.next, { load, parts: Math.min(nests, waiting.length) })}</h3>
      <p className="note">{words.nextHint}</p>
      <ol>
        {Array.from({ length: nests }, (_, at) => (
          <li key={at} className={at === places.length ? 'fed' : undefined}>
            {fill(words.scan, { nest: at + 1 })}{' '}
            <b className="code">{at < places.length ? (places[at] ?? words.empty) : ''}</b>
          </li>
        ))}
      </ol>
      <NotTaken refusal={refusal} />
      <div className="acts">
        <ScanField
          label={isFull ? words.full : fill(words.scan, { nest: places.length + 1 })}
          field={field}
          isTurn={view.sample.every(({ state }) => state !== 'drawn')}
          onScan={put}
        />
        <button
          type="button"
          className="btn do"
          disabled={places.every((place) => place === null) || !mayBegin}
          onClick={() => begin(Array.from({ length: nests }, (_, at) => places[at] ?? null))}
        >
          {words.begin}
        </button>
        <button type="button" className="btn" onClick={anew}>
          {words.again}
        </button>
      </div>
    </div>
  );
}
