import type { ReactElement } from 'react';
import type { LineView, NestOutcome, ReadingView, SheetRow } from '../../../server/line/contract.ts';
import { fill } from '../../../station/words/fill.ts';
import { digitsFor, plainFigure, pointFigure, shownUnit } from '../shared/figures.ts';
import { numberText } from '../../../station/words/number-text.ts';
import { TestAsItRan } from '../shared/test-as-it-ran.tsx';
import type { PictureText } from '../shared/test-as-it-ran.tsx';
import { ToleranceBar } from '../shared/tolerance-bar.tsx';
import { kPaTo } from '../../../station/units.ts';
import type { LineState } from './line-state.ts';
import { outcomeOf, readingFigure, readingName, readingOf } from './wording.ts';
import type { Voice } from './wording.ts';

/** Standard atmosphere (ISO 2533), for the dotted line before anything was measured. */
const STANDARD_KPA = 101.325;

/** Why: each nest's readings in their tolerances under its own nest, and between them the test as it ran. */
export function Proof(props: {
  readonly state: LineState;
  readonly view: LineView;
  readonly voice: Voice;
  readonly selected: number | null;
}): ReactElement {
  const { state, view, voice, selected } = props;
  const nests = view.nests.length;
  const shown = nests <= 2 ? view.nests.map(({ nest }) => nest) : [selected ?? firstOfInterest(view)];
  const [left, right] = shown;
  if (nests === 3 || nests === 4)
    return (
      <section className="proof multi">
        <MultiSheet view={view} voice={voice} />
        <Picture state={state} view={view} voice={voice} nests={shown} />
      </section>
    );
  return (
    <section className={nests === 2 ? 'proof pair' : 'proof'}>
      {left !== undefined && <Sheet nest={left} view={view} voice={voice} isNamed={nests > 2} />}
      <Picture state={state} view={view} voice={voice} nests={shown} />
      {right !== undefined && <Sheet nest={right} view={view} voice={voice} isNamed={false} />}
    </section>
  );
}

/** With many nests one sheet is shown: that of the first part that did not pass, else of the first part. */
function firstOfInterest(view: LineView): number {
  const nests = view.outcome?.nests ?? [];
  return (nests.find(({ verdict }) => verdict !== 'pass') ?? nests[0])?.nest ?? 1;
}

function Sheet(props: {
  readonly nest: number;
  readonly view: LineView;
  readonly voice: Voice;
  readonly isNamed: boolean;
}): ReactElement {
  const { nest, view, voice, isNamed } = props;
  const { line } = voice.words;
  const sheet = view.work?.sheet ?? [];
  const outcome = view.outcome?.nests.find((each) => each.nest === nest) ?? null;
  const name = fill(line.nests.nest, { nest });
  return (
    <div className={isNamed ? 'sheet named' : 'sheet'}>
      <table className="bars" data-nest={nest}>
        <caption className={isNamed ? '' : 'away'}>{name}</caption>
        <colgroup>
          <col className="of-name" />
          <col className="of-bar" />
          <col className="of-number" />
          <col />
        </colgroup>
        <thead className="away">
          <tr>
            <th scope="col">{line.table.reading}</th>
            <th scope="col">{line.table.allowed}</th>
            <th scope="col" colSpan={2}>
              {line.table.value}
            </th>
          </tr>
        </thead>
        <tbody>
          {sheet.map((row) => (
            <Row
              key={`${row.step} ${row.quantity}`}
              row={row}
              nest={nest}
              outcome={outcome}
              view={view}
              voice={voice}
            />
          ))}
        </tbody>
      </table>
    </div>
  );
}

function Row(props: {
  readonly row: SheetRow;
  readonly nest: number;
  readonly outcome: NestOutcome | null;
  readonly view: LineView;
  readonly voice: Voice;
}): ReactElement {
  const { row, nest, outcome, view, voice } = props;
  const reading = readingOf(row, outcome?.readings ?? []);
  const taken = view.test?.taken.find((each) => each.nest === nest && each.step === row.step);
  const { unit } = shownUnit(row.quantity, row.unit);
  const number =
    reading !== null
      ? readingFigure(voice, reading).number
      : taken === undefined || row.quantity !== taken.quantity
        ? ''
        : numberText(taken.value, taken.unit === 'V' ? 3 : 2, voice.wish.language);
  const [whole, part] = splitAtPoint(number);
  return (
    <tr
      className={reading === null ? 'todo' : reading.verdict === 'fail' ? 'bad' : ''}
      data-step={row.step}
      data-quantity={row.quantity}
    >
      <th scope="row">{readingName(voice, row)}</th>
      <td>
        <ToleranceBar reading={reading} isOneSided={row.oneSided} />
        {reading !== null && <span className="away">{allowedText(reading, voice)}</span>}
      </td>
      <td className="i">
        {whole}
        <span className="frac">{part}</span>
      </td>
      <td className="u">{unit}</td>
    </tr>
  );
}

/** Bars of up to four nests side by side: what fails stands out, and its number stands in its nest. */
function MultiSheet({ view, voice }: { readonly view: LineView; readonly voice: Voice }): ReactElement {
  const { line } = voice.words;
  return (
    <div className="sheet">
      <table className="bars">
        <thead>
          <tr>
            <th scope="col">
              <span className="away">{line.table.reading}</span>
            </th>
            {view.nests.map(({ nest }) => (
              <th key={nest} scope="col">
                {fill(line.nests.nest, { nest })}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {(view.work?.sheet ?? []).map((row) => (
            <tr key={`${row.step} ${row.quantity}`} data-step={row.step} data-quantity={row.quantity}>
              <th scope="row">{readingName(voice, row)}</th>
              {view.nests.map((nest) => (
                <MultiBar key={nest.nest} row={row} outcome={outcomeOf(view, nest)} voice={voice} />
              ))}
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}

function MultiBar(props: {
  readonly row: SheetRow;
  readonly outcome: NestOutcome | null;
  readonly voice: Voice;
}): ReactElement {
  const { row, outcome, voice } = props;
  const reading = readingOf(row, outcome?.readings ?? []);
  return (
    <td>
      <ToleranceBar reading={reading} isOneSided={row.oneSided} width={150} height={20} />
      {reading !== null && (
        <span className="away">
          {`${readingFigure(voice, reading).number} ${shownUnit(row.quantity, row.unit).unit}, ${allowedText(reading, voice)}`}
        </span>
      )}
    </td>
  );
}

function splitAtPoint(number: string): readonly [string, string] {
  const at = number.search(/[.,]/);
  return at < 0 ? [number, ''] : [number.slice(0, at), number.slice(at)];
}

function allowedText({ low, high, quantity, unit, u }: ReadingView, { wish }: Voice): string {
  const { factor } = shownUnit(quantity, unit);
  const text = (limit: number): string => numberText(limit * factor, digitsFor(u * factor), wish.language);
  return low === null ? `≤ ${text(high ?? 0)}` : `${text(low)} – ${text(high ?? 0)}`;
}

function Picture(props: {
  readonly state: LineState;
  readonly view: LineView;
  readonly voice: Voice;
  readonly nests: readonly number[];
}): ReactElement {
  const { state, view, voice, nests } = props;
  const { test, outcome, work } = view;
  if (work === null) return <div className="middle" />;
  const taken = test?.taken ?? outcome?.taken ?? [];
  const ambientKpaAbs = state.frames[0]?.kPaAbs ?? state.live?.pressure.barometerKpaAbs ?? STANDARD_KPA;
  const isHold = test?.phase === 'fill' || test?.phase === 'stabilise' || test?.phase === 'measure';
  const count = view.nests.length;
  return (
    <div className="middle">
      <TestAsItRan
        phases={work.phases}
        frames={state.frames}
        taken={taken}
        nests={nests}
        ambientKpaAbs={ambientKpaAbs}
        isRunning={test !== null}
        current={isHold ? 'leak-hold' : (test?.phase ?? null)}
        width={count === 2 ? 400 : count === 3 || count === 4 ? 460 : 780}
        height={204}
        text={pictureText(voice, ambientKpaAbs)}
      />
    </div>
  );
}

/** Words of the picture; pressures absolute, in the unit that is chosen. */
export function pictureText({ words, wish }: Voice, ambientKpaAbs: number): PictureText {
  const inUnit = (kPa: number, digits: number): string =>
    plainFigure(Number(kPaTo(kPa, wish.unit).toPrecision(digits)), wish.language);
  return {
    label: words.line.pictures.testAsItRan,
    leakHold: words.line.steps['leak-hold'],
    seconds: words.line.pictures.seconds,
    unit: wish.unit,
    point: (kPaAbs) => (kPaAbs === null ? inUnit(ambientKpaAbs, 3) : pointFigure(kPaAbs, wish).replace(/ .*$/, '')),
    pressure: (kPa) => inUnit(kPa, 3),
    nest: (nest) => fill(words.line.nests.nest, { nest }).toLowerCase(),
  };
}
