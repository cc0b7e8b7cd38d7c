import { useRef, useState } from 'react';
import type { ReactElement } from 'react';
import type { AuditView } from '../../../server/audit/contract.ts';
import { fill } from '../../../station/words/fill.ts';
import { lowTone } from '../line/tone.ts';
import { useTell } from './audit-data.ts';
import { useAuditVoice } from './audit-voice.ts';
import { ReasonField, useChecked } from './needed-field.tsx';
import { tickRefusal, unfoundParts } from './sample-scan.ts';
import type { ScanRefusal } from './sample-scan.ts';
import { ScanField } from './scan-field.tsx';
import { NotTaken, Refused, Signed, askName, useName } from './told.tsx';

type Asking = 'nothing' | 'missing' | 'abandon';

/** The parts of the sample are ticked off as they are found; what is not to be found is said with a reason. */
export function FindPanel({ view }: { readonly view: AuditView }): ReactElement {
  const { lab } = useAuditVoice();
  const { sample: words } = lab;
  const by = useName();
  const [ticked, setTicked] = useState<ReadonlySet<string>>(new Set());
  const [last, setLast] = useState<{ readonly serial: string; readonly isAgain: boolean } | null>(null);
  const [refusal, setRefusal] = useState<ScanRefusal | null>(null);
  const [asking, setAsking] = useState<Asking>('nothing');
  const field = useRef<HTMLInputElement>(null);
  const told = useTell();
  const scanned = useTell();
  const left = view.sample.filter(({ serial, state }) => state === 'drawn' && !ticked.has(serial)).length;
  const path = ['audits', view.audit, 'sample'];
  const clear = (): void => {
    told.reset();
    scanned.reset();
  };
  const tell = (body: object, done: () => void): void => {
    told.mutate({ path, body }, { onSuccess: done, onError: lowTone });
  };
  const tick = (serial: string): void => {
    if (serial === '') return;
    const refused = tickRefusal(view, serial);
    setRefusal(refused);
    setLast(null);
    clear();
    if (by === '') askName();
    if (refused !== null || by === '') {
      lowTone();
      return;
    }
    const isAgain = ticked.has(serial) || view.sample.some((each) => each.serial === serial && each.state === 'found');
    void scanned.mutateAsync({ path, body: { type: 'found', serial, by } }).then(() => {
      setTicked((before) => new Set([...before, serial]));
      setLast({ serial, isAgain });
    }, lowTone);
  };
  const leave = (): void => {
    setAsking('nothing');
    field.current?.focus();
  };
  const ask = (what: Asking): void => {
    setRefusal(null);
    setLast(null);
    clear();
    setAsking(what);
  };
  return (
    <section className="card tick">
      <h2>{fill(words.find, { left, n: view.sample.length })}</h2>
      <div className="acts">
        <ScanField label={words.tick} field={field} isTurn={left > 0} onScan={tick} />
        <button type="button" className="btn" onClick={() => ask('missing')}>
          {words.missing}
        </button>
        <button type="button" className="btn" onClick={() => ask('abandon')}>
          {words.abandon}
        </button>
        <Signed />
      </div>
      <p role="status">
        {last !== null && fill(last.isAgain ? words.tickedAgain : words.ticked, { serial: last.serial, left })}
      </p>
      <NotTaken refusal={refusal} />
      {asking === 'missing' && <Missing view={view} tell={tell} leave={leave} />}
      {asking === 'abandon' && <Abandon tell={tell} leave={leave} />}
      <Refused error={told.error ?? scanned.error} />
    </section>
  );
}

interface Telling {
  readonly tell: (body: object, done: () => void) => void;
  readonly leave: () => void;
}

/** Which part is not to be found, out of those that nobody found, and why. */
function Missing({ view, tell, leave }: Telling & { readonly view: AuditView }): ReactElement {
  const { sample: words } = useAuditVoice().lab;
  const parts = unfoundParts(view);
  const [chosen, setChosen] = useState('');
  const [reason, setReason] = useState('');
  const serial = parts.includes(chosen) ? chosen : (parts[0] ?? '');
  const { isTried, form } = useChecked((by) => tell({ type: 'missing', serial, reason: reason.trim(), by }, leave));
  return (
    <form className="acts" {...form}>
      <label className="field">
        {words.whichMissing}
        <select value={serial} onChange={(event) => setChosen(event.target.value)}>
          {parts.map((each) => (
            <option key={each}>{each}</option>
          ))}
        </select>
      </label>
      <ReasonField
        label={fill(words.missingReason, { serial })}
        value={reason}
        isTried={isTried}
        onChange={setReason}
      />
      <button type="submit" className="btn do" disabled={serial === ''}>
        {words.keepMissing}
      </button>
      <button type="button" className="btn" onClick={leave}>
        {words.leave}
      </button>
    </form>
  );
}

function Abandon({ tell, leave }: Telling): ReactElement {
  const { sample: words } = useAuditVoice().lab;
  const [reason, setReason] = useState('');
  const { isTried, form } = useChecked((by) => tell({ type: 'abandon', reason: reason.trim(), by }, leave));
  return (
    <form className="acts" {...form}>
      <ReasonField label={words.abandonReason} value={reason} isTried={isTried} onChange={setReason} />
      <button type="submit" className="btn do">
        {words.keepAbandon}
      </button>
      <button type="button" className="btn" onClick={leave}>
        {words.leave}
      </button>
    </form>
  );
}
