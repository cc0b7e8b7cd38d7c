import type { ReactElement } from 'react';
import type { ExpectedPhase, LineView, LiveView, OutcomeView, TestView } from '../../../server/line/contract.ts';
import { fill } from '../../../station/words/fill.ts';

import { numberText } from '../../../station/words/number-text.ts';
import { VerdictMark } from '../shared/verdict-mark.tsx';
import { Triangle } from './pressure-row.tsx';
import { phaseText, sayingOf, secondsLeft, stepText, tailOf } from './wording.ts';
import type { Voice } from './wording.ts';

/** The test as it runs: the phase in plain words, whole seconds left, how far it is. */
export function TestRunning(props: {
  readonly view: LineView;
  readonly test: TestView;
  readonly live: LiveView | null;
  readonly voice: Voice;
}): ReactElement {
  const { view, test, live, voice } = props;
  const { words } = voice;
  // Without news nobody knows how far it is: no seconds then, and the bar stays at the begin of the phase.
  const nowMs = live?.frame?.atMs ?? null;
  const atMs = nowMs ?? test.phaseFromMs;
  const phases = view.work?.phases ?? [];
  const index = phases.findIndex(({ phase }) => phase === test.phase);
  const outputs = live?.frame?.nests ?? [];
  return (
    <section className="v run" data-phase={test.phase ?? ''}>
      <div className="word">
        <i>{phaseText(voice, test.phase, phases)}</i>
        <span className="left">
          {nowMs === null ? '–' : secondsLeft(view, nowMs)}
          <span className="unit">{words.line.secondsLeft}</span>
        </span>
      </div>
      <div className="outputs">
        {test.serials.map((serial, at) => {
          const nest = at + 1;
          if (serial === null) return null;
          const isShut = test.shutOff.includes(nest);
          const output = outputs[at];
          return (
            <span key={nest}>
              {fill(words.line.nests.nest, { nest })}{' '}
              <b>
                {isShut
                  ? words.line.nests.shutOff
                  : output === undefined
                    ? '–'
                    : `${numberText(output.outputV, 3, voice.wish.language)} V`}
              </b>
            </span>
          );
        })}
      </div>
      <div className="track2" aria-hidden="true">
        {segmentsOf(phases).map(({ phase, first, last, ms }) => {
          const isHere = index >= first && index <= last;
          const fromMs = phases.slice(first, Math.max(first, index)).reduce((sum, each) => sum + each.ms, 0);
          const part = Math.min(1, Math.max(0, (fromMs + atMs - test.phaseFromMs) / Math.max(1, ms)));
          return (
            <span
              key={phase.phase}
              className={isHere ? 'cur' : last < index ? 'did' : ''}
              style={{ flexGrow: Math.max(LEAST_MS, ms), '--at': `${Math.round(part * 100)}%` } as object}
            >
              {stepText(voice, phase)}
            </span>
          );
        })}
      </div>
    </section>
  );
}

/** A segment of the bar is wide enough for its name. */
const LEAST_MS = 1050;

/** The phases as they are shown: a look in between belongs to the phase before it. */
function segmentsOf(phases: readonly ExpectedPhase[]) {
  const segments: { phase: ExpectedPhase; first: number; last: number; ms: number }[] = [];
  phases.forEach((phase, at) => {
    const before = segments.at(-1);
    if (phase.phase === 'ambient-check' && before !== undefined) {
      before.last = at;
      before.ms += phase.ms;
    } else segments.push({ phase, first: at, last: at, ms: phase.ms });
  });
  return segments;
}

/** The station was at fault: no part is judged, and every part is named. */
export function StationVerdict({
  outcome,
  voice,
}: {
  readonly outcome: OutcomeView;
  readonly voice: Voice;
}): ReactElement {
  const { words } = voice;
  const fault = outcome.faults[0];
  const says = fault === undefined ? '' : sayingOf(voice, 'station', fault.code).says;
  const serials = outcome.nests.map(({ serial }) => `…\u2060${tailOf(serial)}`).join(', ');
  return (
    <section
      className="v none whole"
      data-verdict="none"
      data-cycle={outcome.cycle}
      data-serial={outcome.nests.map(({ serial }) => serial).join(' ')}
    >
      <div className="word">
        <span>{words.line.outcome.notJudgedAll}</span>
        <VerdictMark verdict="none" />
      </div>
      <div className="why">
        <span className="plate">
          <Triangle />
          {says}
        </span>
        <small>
          {outcome.isPerhapsUnseen ? `${words.line.outcome.perhapsUnseen}. ` : ''}
          {fill(words.line.outcome.partsStay, { serials })}
        </small>
      </div>
    </section>
  );
}
