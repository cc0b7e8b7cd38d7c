import type { ReactElement } from 'react';
import type { NestOutcome, NestView } from '../../../server/line/contract.ts';
import { fill } from '../../../station/words/fill.ts';
import { VerdictMark } from '../shared/verdict-mark.tsx';
import { WayBack, waitingText } from './nest-waiting.tsx';
import { Triangle } from './pressure-row.tsx';
import type { NestsProps } from './nests.tsx';
import { isBinned, isFedNow, isLockShown, isLowSide, outcomeOf, tailOf, whyText, wordClass } from './wording.ts';

type CellProps = NestsProps & { readonly nest: NestView };

/** One of three and more nests: number, word and reason in one panel. Its number chooses whose readings are shown. */
export function NestCell(props: CellProps): ReactElement {
  const { nest, view } = props;
  const outcome = outcomeOf(view, nest);
  return outcome === null || isLockShown(view, nest) ? (
    <WaitingCell {...props} />
  ) : (
    <OutcomeCell outcome={outcome} {...props} />
  );
}

/** A mark as high as the letters beside it allow, px at 1280 x 800. */
const markSize = (nests: number): number => (nests <= 4 ? 42 : nests <= 8 ? 40 : 25);

function OutcomeCell(props: CellProps & { readonly outcome: NestOutcome }): ReactElement {
  const { nest, outcome, view, voice, typed } = props;
  const { says } = whyText(voice, outcome, view.work?.sheet ?? []);
  const isFed = isFedNow(view, nest);
  return (
    <section
      className={`v cell ${outcome.verdict}${isBinned(view, outcome) ? ' binned' : ''}`}
      data-nest={nest.nest}
      data-verdict={outcome.verdict}
      data-serial={outcome.serial}
      data-cycle={view.outcome?.cycle}
    >
      <Number {...props} />
      <div className={wordClass(voice.words.line.verdicts[outcome.verdict])}>
        <span>{voice.words.line.verdicts[outcome.verdict]}</span>
      </div>
      <div className="about">
        <VerdictMark verdict={outcome.verdict} isLow={isLowSide(outcome)} size={markSize(view.nests.length)} />
        <b className="code">{isFed && typed !== '' ? typed : tailOf(outcome.serial)}</b>
        {outcome.verdict !== 'pass' && <span className="reason">{says}</span>}
      </div>
    </section>
  );
}

function WaitingCell(props: CellProps): ReactElement {
  const { nest, view, voice, typed, onSend, onUnlock } = props;
  const isFed = isFedNow(view, nest);
  const [word, hint] = waitingText(nest, view, voice, isFed);
  return (
    <section className={isFed ? 'v cell wait scan' : 'v cell wait'} data-nest={nest.nest} data-state={nest.state}>
      <Number {...props} />
      <div className="word">
        {nest.lock !== null && <Triangle />}
        {isFed && typed !== '' ? <span className="typing code">{typed}</span> : word}
      </div>
      <div className="about">
        {nest.serial !== null && <b className="code">{tailOf(nest.serial)}</b>}
        <span className="reason">{hint}</span>
        <WayBack nest={nest} view={view} voice={voice} onSend={onSend} onUnlock={onUnlock} />
      </div>
    </section>
  );
}

function Number({ nest, view, voice, selected, onSelect }: CellProps): ReactElement {
  return (
    <button
      type="button"
      className={isFedNow(view, nest) ? 'n pick fed' : 'n pick'}
      aria-pressed={selected === nest.nest}
      aria-label={fill(voice.words.line.nests.nest, { nest: nest.nest })}
      onClick={(event) => {
        // The focus of a touched key would let the space bar press it again.
        if (event.detail > 0) event.currentTarget.blur();
        onSelect(nest.nest);
      }}
    >
      {nest.nest}
    </button>
  );
}
