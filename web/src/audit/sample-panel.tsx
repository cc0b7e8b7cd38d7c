import { useRef, useState } from 'react';
import type { SyntheticEvent, ReactElement } from 'react';
import type { AuditView } from '../../../server/audit/contract.ts';
import { leftOutText, planText, stageText } from '../../../station/words/audit-text.ts';
import { fill } from '../../../station/words/fill.ts';
import { recordPath } from '../desk/record-words.ts';
import { dateAndTime } from '../shared/figures.ts';
import { Link } from 'wouter';
import { useTell } from './audit-data.ts';
import { useAuditVoice } from './audit-voice.ts';
import { NameField, Refused, useName } from './told.tsx';
import { Wide } from '../desk/wide.tsx';

/** What was drawn: the list to find the parts by, to tick off and to print. */
export function SamplePanel({ view }: { readonly view: AuditView }): ReactElement {
  const { lab, tongue, wish } = useAuditVoice();
  const { sample: words } = lab;
  const { draw, sample, input } = view;
  const leftOut = leftOutText(tongue, draw.leftOut);
  const isOpen = view.phase !== 'decided' && view.phase !== 'abandoned';
  return (
    <section className="card sample">
      <h2>{words.title}</h2>
      <p>
        {fill(words.drawn, {
          n: draw.serials.length,
          lotSize: draw.lotSize,
          time: dateAndTime(draw.at, wish.language),
          by: draw.by,
        })}
        {'. '}
        {planText(tongue, input.plan, draw.serials.length)}{' '}
        {draw.severity === 'tightened' && tongue.words.plans.tightened}
      </p>
      <p>
        {fill(words.order, { conditions: input.stages.map((stage) => stageText(tongue, stage)).join(', ') })}
        {leftOut !== null && `. ${leftOut}`}
      </p>
      {draw.number > 1 && <p>{fill(words.again, { number: draw.number })}</p>}
      <p className="note seed">{fill(words.seed, { seed: draw.seed, method: draw.method, sequence: draw.sequence })}</p>
      {isOpen && <Tick view={view} />}
      <Wide label={words.title}>
        <table className="cycles lots">
          <thead>
            <tr>
              <th scope="col">{words.serial}</th>
              <th scope="col">{words.state}</th>
              <th scope="col" className="number">
                {words.load}
              </th>
              <th scope="col" className="number">
                {words.nest}
              </th>
            </tr>
          </thead>
          <tbody>
            {sample.map(({ serial, state, reason, load, nest }) => (
              <tr key={serial}>
                <td>
                  <Link className="code" href={recordPath(serial)}>
                    {serial}
                  </Link>
                </td>
                <td>
                  {tongue.words.parts[state]}
                  {reason !== null && `: ${reason}`}
                </td>
                <td className="number">{load ?? ''}</td>
                <td className="number">{nest ?? ''}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </Wide>
      <p className="acts">
        <button type="button" className="btn" onClick={() => window.print()}>
          {words.print}
        </button>
      </p>
    </section>
  );
}

type Asking = 'nothing' | 'missing' | 'abandon';

function Tick({ view }: { readonly view: AuditView }): ReactElement {
  const { lab } = useAuditVoice();
  const { sample: words } = lab;
  const [name, setName] = useName();
  const [text, setText] = useState('');
  const [reason, setReason] = useState('');
  const [asking, setAsking] = useState<Asking>('nothing');
  const [found, setFound] = useState<string | null>(null);
  const field = useRef<HTMLInputElement>(null);
  const told = useTell();
  const left = view.sample.filter(({ state }) => state === 'drawn').length;
  const tell = (body: object, done: () => void): void =>
    told.mutate({ path: ['audits', view.audit, 'sample'], body }, { onSuccess: done });
  const isNamed = name.trim() !== '';
  const tick = (event: SyntheticEvent): void => {
    event.preventDefault();
    const serial = text.trim();
    if (serial === '' || !isNamed) return;
    tell({ type: 'found', serial, by: name }, () => {
      setFound(serial);
      setText('');
      field.current?.focus();
    });
  };
  const keep = (event: SyntheticEvent): void => {
    event.preventDefault();
    const body =
      asking === 'missing'
        ? { type: 'missing', serial: text.trim(), reason, by: name }
        : { type: 'abandon', reason, by: name };
    tell(body, () => {
      setAsking('nothing');
      setReason('');
      setText('');
    });
  };
  return (
    <div className="tick">
      <form className="acts" onSubmit={tick}>
        <NameField name={name} onChange={setName} />
        <label className="field">
          {words.tick}
          <input
            ref={field}
            className="code"
            value={text}
            maxLength={100}
            autoComplete="off"
            onChange={(event) => setText(event.target.value)}
          />
        </label>
        <button type="submit" className="btn" disabled={text.trim() === '' || !isNamed}>
          {words.found}
        </button>
        <button
          type="button"
          className="btn"
          disabled={text.trim() === '' || !isNamed}
          onClick={() => setAsking('missing')}
        >
          {words.missing}
        </button>
        <button type="button" className="btn" disabled={!isNamed} onClick={() => setAsking('abandon')}>
          {words.abandon}
        </button>
      </form>
      <p role="status">{found !== null && fill(words.ticked, { serial: found, left })}</p>
      {asking !== 'nothing' && (
        <form className="acts" onSubmit={keep}>
          <label className="field">
            {asking === 'missing' ? fill(words.missingReason, { serial: text.trim() }) : words.abandonReason}
            <input value={reason} maxLength={300} required onChange={(event) => setReason(event.target.value)} />
          </label>
          <button type="submit" className="btn do">
            {asking === 'missing' ? words.keepMissing : words.keepAbandon}
          </button>
          <button type="button" className="btn" onClick={() => setAsking('nothing')}>
            {words.leave}
          </button>
        </form>
      )}
      <Refused error={told.error} />
    </div>
  );
}
