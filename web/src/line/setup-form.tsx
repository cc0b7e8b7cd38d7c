import { useEffect, useRef, useState } from 'react';
import type { ReactElement, SubmitEvent } from 'react';
import type { LineCommand, LineView, PartNumberView } from '../../../server/line/contract.ts';
import { fill } from '../../../station/words/fill.ts';
import { ask } from '../shared/http.ts';
import type { Voice } from './wording.ts';

const AGAIN_MS = 3000;

type Setup = Extract<LineCommand, { type: 'setup' }>;

/** Who works on what: by keyboard and scanner alone, or by touch. Held until it is changed. */
export function SetupForm(props: {
  readonly station: string;
  readonly view: LineView;
  readonly voice: Voice;
  readonly onSend: (command: LineCommand) => void;
  readonly onBack: (() => void) | null;
}): ReactElement {
  const { station, view, voice, onSend, onBack } = props;
  const { setup: say } = voice.words.line;
  const [known, setKnown] = useState<readonly PartNumberView[]>([]);
  const [operator, setOperator] = useState(view.work?.operator ?? '');
  const [partNumber, setPartNumber] = useState<string>(view.work?.partNumber ?? '');
  const [lot, setLot] = useState(view.work?.lot ?? '');
  const [isAsked, setIsAsked] = useState(false);
  const [tries, setTries] = useState(0);
  const first = useRef<HTMLInputElement>(null);
  const lotField = useRef<HTMLInputElement>(null);
  useEffect(() => first.current?.focus(), []);
  useEffect(() => {
    const stop = new AbortController();
    let again: ReturnType<typeof setTimeout> | undefined;
    void ask<readonly PartNumberView[]>(
      `/api/stations/${encodeURIComponent(station)}/line/part-numbers`,
      stop.signal,
    ).then(setKnown, () => {
      if (!stop.signal.aborted) again = setTimeout(() => setTries((before) => before + 1), AGAIN_MS);
    });
    return () => {
      stop.abort();
      clearTimeout(again);
    };
  }, [station, tries]);
  const submit = (event: SubmitEvent): void => {
    event.preventDefault();
    setIsAsked(true);
    if (operator.trim() === '' || partNumber === '' || lot.trim() === '') return;
    onSend({ type: 'setup', operator, partNumber: partNumber as Setup['partNumber'], lot });
  };
  return (
    <form className="setup" onSubmit={submit} noValidate>
      <Field
        label={say.operator}
        hint={say.stated}
        value={operator}
        onChange={setOperator}
        missing={isAsked && operator.trim() === '' ? say.missing : null}
        field={first}
        // A scanner or a person ends the name with Enter: it moves on instead of sending half a form.
        onEnter={() => {
          const chosen = document.querySelector<HTMLInputElement>('.choices input:checked');
          (
            chosen ??
            document.querySelector<HTMLInputElement>('.choices input:not(:disabled)') ??
            lotField.current
          )?.focus();
        }}
        longest={60}
      />
      <fieldset className="choices">
        <legend>
          {say.partNumber}
          {isAsked && partNumber === '' && <span className="wrong"> {say.missing}</span>}
        </legend>
        {known.length === 0 && tries > 0 && <p className="wrong">{say.noPartNumbers}</p>}
        {known.map(({ partNumber: each, title, pressureClass, revision, notTestable }) => (
          <label key={each} className={notTestable === null ? '' : 'off'}>
            <input
              type="radio"
              name="part-number"
              value={each}
              checked={partNumber === each}
              disabled={notTestable !== null}
              onChange={() => setPartNumber(each)}
              onKeyDown={(event) => {
                if (event.key !== 'Enter') return;
                event.preventDefault();
                setPartNumber(each);
                lotField.current?.focus();
              }}
            />
            <b className="code">{each}</b>
            <span>
              {pressureClass}, {fill(say.revision, { revision })}
              {notTestable === null ? '' : `, ${say.notTestable}`}
            </span>
            <span>{title}</span>
          </label>
        ))}
      </fieldset>
      <Field
        label={say.lot}
        hint={say.lotHint}
        value={lot}
        onChange={setLot}
        missing={isAsked && lot.trim() === '' ? say.missing : null}
        field={lotField}
        longest={40}
        isCode
      />
      <div className="form-keys">
        {onBack !== null && (
          <button type="button" className="key plain" onClick={onBack}>
            {say.cancel}
          </button>
        )}
        <button type="submit" className="key">
          {say.confirm}
          <kbd>Enter</kbd>
        </button>
      </div>
    </form>
  );
}

/** A labelled field with its error under it. */
export function Field(props: {
  readonly label: string;
  readonly hint?: string;
  readonly value: string;
  readonly onChange: (value: string) => void;
  readonly missing: string | null;
  readonly field?: React.RefObject<HTMLInputElement | null>;
  readonly isCode?: boolean;
  /** Most characters that the server takes. */
  readonly longest: number;
  readonly onEnter?: () => void;
}): ReactElement {
  const { label, hint, value, onChange, missing, field, isCode = false, longest, onEnter } = props;
  return (
    <label className="field">
      <span>
        {label}
        {missing !== null && <span className="wrong"> {missing}</span>}
      </span>
      <input
        ref={field}
        className={isCode ? 'code' : ''}
        value={value}
        maxLength={longest}
        aria-invalid={missing !== null}
        autoComplete="off"
        spellCheck={false}
        onChange={(event) => onChange(event.target.value)}
        onKeyDown={(event) => {
          if (event.key !== 'Enter' || onEnter === undefined || value.trim() === '') return;
          event.preventDefault();
          onEnter();
        }}
      />
      {hint !== undefined && <small>{hint}</small>}
    </label>
  );
}
