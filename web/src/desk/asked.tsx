import type { UseQueryResult } from '@tanstack/react-query';
import { useEffect, useState } from 'react';
import type { ReactElement, ReactNode } from 'react';
import { fill } from '../../../station/words/fill.ts';
import { refusalText } from '../../../station/words/refusal-text.ts';
import { ProblemError } from '../shared/http.ts';
import { useDeskVoice } from './desk-voice.ts';

const WORDS_AFTER_MS = 1000;

type Query<T> = Pick<UseQueryResult<T>, 'data' | 'error' | 'isError'> & { refetch: () => unknown };

/** What was asked for, or why it is not there. What is there stays while the server is away, and says so. */
export function Asked<T>({
  query,
  children,
}: {
  readonly query: Query<T>;
  readonly children: (data: T) => ReactNode;
}): ReactElement {
  const { desk } = useDeskVoice();
  if (query.data !== undefined)
    return (
      <>
        {query.isError && (
          <p className="away" role="alert">
            {desk.page.away}
          </p>
        )}
        {children(query.data)}
      </>
    );
  if (query.isError) return <Failed error={query.error} again={() => void query.refetch()} />;
  return <Asking />;
}

/** Nothing at first; words and seconds when it takes longer than a glance. */
function Asking(): ReactElement {
  const { desk } = useDeskVoice();
  const [seconds, setSeconds] = useState(0);
  useEffect(() => {
    const timer = setInterval(() => setSeconds((before) => before + 1), WORDS_AFTER_MS);
    return () => clearInterval(timer);
  }, []);
  return (
    <p className="asking" role="status">
      {seconds === 0 ? '' : seconds < 3 ? desk.page.asking : fill(desk.page.askingLong, { seconds })}
    </p>
  );
}

/** What the server said instead, with the way to ask again. */
export function Failed({ error, again }: { readonly error: unknown; again: () => void }): ReactElement {
  const voice = useDeskVoice();
  const { desk } = voice;
  const problem = error instanceof ProblemError ? error.problem : null;
  // What is not there will not be there at the next try either.
  if (problem?.status === 404)
    return (
      <section className="failed" role="alert">
        <h1>{desk.page.nothingHere}</h1>
        <p>{desk.page.nothingHereHint}</p>
      </section>
    );
  return (
    <section className="failed" role="alert">
      <h2>{desk.page.failed}</h2>
      {problem !== null && (
        <p>
          {refusalText(voice, problem)} <span className="code">({problem.code})</span>
        </p>
      )}
      <button type="button" onClick={again}>
        {desk.page.again}
      </button>
    </section>
  );
}
