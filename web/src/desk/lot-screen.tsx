import type { ReactElement } from 'react';
import { Link } from 'wouter';
import type { LotPoint, LotView } from '../../../server/audit/contract.ts';
import { fill } from '../../../station/words/fill.ts';
import { dateAndTime, shownUnit } from '../shared/figures.ts';
import { DrawPanel } from '../audit/draw-panel.tsx';
import { LotDecision } from '../audit/lot-decision.tsx';
import { NameField } from '../audit/told.tsx';
import { Asked } from './asked.tsx';
import { useLot } from './desk-data.ts';
import { DeskFrame } from './desk-frame.tsx';
import { useDeskVoice } from './desk-voice.ts';
import { LotClosing } from './lot-closing.tsx';
import {
  allowedText,
  answerText,
  firstPassText,
  groupFigures,
  lotPath,
  pointName,
  reasonText,
  suspectText,
} from './lot-words.ts';
import { Wide } from './wide.tsx';

/** One lot: how many parts passed, why others did not and where, what the line read at each point. */
export function LotScreen({
  params,
}: {
  readonly params: { readonly partNumber: string; readonly lot: string };
}): ReactElement {
  const { desk } = useDeskVoice();
  const { partNumber, lot } = params;
  const query = useLot(partNumber, lot);
  return (
    <DeskFrame
      page="lots"
      title={`${desk.lots.lot} ${lot}`}
      isSimulated={query.data?.origin === 'simulated'}
      where={
        <>
          {partNumber} / {desk.lots.lot} <b>{lot}</b>
        </>
      }
    >
      <Asked query={query}>{(view) => <Lot view={view} />}</Asked>
      <p>
        <Link href="/lots">{desk.lots.toLots}</Link>
      </p>
    </DeskFrame>
  );
}

function Lot({ view }: { readonly view: LotView }): ReactElement {
  const voice = useDeskVoice();
  const { lots } = voice.desk;
  const { counts, state, decided, title, pressureClass, revisions, firstAt, lastAt } = view;
  const facts: readonly (readonly [string, string | number])[] = [
    [lots.parts, counts.parts],
    [lots.passed, counts.passed],
    [lots.failed, counts.failed],
    [lots.notJudged, counts.notJudged],
    [lots.retested, counts.retested],
    [lots.firstPass, firstPassText(voice, counts)],
  ];
  return (
    <>
      <section className="card lot-answer">
        <h1>{answerText(voice, counts)}</h1>
        <p>
          <b>{lots.states[state]}</b>
          {decided !== null && decided.neighbourOf !== null && (
            <>
              {' '}
              {lots.withLot} <Link href={lotPath(view.partNumber, decided.neighbourOf)}>{decided.neighbourOf}</Link>
            </>
          )}
          {decided !== null &&
            `. ${fill(lots.decided, { time: dateAndTime(decided.at, voice.wish.language), by: decided.by, reason: decided.reason })}`}
        </p>
        <dl className="lot-facts">
          {facts.map(([name, value]) => (
            <div key={name}>
              <dt>{name}</dt>
              <dd>{value}</dd>
            </div>
          ))}
        </dl>
        <p className="note">
          {title}, {pressureClass}, {fill(lots.revision, { revisions: revisions.join(', ') })};{' '}
          {dateAndTime(firstAt, voice.wish.language)} – {dateAndTime(lastAt, voice.wish.language)}
        </p>
        <LotClosing view={view} />
      </section>
      <Reasons view={view} />
      <Points view={view} />
      <div className="files">
        <NameField />
      </div>
      <DrawPanel view={view} />
      <LotDecision view={view} />
    </>
  );
}

function Reasons({ view }: { readonly view: LotView }): ReactElement {
  const voice = useDeskVoice();
  const { lots } = voice.desk;
  const { reasons } = view;
  const suspects = reasons.flatMap((reason) => suspectText(voice, reason, view) ?? []);
  return (
    <section className="card">
      <h2>{lots.why}</h2>
      {suspects.map((text) => (
        <p key={text} className="lot-suspect">
          {text}
        </p>
      ))}
      {reasons.length === 0 ? (
        <p>{lots.noFailure}</p>
      ) : (
        <Wide label={lots.why}>
          <table className="cycles lots">
            <thead>
              <tr>
                <th scope="col">{lots.reason}</th>
                <th scope="col" className="number">
                  {lots.parts}
                </th>
                <th scope="col">{lots.where}</th>
              </tr>
            </thead>
            <tbody>
              {reasons.map(({ reason, parts, nests }) => (
                <tr key={reason}>
                  <th scope="row">{reasonText(voice, reason)}</th>
                  <td className="number">{parts}</td>
                  <td>{nests.map((nest) => fill(lots.nestOf, nest)).join('; ')}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </Wide>
      )}
    </section>
  );
}

function Points({ view }: { readonly view: LotView }): ReactElement | null {
  const voice = useDeskVoice();
  const { lots } = voice.desk;
  const { points } = view;
  const nests = nestsOf(points);
  if (points.length === 0) return null;
  return (
    <section className="card">
      <h2>{lots.points}</h2>
      <p className="note">{lots.pointsNote}</p>
      <Wide label={lots.points}>
        <table className="cycles lots points">
          <thead>
            <tr>
              <th scope="col" rowSpan={2}>
                {lots.reading}
              </th>
              <th scope="col" rowSpan={2} className="number">
                {lots.allowed}
              </th>
              <th scope="colgroup" colSpan={3}>
                {lots.all}, {fill(lots.n, { n: points[0]?.all.n ?? 0 })}
              </th>
              {nests.map(({ station, nest }) => (
                <th key={`${station} ${nest}`} scope="colgroup" colSpan={2}>
                  {fill(lots.nest, { station, nest })}
                </th>
              ))}
            </tr>
            <tr>
              {[lots.mean, lots.sd, lots.cpk].map((name) => (
                <th key={name} scope="col" className="number">
                  {name}
                </th>
              ))}
              {nests.flatMap(({ station, nest }) =>
                [lots.mean, lots.cpk].map((name) => (
                  <th key={`${station} ${nest} ${name}`} scope="col" className="number">
                    {name}
                  </th>
                )),
              )}
            </tr>
          </thead>
          <tbody>
            {points.map((point) => (
              <Point key={`${point.step} ${point.quantity}`} point={point} nests={nests} />
            ))}
          </tbody>
        </table>
      </Wide>
    </section>
  );
}

type Place = { readonly station: string; readonly nest: number };

function Point({ point, nests }: { readonly point: LotPoint; readonly nests: readonly Place[] }): ReactElement {
  const voice = useDeskVoice();
  const all = groupFigures(voice, point, point.all);
  const { unit } = shownUnit(point.quantity, point.unit);
  return (
    <tr>
      <th scope="row">
        {pointName(voice, point)} <span className="note">{unit}</span>
      </th>
      <td className="number">{allowedText(voice, point)}</td>
      <td className="number">{all.mean}</td>
      <td className="number">{all.sd}</td>
      <td className="number">
        <b>{all.cpk}</b>
      </td>
      {nests.flatMap(({ station, nest }) => {
        const group = point.nests.find((each) => each.station === station && each.nest === nest);
        const shown = group === undefined ? { mean: '–', cpk: '–' } : groupFigures(voice, point, group);
        return [shown.mean, shown.cpk].map((text, column) => (
          <td key={`${station} ${nest} ${column}`} className="number">
            {text}
          </td>
        ));
      })}
    </tr>
  );
}

/** Every nest that read anything, in the order of the first point that has most. */
function nestsOf(points: readonly LotPoint[]): readonly Place[] {
  return points.reduce<readonly Place[]>((most, { nests }) => (nests.length > most.length ? nests : most), []);
}
