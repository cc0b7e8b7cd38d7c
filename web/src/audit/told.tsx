import { useSyncExternalStore } from 'react';
import type { ReactElement } from 'react';
import { fill } from '../../../station/words/fill.ts';
import { refusalText } from '../../../station/words/refusal-text.ts';
import { ProblemError } from '../shared/http.ts';
import { useAuditVoice } from './audit-voice.ts';
import type { ScanRefusal } from './sample-scan.ts';

/** Why the server did not do what it was told. */
export function Refused({ error }: { readonly error: Error | null }): ReactElement | null {
  const voice = useAuditVoice();
  const { lab } = voice;
  if (error === null) return null;
  const isTold = error instanceof ProblemError && error.problem.status !== 0;
  const detail = isTold ? refusalText(voice, error.problem) : lab.failed;
  return (
    <p className="refused" role="alert">
      <b>{lab.refused}.</b> {detail}
    </p>
  );
}

/** Why a scan was not taken. */
export function NotTaken({ refusal }: { readonly refusal: ScanRefusal | null }): ReactElement | null {
  const { lab } = useAuditVoice();
  if (refusal === null) return null;
  return (
    <p className="refused" role="alert">
      <b>{lab.notTaken}.</b> {fill(lab.scanRefusals[refusal.code], refusal.facts)}
    </p>
  );
}

const NAME_KEY = 'barolot.name';
const NAME_FIELD = 'your-name';
const listeners = new Set<() => void>();
/** Somebody tried to act without a name. */
let isNameAsked = false;

const nameKept = (): string => localStorage.getItem(NAME_KEY) ?? '';
const nameAsked = (): boolean => isNameAsked;

function listen(listener: () => void): () => void {
  listeners.add(listener);
  return () => listeners.delete(listener);
}

function tellAll(): void {
  for (const listener of listeners) listener();
}

function keepName(name: string): void {
  localStorage.setItem(NAME_KEY, name);
  isNameAsked = false;
  tellAll();
}

/** The name under which a person acts at this screen: one for all its fields, kept with the browser until it is changed. */
export const useName = (): string => useSyncExternalStore(listen, nameKept).trim();

/** Takes the keyboard to the field of the name, and says there what is missing. */
export function askName(): void {
  isNameAsked = true;
  tellAll();
  document.getElementById(NAME_FIELD)?.focus();
}

/** The one field for the name on a page. Names are stated: nobody signs in yet. */
export function NameField(): ReactElement {
  const { lab } = useAuditVoice();
  const name = useSyncExternalStore(listen, nameKept);
  const isAsked = useSyncExternalStore(listen, nameAsked) && name.trim() === '';
  return (
    <label className="field name-field">
      {lab.by}
      <input
        id={NAME_FIELD}
        value={name}
        maxLength={60}
        autoComplete="name"
        aria-invalid={isAsked}
        aria-describedby="your-name-note"
        onChange={(event) => keepName(event.target.value)}
      />
      <span id="your-name-note" className={isAsked ? 'note needed' : 'note'} role={isAsked ? 'alert' : undefined}>
        {isAsked ? lab.needed.name : lab.byHint}
      </span>
    </label>
  );
}

/** Under which name the keys beside it act, or that there is none yet. */
export function Signed(): ReactElement {
  const { lab } = useAuditVoice();
  const name = useName();
  return (
    <p className="signed">
      {name === '' ? (
        <button type="button" className="btn" onClick={askName}>
          {lab.needed.name}
        </button>
      ) : (
        fill(lab.signed, { name })
      )}
    </p>
  );
}
