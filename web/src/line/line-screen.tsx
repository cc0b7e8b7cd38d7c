import { useEffect, useState } from 'react';
import type { ReactElement } from 'react';
import type { LineCommand, LineView, RefusalCode } from '../../../server/line/contract.ts';
import type { Facts } from '../../../station/faults.ts';
import { fill } from '../../../station/words/fill.ts';
import { ProblemError, tell } from '../shared/http.ts';
import { usePreferences, useWords } from '../shared/preferences.ts';
import { Hatches } from '../shared/tolerance-bar.tsx';
import { Band } from './band.tsx';
import { DemoPanel } from './demo-panel.tsx';
import { Heading } from './heading.tsx';
import { Nests } from './nests.tsx';
import { PressureRow } from './pressure-row.tsx';
import { Proof } from './proof.tsx';
import { SettingsPanel } from './settings-panel.tsx';
import { SetupForm } from './setup-form.tsx';
import { useLine } from './use-line.ts';
import type { LineState } from './line-state.ts';
import { lowTone } from './tone.ts';
import { Spoken } from './spoken.tsx';
import { UnlockForm } from './unlock-form.tsx';
import { useKeys } from './use-keys.ts';
import type { Voice } from './wording.ts';
import './line.css';

/** What stands over the proof row, or in the place of the nests. */
export type Open = 'nothing' | 'settings' | 'demo' | 'setup' | { readonly unlock: number };

/** What could not be done, when it does not stand in the server's view. */
export type Refused = { readonly code: RefusalCode | 'no-answer' | 'not-accepted'; readonly facts: Facts } | null;

/** What the server refused as a person's command (409) stands in its view already. */
function refusedBy(cause: unknown): Refused {
  if (!(cause instanceof ProblemError) || cause.problem.status === 0) return { code: 'no-answer', facts: {} };
  return cause.problem.status === 409 ? null : { code: 'not-accepted', facts: {} };
}

/** The screen of a line station. */
export function LineScreen({ station }: { readonly station: string }): ReactElement {
  const state = useLine(station);
  const words = useWords();
  const wish = usePreferences();
  useEffect(() => {
    document.documentElement.classList.add('line');
    document.title = `${station} · Barolot`;
    return () => document.documentElement.classList.remove('line');
  }, [station]);
  if (state.view === null) return <Waiting station={station} link={state.link} />;
  return <Station station={station} state={state} view={state.view} voice={{ words, wish }} />;
}

function Waiting({ station, link }: { readonly station: string; readonly link: LineState['link'] }): ReactElement {
  const { line } = useWords();
  const text = link === 'missing' ? fill(line.link.noStation, { station }) : line.link.loading;
  return (
    <div className="line-screen waiting">
      <div className="do" role="status">
        <p>{text}</p>
      </div>
      <a className="way-back" href="/">
        {line.link.toStart}
      </a>
    </div>
  );
}

function Station(props: {
  readonly station: string;
  readonly state: LineState;
  readonly view: LineView;
  readonly voice: Voice;
}): ReactElement {
  const { station, state, view, voice } = props;
  const { words } = voice;
  const [open, setOpen] = useState<Open>('nothing');
  const [selected, setSelected] = useState<number | null>(null);
  const [noAnswer, setNoAnswer] = useState<Refused>(null);
  const isOffline = state.link === 'offline';
  const band = JSON.stringify([view.prompt.code, view.prompt.facts, view.prompt.key?.code]);
  // An answer that did not come says nothing of what is asked for since, nor of a link that is back.
  useEffect(() => setNoAnswer(null), [band, isOffline]);
  const isRunning = view.prompt.key?.code === 'stop' || view.prompt.code === 'stopping';
  // What runs, and what a person has to do about it, is never behind a form.
  useEffect(() => {
    if (isRunning) setOpen((before) => (before === 'demo' ? before : 'nothing'));
  }, [isRunning]);

  const send = (command: LineCommand): void => {
    void tell(`/api/stations/${encodeURIComponent(station)}/line/commands`, command).then(
      () => {
        setNoAnswer(null);
        if (command.type === 'setup' || command.type === 'unlock') setOpen('nothing');
      },
      (cause: unknown) => {
        lowTone();
        setNoAnswer(refusedBy(cause));
      },
    );
  };

  const mustSetUp = view.work === null && view.prompt.code === 'choose-work';
  const isSettingUp = open === 'setup' || mustSetUp;
  const isForm = isSettingUp || typeof open === 'object';
  const { typed, mayAct } = useKeys(view.scanner, band, {
    isScanAsked: view.prompt.code === 'scan',
    isRunning,
    // A scan during a test, or while there is no station, means nothing, and must not be answered as if it did.
    scan: (text, isTyped) => {
      if (!isRunning && view.link === 'up' && !isForm) send({ type: 'scan', text, typed: isTyped });
    },
    // The key that stops is Escape: a second press of what started the test must not end it.
    act: () => {
      const { key } = view.prompt;
      if (key !== null && key.code !== 'stop' && !isOffline && !isForm) send(key.command);
    },
    stop: () => {
      if (isRunning) send({ type: 'stop' });
      else setOpen('nothing');
    },
    demo: () => {
      if (view.demo !== null) setOpen((before) => (before === 'demo' ? 'nothing' : 'demo'));
    },
  });

  return (
    <div className="line-screen">
      <Hatches />
      <div className={view.origin === 'simulated' ? 'sim' : 'sim real'}>
        <b>{words.line.simulated}</b>
      </div>
      <Heading view={view} voice={voice} open={open} onOpen={setOpen} />
      <Band
        view={view}
        voice={voice}
        isOffline={isOffline}
        noAnswer={noAnswer}
        onKey={(command) => {
          if (mayAct()) send(command);
        }}
      />
      <PressureRow live={state.live} voice={voice} />
      <Spoken view={view} voice={voice} />
      {isSettingUp ? (
        <SetupForm
          station={station}
          view={view}
          voice={voice}
          onSend={send}
          onBack={mustSetUp ? null : () => setOpen('nothing')}
        />
      ) : typeof open === 'object' ? (
        <UnlockForm nest={open.unlock} view={view} voice={voice} onSend={send} onBack={() => setOpen('nothing')} />
      ) : (
        <Nests
          view={view}
          live={state.live}
          voice={voice}
          typed={typed}
          selected={selected}
          onSelect={setSelected}
          onSend={send}
          onUnlock={(nest) => setOpen({ unlock: nest })}
        />
      )}
      {isForm ? null : open === 'demo' && view.demo !== null ? (
        <DemoPanel
          station={station}
          view={view}
          demo={view.demo}
          voice={voice}
          onSend={send}
          onClose={() => setOpen('nothing')}
        />
      ) : open === 'settings' ? (
        <SettingsPanel voice={voice} onClose={() => setOpen('nothing')} />
      ) : (
        <Proof state={state} view={view} voice={voice} selected={selected} />
      )}
    </div>
  );
}
