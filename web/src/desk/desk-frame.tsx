import { useEffect, useRef, useState } from 'react';
import type { ReactElement, ReactNode } from 'react';
import { Link, useLocation } from 'wouter';
import { useHistoryState } from 'wouter/use-browser-location';
import { UNITS, setPreferences } from '../shared/preferences.ts';
import { Hatches } from '../shared/tolerance-bar.tsx';
import { useDeskVoice } from './desk-voice.ts';
import { recordPath } from './record-words.ts';
import './desk.css';
import './lot.css';
import './record.css';
import './print.css';

/** Which of the pages this is; null: none of them. */
export type DeskPage = 'stations' | 'lots' | 'audits' | 'records' | null;

/** What every page of the desk has: the strip of a simulated rig, the way to the others, the search, the settings. */
export function DeskFrame(props: {
  readonly page: DeskPage;
  readonly title: string;
  readonly isSimulated: boolean;
  /** Serial that is shown: stands in the search field. */
  readonly serial?: string;
  /** What is shown, right of the search. */
  readonly where?: ReactNode;
  readonly isFinding?: boolean;
  readonly children: ReactNode;
}): ReactElement {
  const { page, title, isSimulated, serial = '', where, isFinding = false, children } = props;
  const { words, desk } = useDeskVoice();
  useArrival(title, isFinding);
  return (
    <div className="desk">
      <Hatches />
      <a className="skip" href="#content">
        {desk.nav.toContent}
      </a>
      {isSimulated && (
        <div className="sim">
          <b>{words.line.simulated}</b>
        </div>
      )}
      <header className="top">
        <nav aria-label={desk.nav.label}>
          <Link href="/" aria-current={page === 'stations' ? 'page' : undefined}>
            {desk.nav.stations}
          </Link>
          <Link href="/lots" aria-current={page === 'lots' ? 'page' : undefined}>
            {desk.nav.lots}
          </Link>
          <Link href="/audits" aria-current={page === 'audits' ? 'page' : undefined}>
            {desk.nav.audits}
          </Link>
          <Link href="/records" aria-current={page === 'records' ? 'page' : undefined}>
            {desk.nav.records}
          </Link>
        </nav>
        <Find key={serial} serial={serial} isFirst={isFinding} />
        <div className="where">{where}</div>
        <Wishes />
      </header>
      <main id="content" tabIndex={-1}>
        {children}
      </main>
    </div>
  );
}

/** What a page that was found by its serial is told: the next scan goes into the search again. */
const FOUND = { isFound: true } as const;
const isFound = (state: unknown): boolean =>
  typeof state === 'object' && state !== null && 'isFound' in state && state.isFound === true;

/** The page that was shown last; null: the browser has just opened one, and has its own word on the keyboard. */
let shownPath: string | null = null;

/** Names the page, and takes the keyboard to its content where a link led here and no field waits for it. */
function useArrival(title: string, isFinding: boolean): void {
  const [path] = useLocation();
  const hasSearched = isFound(useHistoryState<unknown>());
  useEffect(() => {
    document.title = `${title} · Barolot`;
  }, [title]);
  useEffect(() => {
    const isNew = shownPath !== null && shownPath !== path;
    shownPath = path;
    if (isNew && !hasSearched && !isFinding) document.getElementById('content')?.focus({ preventScroll: true });
  }, [path, hasSearched, isFinding]);
}

/** The search for a serial. A scanner types and ends with Enter: the text is selected so that the next scan replaces it. */
function Find({ serial, isFirst }: { readonly serial: string; readonly isFirst: boolean }): ReactElement {
  const { desk } = useDeskVoice();
  const [, go] = useLocation();
  const [isMissing, setMissing] = useState(false);
  const field = useRef<HTMLInputElement>(null);
  const hasSearched = isFound(useHistoryState<unknown>());
  useEffect(() => {
    if (isFirst || hasSearched) field.current?.focus();
  }, [isFirst, hasSearched]);
  return (
    <form
      role="search"
      className="find"
      onSubmit={(event) => {
        event.preventDefault();
        const wanted = field.current?.value.trim() ?? '';
        setMissing(wanted === '');
        field.current?.select();
        if (wanted !== '') go(recordPath(wanted), { state: FOUND });
      }}
    >
      <label>
        <span className="find-label">{desk.find.label}</span>
        <input
          ref={field}
          className="code"
          defaultValue={serial}
          placeholder={desk.find.hint}
          maxLength={100}
          autoComplete="off"
          spellCheck={false}
          aria-invalid={isMissing}
          aria-describedby={isMissing ? 'find-missing' : undefined}
          onFocus={(event) => event.currentTarget.select()}
        />
      </label>
      <button type="submit">{desk.find.go}</button>
      {isMissing && (
        <p id="find-missing" role="alert">
          {desk.find.missing}
        </p>
      )}
    </form>
  );
}

/** Language, theme and unit: kept in this browser. */
function Wishes(): ReactElement {
  const { words, wish, desk } = useDeskVoice();
  const { settings } = words.line;
  return (
    <div className="wishes" role="group" aria-label={desk.nav.settings}>
      <select
        aria-label={settings.units}
        value={wish.unit}
        onChange={({ target }) => setPreferences({ unit: UNITS.find((unit) => unit === target.value) ?? 'kPa' })}
      >
        {UNITS.map((unit) => (
          <option key={unit}>{unit}</option>
        ))}
      </select>
      <select
        aria-label={settings.language}
        value={wish.language}
        onChange={({ target }) => setPreferences({ language: target.value === 'es' ? 'es' : 'en' })}
      >
        <option value="en" lang="en">
          English
        </option>
        <option value="es" lang="es">
          Español
        </option>
      </select>
      <select
        aria-label={settings.theme}
        value={wish.theme}
        onChange={({ target }) => setPreferences({ theme: target.value === 'dark' ? 'dark' : 'light' })}
      >
        <option value="light">{settings.light}</option>
        <option value="dark">{settings.dark}</option>
      </select>
    </div>
  );
}
