import type { ReactElement } from 'react';
import type { LineCommand, LineView, LiveView, NestOutcome, NestView } from '../../../server/line/contract.ts';
import { fill } from '../../../station/words/fill.ts';
import { VerdictMark } from '../shared/verdict-mark.tsx';
import { NestWaiting } from './nest-waiting.tsx';
import { StationVerdict, TestRunning } from './whole-width.tsx';
import { tailOf, whyText } from './wording.ts';
import type { Voice } from './wording.ts';

interface NestsProps {
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
  const { outcome, test } = view;
  const isStationFault =
    outcome !== null && outcome.faults.length > 0 && outcome.nests.every(({ verdict }) => verdict === 'none');
  if (test !== null || isStationFault) {
    return (
      <main className={`nests ${sizeOf(view.nests.length)} spanned`}>
        {view.nests.length <= 2 && view.nests.map((nest) => <Who key={nest.nest} nest={nest} {...props} />)}
        {test !== null ? (
          <TestRunning view={view} test={test} live={live} voice={voice} />
        ) : (
          outcome !== null && <StationVerdict outcome={outcome} voice={voice} />
        )}
      </main>
    );
  }
  return (
    <main className={`nests ${sizeOf(view.nests.length)}`}>
      {view.nests.map((nest) => (
        <div className="place" key={nest.nest}>
          <Who nest={nest} {...props} />
          <Nest nest={nest} {...props} />
        </div>
      ))}
    </main>
  );
}

const outcomeOf = (view: LineView, nest: number): NestOutcome | null =>
  view.outcome?.nests.find((each) => each.nest === nest) ?? null;

/** The line above a nest: which it is, and which part is in it. */
function Who(props: NestsProps & { readonly nest: NestView }): ReactElement {
  const { nest, view, voice, selected, onSelect } = props;
  const { line } = voice.words;
  const serial = outcomeOf(view, nest.nest)?.serial ?? nest.serial ?? serialInTest(view, nest.nest);
  const isFed = nest.isFed && view.prompt.code === 'scan';
  const name = fill(line.nests.nest, { nest: nest.nest });
  return (
    <div className={isFed ? 'who scan' : 'who'}>
      {view.nests.length > 2 ? (
        <button
          type="button"
          className="n pick"
          aria-pressed={selected === nest.nest}
          onClick={() => onSelect(nest.nest)}
        >
          {name}
        </button>
      ) : (
        <h2 className="n">{name}</h2>
      )}
      {serial !== null && <Serial serial={serial} />}
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
  const outcome = outcomeOf(view, nest.nest);
  if (outcome === null) return <NestWaiting {...props} />;
  const { words } = voice;
  const { says, detail } = whyText(voice, outcome, view.work?.sheet ?? []);
  return (
    <section
      className={`v ${outcome.verdict}`}
      data-nest={nest.nest}
      data-verdict={outcome.verdict}
      data-serial={outcome.serial}
      data-cycle={view.outcome?.cycle}
    >
      <div className="word">
        {words.line.verdicts[outcome.verdict]}
        <VerdictMark verdict={outcome.verdict} isLow={isBelow(outcome)} />
      </div>
      <div className="why">
        <span className={says.length > 26 ? 'longer' : ''}>{says}</span>
        <small>
          {view.outcome?.isPerhapsUnseen === true ? `${words.line.outcome.perhapsUnseen}. ` : ''}
          {detail}
        </small>
      </div>
    </section>
  );
}

/** Whether the reading that failed left its room at the low side. */
function isBelow({ readings }: NestOutcome): boolean {
  const failed = readings.filter(({ verdict }) => verdict === 'fail').sort((a, b) => a.margin - b.margin)[0];
  if (failed === undefined || failed.low === null || failed.high === null) return false;
  return failed.value < (failed.low + failed.high) / 2;
}
