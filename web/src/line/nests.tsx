import type { ReactElement } from 'react';
import type { LineCommand, LineView, LiveView, NestView } from '../../../server/line/contract.ts';
import { fill } from '../../../station/words/fill.ts';
import { VerdictMark } from '../shared/verdict-mark.tsx';
import { NestCell } from './nest-cell.tsx';
import { NestWaiting } from './nest-waiting.tsx';
import { StationState, isStationState } from './station-state.tsx';
import { StationVerdict, TestRunning } from './whole-width.tsx';
import { isBinned, isFedNow, isLockShown, isLowSide, outcomeOf, tailOf, whyText, wordClass } from './wording.ts';
import type { Voice } from './wording.ts';

export interface NestsProps {
  readonly view: LineView;
  readonly live: LiveView | null;
  readonly voice: Voice;
  readonly typed: string;
  readonly selected: number | null;
  readonly onSelect: (nest: number) => void;
  readonly onSend: (command: LineCommand) => void;
  readonly onUnlock: (nest: number) => void;
}

/** How many nests there are decides how large a verdict can be. */
export const sizeOf = (nests: number): string =>
  nests === 1 ? 'one' : nests === 2 ? 'two' : nests <= 4 ? 'four' : nests <= 8 ? 'eight' : 'sixteen';

/** The nests as they lie in the fixture. What belongs to the station spans them all. */
export function Nests(props: NestsProps): ReactElement {
  const { view, live, voice } = props;
  const { outcome, test, prompt } = view;
  const isStationFault =
    outcome !== null &&
    outcome.faults.length > 0 &&
    outcome.nests.every(({ verdict }) => verdict === 'none') &&
    prompt.code !== 'nest-locked';
  const isMany = view.nests.length > 2;
  const spans = test !== null || isStationFault || isStationState(view);
  return (
    <main className={`nests ${sizeOf(view.nests.length)}${isMany ? ' many' : ''}${spans ? ' spanned' : ''}`}>
      {!isMany && view.nests.map((nest) => <Who key={nest.nest} nest={nest} {...props} />)}
      {test !== null ? (
        <TestRunning view={view} test={test} live={live} voice={voice} />
      ) : isStationFault ? (
        <StationVerdict outcome={outcome} voice={voice} />
      ) : spans ? (
        <StationState view={view} voice={voice} />
      ) : isMany ? (
        view.nests.map((nest) => <NestCell key={nest.nest} nest={nest} {...props} />)
      ) : (
        view.nests.map((nest) => <Nest key={nest.nest} nest={nest} {...props} />)
      )}
    </main>
  );
}

/** The line above a nest: which it is, and which part is in it. */
function Who(props: NestsProps & { readonly nest: NestView }): ReactElement {
  const { nest, view, voice, typed } = props;
  const { line } = voice.words;
  const shown = outcomeOf(view, nest);
  // A stopped nest is not about the part that lay in it last.
  const last = isLockShown(view, nest) ? null : (shown?.serial ?? null);
  const serial = last ?? nest.serial ?? serialInTest(view, nest.nest);
  const isFed = isFedNow(view, nest);
  // Over a verdict of the load before, the line alone says where the scanner is.
  const alone = isFed && shown !== null ? ' alone' : '';
  return (
    <div className={isFed ? `who scan${alone}` : 'who'}>
      <h2 className="n">{fill(line.nests.nest, { nest: nest.nest })}</h2>
      {isFed && shown !== null && typed !== '' ? (
        <span className="serial code">{typed}</span>
      ) : (
        serial !== null && <Serial serial={serial} />
      )}
    </div>
  );
}

function Serial({ serial }: { readonly serial: string }): ReactElement {
  return (
    <span className="serial code">
      <span className="lead">{serial.slice(0, -5)}</span>
      <b>{tailOf(serial)}</b>
    </span>
  );
}

/** A running test names its parts by what was taken; the serials stand in the nests of the outcome only later. */
function serialInTest(view: LineView, nest: number): string | null {
  return view.test?.serials[nest - 1] ?? null;
}

function Nest(props: NestsProps & { readonly nest: NestView }): ReactElement {
  const { nest, view, voice } = props;
  const outcome = outcomeOf(view, nest);
  if (outcome === null || isLockShown(view, nest)) return <NestWaiting {...props} />;
  const { words } = voice;
  const { says, detail } = whyText(voice, outcome, view.work?.sheet ?? []);
  const isDone = isBinned(view, outcome);
  return (
    <section
      className={isDone ? `v ${outcome.verdict} binned` : `v ${outcome.verdict}`}
      data-nest={nest.nest}
      data-verdict={outcome.verdict}
      data-serial={outcome.serial}
      data-cycle={view.outcome?.cycle}
    >
      <div className={wordClass(words.line.verdicts[outcome.verdict])}>
        <span>{words.line.verdicts[outcome.verdict]}</span>
        <VerdictMark verdict={outcome.verdict} isLow={isLowSide(outcome)} />
      </div>
      <div className="why">
        <span className={says.length > 26 ? 'longer' : ''}>{says}</span>
        <small>
          {view.outcome?.isPerhapsUnseen === true ? `${words.line.outcome.perhapsUnseen}. ` : ''}
          {isDone ? `${words.line.outcome.inTheBin}. ` : ''}
          {detail}
        </small>
      </div>
    </section>
  );
}
