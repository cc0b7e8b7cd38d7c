import type { ReactElement } from 'react';
import type { LineCommand, LineView, NestView } from '../../../server/line/contract.ts';
import { fill } from '../../../station/words/fill.ts';
import { Triangle } from './pressure-row.tsx';
import { isFedNow, sayingOf } from './wording.ts';
import type { Voice } from './wording.ts';

/** A nest before the start: what it waits for, and the ways back. */
export function NestWaiting(props: {
  readonly nest: NestView;
  readonly view: LineView;
  readonly voice: Voice;
  readonly typed: string;
  readonly onSend: (command: LineCommand) => void;
  readonly onUnlock: (nest: number) => void;
}): ReactElement {
  const { nest, view, voice, typed, onSend, onUnlock } = props;
  const { nests: say } = voice.words.line;
  const isFed = isFedNow(view, nest);
  const [word, hint] = waitingText(nest, view, voice, isFed);
  return (
    <section className={isFed ? 'v wait scan' : 'v wait'} data-nest={nest.nest} data-state={nest.state}>
      <div className="word">
        {nest.lock !== null && <Triangle />}
        {isFed && typed !== '' ? <span className="typing code">{typed}</span> : word}
      </div>
      <div className="why">
        <span className="hint">
          {hint}
          {nest.typed && nest.state === 'loaded' ? ` (${say.typed})` : ''}
        </span>
        <WayBack nest={nest} view={view} voice={voice} onSend={onSend} onUnlock={onUnlock} />
      </div>
    </section>
  );
}

/** What a nest waits for, and the line under it. */
export function waitingText(nest: NestView, view: LineView, voice: Voice, isFed: boolean): readonly [string, string] {
  const { nests: say } = voice.words.line;
  if (nest.lock !== null) {
    const reason = sayingOf(voice, 'part', nest.lock.reason).says;
    return [say.locked, fill(say.lockedHint, { reason, times: nest.lock.times })];
  }
  if (nest.state === 'loaded') return [say.loaded, nest.attempt === null ? '' : say[nest.attempt]];
  if (nest.state === 'empty') return [say.empty, say.emptyHint];
  if (view.work === null) return ['–', say.notPlanned];
  if (isFed) return [say.scan, say.scanHint];
  if (view.prompt.code === 'load') return [say.load, ''];
  // Something else is to be done first.
  if (view.prompt.code !== 'scan') return ['–', ''];
  return [say.open, say.openHint];
}

/** The way back from what was done about a nest. */
export function WayBack(props: {
  readonly nest: NestView;
  readonly view: LineView;
  readonly voice: Voice;
  readonly onSend: (command: LineCommand) => void;
  readonly onUnlock: (nest: number) => void;
}): ReactElement | null {
  const { nest, view, voice, onSend, onUnlock } = props;
  const { nests: say } = voice.words.line;
  if (view.link !== 'up' || view.work === null) return null;
  if (nest.state === 'locked') return <Small text={say.unlock} onPress={() => onUnlock(nest.nest)} />;
  if (nest.state === 'loaded')
    return <Small text={say.takeOut} onPress={() => onSend({ type: 'take-out', nest: nest.nest })} />;
  if (nest.state === 'empty')
    return <Small text={say.useAgain} onPress={() => onSend({ type: 'leave-empty', nest: nest.nest })} />;
  return null;
}

function Small({ text, onPress }: { readonly text: string; readonly onPress: () => void }): ReactElement {
  return (
    <button
      type="button"
      className="small-key"
      onClick={(event) => {
        if (event.detail > 0) event.currentTarget.blur();
        onPress();
      }}
    >
      {text}
    </button>
  );
}
