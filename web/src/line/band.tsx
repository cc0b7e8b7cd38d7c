import type { ReactElement } from 'react';
import type { Key, LineCommand, LineView } from '../../../server/line/contract.ts';
import { fill } from '../../../station/words/fill.ts';
import type { Refused } from './line-screen.tsx';
import { useFit } from './use-fit.ts';
import { isMendNeeded, promptText, refusalText } from './wording.ts';
import type { Voice } from './wording.ts';

/** What to do now, in one line, and at its right end the key that does it. */
export function Band(props: {
  readonly view: LineView;
  readonly voice: Voice;
  readonly isOffline: boolean;
  readonly noAnswer: Refused;
  readonly onKey: (command: LineCommand) => void;
}): ReactElement {
  const { view, voice, isOffline, noAnswer, onKey } = props;
  const { prompt } = view;
  const { line } = voice.words;
  const refused = noAnswer ?? view.refusal;
  const text = isOffline
    ? line.link.offline
    : refused === null
      ? promptText(voice, prompt)
      : refusalText(voice, refused.code, refused.facts);
  const isAct = !isOffline && (prompt.tone === 'act' || refused !== null);
  const textLine = useFit(`${text} ${prompt.key?.code ?? ''} ${prompt.quiet?.code ?? ''}`);
  return (
    <div
      className={isAct ? (refused === null ? 'do act' : 'do act refused') : 'do'}
      data-prompt={prompt.code}
      data-refusal={refused?.code ?? ''}
    >
      <p role="status" ref={textLine}>
        {!isOffline && refused !== null && <NoEntry />}
        {text}
        {isOffline && <small>{line.link.offlineHint}</small>}
        {!isOffline && isMendNeeded(view) && <small>{line.demo.mendHint}</small>}
      </p>
      {!isOffline && (
        <div className="keys">
          {prompt.quiet !== null && (
            <BandKey what={prompt.quiet} kind="quiet" voice={voice} onKey={onKey} hint={null} />
          )}
          {prompt.key !== null && (
            <BandKey
              what={prompt.key}
              kind={prompt.key.code === 'stop' ? 'stop' : ''}
              voice={voice}
              onKey={onKey}
              hint={prompt.key.code === 'stop' ? line.keyboard.escape : line.keyboard.space}
            />
          )}
        </div>
      )}
    </div>
  );
}

/** What was just tried was not done: another shape than the next thing to do has. */
function NoEntry(): ReactElement {
  return (
    <svg className="no-entry" viewBox="0 0 40 40" aria-hidden="true">
      <circle cx="20" cy="20" r="16" />
      <path d="M9 31L31 9" />
    </svg>
  );
}

function BandKey(props: {
  readonly what: Key;
  readonly kind: 'quiet' | 'stop' | '';
  readonly voice: Voice;
  readonly hint: string | null;
  readonly onKey: (command: LineCommand) => void;
}): ReactElement {
  const { what, kind, voice, hint, onKey } = props;
  const { command } = what;
  const nest = 'nest' in command && command.nest !== null ? command.nest : '';
  return (
    <button
      type="button"
      className={`key ${kind}`}
      onClick={(event) => {
        // The focus of a touched key would let the space bar press it again.
        if (event.detail > 0) event.currentTarget.blur();
        onKey(command);
      }}
      // What a scanner ends a scan with never starts or confirms anything, not even on the key itself.
      onKeyDown={(event) => {
        if (event.key === 'Enter' && kind === '') event.preventDefault();
      }}
    >
      {fill(voice.words.line.keys[what.code], { nest })}
      {hint !== null && <kbd>{hint}</kbd>}
    </button>
  );
}
