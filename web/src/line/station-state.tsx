import type { ReactElement } from 'react';
import type { LineView } from '../../../server/line/contract.ts';
import { Triangle } from './pressure-row.tsx';
import type { Voice } from './wording.ts';
import { promptText, proofName, sayingOf } from './wording.ts';

/** What the station itself waits for before any part is asked for. */
const STATES: readonly LineView['prompt']['code'][] = [
  'station-starting',
  'station-lost',
  'characterise',
  'characterising',
  'masters-due',
  'proof-due',
  // Of a start that nothing came of; a fault of a test stands with its verdicts.
  'fault',
];

/** Verdicts that stand stay until the next load, whatever the station waits for. */
export const isStationState = ({ prompt, outcome, test }: LineView): boolean =>
  outcome === null && test === null && STATES.includes(prompt.code);

/** The station is away, learns, or has to prove itself: it spans the nests, as it is none of their parts' doing. */
export function StationState({ view, voice }: { readonly view: LineView; readonly voice: Voice }): ReactElement {
  const { prompt } = view;
  const { line } = voice.words;
  if (prompt.code === 'characterising') return <Learning view={view} voice={voice} />;
  if (prompt.code === 'fault') return <NotBegun view={view} voice={voice} />;
  const due = view.proofs.find(({ state }) => state !== 'valid');
  const isAway = prompt.code === 'station-starting' || prompt.code === 'station-lost';
  const proof =
    prompt.code === 'characterise' ? 'characterisation' : prompt.code === 'masters-due' ? 'master-check' : due?.proof;
  return (
    <section className="v state" data-state={prompt.code}>
      <div className="word">{isAway || proof === undefined ? view.station : proofName(voice, proof)}</div>
      <div className="why">
        {isAway ? (
          prompt.code === 'station-lost' && (
            <span className="plate">
              <Triangle />
              {promptText(voice, prompt)}
            </span>
          )
        ) : (
          <span className="plate">
            <Triangle />
            {line.proofStates[view.proofs.find((each) => each.proof === proof)?.state ?? 'due']}
          </span>
        )}
        <small>
          {prompt.code === 'characterise' || prompt.code === 'masters-due' ? `${line.proofHints[prompt.code]} ` : ''}
          {line.cautions}
        </small>
      </div>
    </section>
  );
}

/** The station did not begin what it was asked for, and says why. */
function NotBegun({ view, voice }: { readonly view: LineView; readonly voice: Voice }): ReactElement {
  const { says } = sayingOf(voice, 'station', String(view.prompt.facts['code']));
  return (
    <section className="v state" data-state="fault">
      <div className="word">{view.station}</div>
      <div className="why">
        <span className="plate">
          <Triangle />
          {says}
        </span>
        <small>{voice.words.line.cautions}</small>
      </div>
    </section>
  );
}

/** The station learns what its nests do: which hold, and how many there are. */
function Learning({ view, voice }: { readonly view: LineView; readonly voice: Voice }): ReactElement {
  const { facts } = view.prompt;
  const [done, of] = [Number(facts['done']), Number(facts['of'])];
  return (
    <section className="v run" data-state="characterising">
      <div className="word">
        <i>{proofName(voice, 'characterisation')}</i>
        <span className="left">
          {done}
          <span className="unit">/ {of}</span>
        </span>
      </div>
      <div className="track2" aria-hidden="true">
        {Array.from({ length: of }, (_, at) => (
          <span key={at} className={at < done ? 'did' : at === done ? 'cur' : ''} />
        ))}
      </div>
    </section>
  );
}
