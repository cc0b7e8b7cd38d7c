import { useEffect, useRef, useState } from 'react';
import type { ReactElement } from 'react';
import type { LineCommand, LineView } from '../../../server/line/contract.ts';
import { fill } from '../../../station/words/fill.ts';
import { Field } from './setup-form.tsx';
import { sayingOf } from './wording.ts';
import type { Voice } from './wording.ts';

/** A person looked at a stopped nest, and says who and what was found. */
export function UnlockForm(props: {
  readonly nest: number;
  readonly view: LineView;
  readonly voice: Voice;
  readonly onSend: (command: LineCommand) => void;
  readonly onBack: () => void;
}): ReactElement {
  const { nest, view, voice, onSend, onBack } = props;
  const { unlock: say, setup } = voice.words.line;
  const lock = view.nests[nest - 1]?.lock ?? null;
  const [name, setName] = useState('');
  const [found, setFound] = useState('');
  const [isAsked, setIsAsked] = useState(false);
  const first = useRef<HTMLInputElement>(null);
  const second = useRef<HTMLInputElement>(null);
  useEffect(() => first.current?.focus(), []);
  const reason = lock === null ? '' : sayingOf(voice, 'part', lock.reason).says;
  return (
    <form
      className="setup unlock"
      noValidate
      onSubmit={(event) => {
        event.preventDefault();
        setIsAsked(true);
        if (name.trim() !== '' && found.trim() !== '') onSend({ type: 'unlock', nest, name, found });
      }}
    >
      <h2>{fill(say.title, { nest, reason, times: lock?.times ?? 0 })}</h2>
      <Field
        label={say.name}
        value={name}
        onChange={setName}
        missing={isAsked && name.trim() === '' ? setup.missing : null}
        field={first}
        longest={60}
        onEnter={() => second.current?.focus()}
      />
      <Field
        label={say.found}
        value={found}
        onChange={setFound}
        missing={isAsked && found.trim() === '' ? setup.missing : null}
        field={second}
        longest={200}
      />
      <div className="form-keys">
        <button type="button" className="key plain" onClick={onBack}>
          {say.cancel}
        </button>
        <button type="submit" className="key">
          {say.confirm}
          <kbd>Enter</kbd>
        </button>
      </div>
    </form>
  );
}
