import { useSyncExternalStore } from 'react';
import type { ReactElement } from 'react';
import { ProblemError } from '../shared/http.ts';
import { useAuditVoice } from './audit-voice.ts';

/** Why the server did not do what it was told, in its own words. */
export function Refused({ error }: { readonly error: Error | null }): ReactElement | null {
  const { lab } = useAuditVoice();
  if (error === null) return null;
  const detail = error instanceof ProblemError && error.problem.status !== 0 ? error.problem.detail : lab.failed;
  return (
    <p className="refused" role="alert">
      <b>{lab.refused}.</b> {detail}
    </p>
  );
}

const NAME_KEY = 'barolot.name';
const listeners = new Set<() => void>();

const nameKept = (): string => localStorage.getItem(NAME_KEY) ?? '';

function listen(listener: () => void): () => void {
  listeners.add(listener);
  return () => listeners.delete(listener);
}

function keepName(name: string): void {
  localStorage.setItem(NAME_KEY, name);
  for (const listener of listeners) listener();
}

/** The name under which a person acts at this screen: one for all its fields, kept with the browser until it is changed. */
export const useName = (): readonly [string, (name: string) => void] => [
  useSyncExternalStore(listen, nameKept),
  keepName,
];

/** The field for it. Names are stated: nobody signs in yet. */
export function NameField(props: { readonly name: string; readonly onChange: (name: string) => void }): ReactElement {
  const { lab } = useAuditVoice();
  return (
    <label className="field">
      {lab.by}
      <input
        value={props.name}
        maxLength={60}
        autoComplete="name"
        required
        onChange={(event) => props.onChange(event.target.value)}
      />
      <span className="note">{lab.byHint}</span>
    </label>
  );
}
