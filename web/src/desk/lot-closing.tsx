import { useState } from 'react';
import type { ReactElement } from 'react';
import type { LotView } from '../../../server/audit/contract.ts';
import { fill } from '../../../station/words/fill.ts';
import { useTell } from '../audit/audit-data.ts';
import { ReasonField, useChecked } from '../audit/needed-field.tsx';
import { Refused, Signed } from '../audit/told.tsx';
import { dateAndTime } from '../shared/figures.ts';
import { useDeskVoice } from './desk-voice.ts';
import type { DeskVoice } from './desk-voice.ts';

const ROLES = ['quality engineer', 'operator'] as const;
type Role = (typeof ROLES)[number];

/** Whether the line tests for the lot, who said so, and the way to change it. */
export function LotClosing({ view }: { readonly view: LotView }): ReactElement {
  const voice = useDeskVoice();
  const { closing: words } = voice.desk.lots;
  const { state, outside } = view;
  const [isAsked, setAsked] = useState(false);
  const canChange = state === 'open' || state === 'closed';
  return (
    <div className="lot-closing">
      {view.closed !== null && <p>{closedText(voice, view.closed)}</p>}
      {outside > 0 && <p className="lot-suspect">{fill(words.outside, { parts: outside })}</p>}
      {canChange && isAsked && <ClosingForm view={view} done={() => setAsked(false)} />}
      {canChange && !isAsked && (
        <button type="button" className="btn" onClick={() => setAsked(true)}>
          {state === 'open' ? words.close : words.open}
        </button>
      )}
    </div>
  );
}

function closedText({ desk, wish }: DeskVoice, closed: NonNullable<LotView['closed']>): string {
  const { closing: words } = desk.lots;
  const { at, by, reason, isByDraw } = closed;
  const text = fill(isByDraw ? words.byDraw : words.closed, { time: dateAndTime(at, wish.language), by });
  return reason === null ? text : fill(words.because, { closed: text, reason });
}

function ClosingForm({ view, done }: { readonly view: LotView; readonly done: () => void }): ReactElement {
  const { desk } = useDeskVoice();
  const { closing: words } = desk.lots;
  const { partNumber, lot } = view;
  const closes = view.state === 'open';
  const [role, setRole] = useState<Role>('quality engineer');
  const [reason, setReason] = useState('');
  const told = useTell();
  const { isTried, form } = useChecked((by) => {
    const said = reason.trim() === '' ? null : reason.trim();
    told.mutate(
      {
        path: ['lots', partNumber, lot, closes ? 'closing' : 'opening'],
        body: closes ? { by, role, reason: said } : { by, reason: said },
      },
      { onSuccess: done },
    );
  });
  return (
    <form {...form}>
      <p className="note">{closes ? words.closeHint : words.openHint}</p>
      <div className="acts">
        {closes && (
          <label className="field">
            {words.role}
            <select value={role} onChange={(event) => setRole(event.target.value as Role)}>
              {ROLES.map((each) => (
                <option key={each} value={each}>
                  {words.roles[each]}
                </option>
              ))}
            </select>
          </label>
        )}
        <ReasonField
          label={closes ? words.maybe : words.reason}
          value={reason}
          mayBeEmpty={closes}
          isTried={isTried}
          onChange={setReason}
        />
        <Signed />
        <button type="submit" className="btn do">
          {closes ? words.keepClosed : words.keepOpen}
        </button>
        <button type="button" className="btn" onClick={done}>
          {words.leave}
        </button>
      </div>
      <Refused error={told.error} />
    </form>
  );
}
