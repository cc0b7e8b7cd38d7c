import type { ReactElement } from 'react';
import type { LineView } from '../../../server/line/contract.ts';
import { fill } from '../../../station/words/fill.ts';
import { clockTime } from '../shared/figures.ts';
import { numberText } from '../../../station/words/number-text.ts';
import type { Open } from './line-screen.tsx';
import type { Voice } from './wording.ts';

/** What this station works on, what the shift came to, and the ways to settings and demo. */
export function Heading(props: {
  readonly view: LineView;
  readonly voice: Voice;
  readonly open: Open;
  readonly onOpen: (open: Open) => void;
}): ReactElement {
  const { view, voice, open, onOpen } = props;
  const { line } = voice.words;
  const { work } = view;
  const isBusy = view.test !== null;
  return (
    <header>
      <h1 className="pn">{work?.partNumber ?? view.station}</h1>
      {work !== null && (
        <p className="lot">
          <span>
            {view.station}, {work.operator}
          </span>
          <span>
            {work.pressureClass}, {line.setup.lot} <b className="code">{work.lot}</b>
          </span>
        </p>
      )}
      <Counts view={view} voice={voice} />
      <nav>
        <button
          type="button"
          className="quiet-key"
          disabled={isBusy || view.link !== 'up'}
          aria-pressed={open === 'setup'}
          onClick={() => onOpen(open === 'setup' ? 'nothing' : 'setup')}
        >
          {line.setup.change}
        </button>
        {view.demo !== null && (
          <button
            type="button"
            className="quiet-key"
            aria-pressed={open === 'demo'}
            onClick={(event) => {
              if (event.detail > 0) event.currentTarget.blur();
              onOpen(open === 'demo' ? 'nothing' : 'demo');
            }}
          >
            {line.demo.title} <kbd>{line.keyboard.demo}</kbd>
          </button>
        )}
        <button
          type="button"
          className="quiet-key"
          aria-pressed={open === 'settings'}
          onClick={(event) => {
            if (event.detail > 0) event.currentTarget.blur();
            onOpen(open === 'settings' ? 'nothing' : 'settings');
          }}
        >
          {voice.wish.unit} · {voice.wish.language.toUpperCase()}
          <span className="away"> {line.settings.show}</span>
        </button>
      </nav>
    </header>
  );
}

function Counts({ view: { counts }, voice }: { readonly view: LineView; readonly voice: Voice }): ReactElement {
  const { counts: say } = voice.words.line;
  const { language } = voice.wish;
  const { passed, of } = counts.firstPass;
  const seconds = (ms: number | null): string => (ms === null ? '–' : numberText(ms / 1000, 1, language));
  return (
    <div className="counts" title={fill(say.since, { time: clockTime(counts.since, language) })}>
      <dl>
        <Count name={say.tested} value={String(counts.tested)} />
        <Count name={say.good} value={String(counts.passed)} />
        <Count name={say.rejected} value={String(counts.rejected)} />
        <Count name={say.notJudged} value={String(counts.notJudged)} />
      </dl>
      <dl>
        <Count
          name={say.firstPass}
          value={of === 0 ? '–' : numberText((100 * passed) / of, 1, language)}
          unit={of === 0 ? '%' : `% ${fill(say.of, { n: of })}`}
        />
        <Count name={say.cycle} value={seconds(counts.cycleMs)} unit="s" />
        <Count name={say.floorToFloor} value={seconds(counts.floorToFloorMs)} unit="s" />
      </dl>
    </div>
  );
}

function Count(props: { readonly name: string; readonly value: string; readonly unit?: string }): ReactElement {
  return (
    <div>
      <dt>{props.name}</dt>
      <dd>
        <b>{props.value}</b>
        {props.unit === undefined ? '' : ` ${props.unit}`}
      </dd>
    </div>
  );
}
