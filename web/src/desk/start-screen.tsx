import type { ReactElement } from 'react';
import { Link } from 'wouter';
import type { StationView } from '../../../server/line/contract.ts';
import { fill } from '../../../station/words/fill.ts';
import { dateAndTime } from '../shared/figures.ts';
import { useHistory, useLabs } from '../audit/audit-data.ts';
import { useAuditVoice } from '../audit/audit-voice.ts';
import { doingText } from '../audit/lab-words.ts';
import { Asked } from './asked.tsx';
import { CycleNests } from './cycle-nests.tsx';
import { useLatest, useStations } from './desk-data.ts';
import { DeskFrame } from './desk-frame.tsx';
import { useDeskVoice } from './desk-voice.ts';

/** The start page: how every station stands, what to do there now, the last cycles, and what to try first. */
export function StartScreen(): ReactElement {
  const { words, desk } = useDeskVoice();
  const stations = useStations();
  const labs = useLabs();
  const isSimulated = stations.data?.some(({ origin }) => origin === 'simulated') ?? false;
  return (
    <DeskFrame page="stations" title={desk.start.title} isSimulated={isSimulated}>
      <div className="start">
        <section className="stations" aria-label={desk.start.title}>
          <h1>{desk.start.title}</h1>
          <Asked query={stations}>
            {(views) =>
              views.length === 0 && labs.data?.length === 0 ? (
                <p className="card">{desk.start.none}</p>
              ) : (
                <ul>
                  {views.map((view) => (
                    <Station key={view.station} view={view} />
                  ))}
                  <LabStations />
                </ul>
              )
            }
          </Asked>
          <History />
          <FirstTime isSimulated={isSimulated} />
        </section>
        <LatestCycles />
      </div>
      <p className="caution">
        <b>{desk.start.cautionTitle}.</b> {words.line.cautions}
      </p>
      <p className="note">
        <a href="/api">{desk.nav.interface}</a>
      </p>
    </DeskFrame>
  );
}

function Station({ view }: { readonly view: StationView }): ReactElement {
  const { desk } = useDeskVoice();
  const { start } = desk;
  const { station, nests, chamber, origin, prompt, partNumber, lot } = view;
  const facts = [
    nests === 1 ? start.nestsOne : fill(start.nests, { nests }),
    chamber ? start.chamber : start.noChamber,
    origin === 'simulated' ? start.simulated : start.real,
  ];
  return (
    <li className="card station">
      <h2 className="code">{station}</h2>
      <p className="note">{facts.join(', ')}</p>
      <p className="standing" role="status" aria-label={start.now}>
        {desk.standing[prompt]}
      </p>
      <p className="work">{partNumber === null ? start.noWork : fill(start.work, { partNumber, lot: lot ?? '' })}</p>
      <Link className="btn" href={`/line/${encodeURIComponent(station)}`}>
        {fill(start.open, { station })}
      </Link>
    </li>
  );
}

/** A past of the demo plant on its way into the ledger. */
function History(): ReactElement | null {
  const { lab } = useAuditVoice();
  const { data } = useHistory();
  if (data === undefined || data === null) return null;
  return (
    <section className="card" role="status">
      <h2>{lab.history.title}</h2>
      <p>{fill(lab.history.text, { ...data })}</p>
      <progress max={Math.max(1, data.of)} value={data.done} aria-label={lab.history.title} />
    </section>
  );
}

/** Stations with a chamber: what each does now, and the way to its audits. */
function LabStations(): ReactElement {
  const voice = useAuditVoice();
  const { start } = voice.desk;
  const { data } = useLabs();
  return (
    <>
      {(data ?? []).map((lab) => (
        <li key={lab.station} className="card station">
          <h2 className="code">{lab.station}</h2>
          <p className="note">
            {[
              fill(start.nests, { nests: lab.nests }),
              start.chamber,
              lab.origin === 'simulated' ? start.simulated : start.real,
            ].join(', ')}
          </p>
          <p className="standing" role="status" aria-label={start.now}>
            {doingText(voice, lab)}
          </p>
          <p className="work">
            {lab.load === null
              ? start.noWork
              : fill(start.work, { partNumber: lab.load.partNumber, lot: lab.load.lot })}
          </p>
          <Link className="btn" href={`/lab/${encodeURIComponent(lab.station)}`}>
            {fill(start.open, { station: lab.station })}
          </Link>
        </li>
      ))}
    </>
  );
}

function FirstTime({ isSimulated }: { readonly isSimulated: boolean }): ReactElement | null {
  const { desk } = useDeskVoice();
  if (!isSimulated) return null;
  const { tryTitle, try1, try2, try3, try4, try5 } = desk.start;
  return (
    <section className="card try">
      <h2>{tryTitle}</h2>
      <ol>
        {[try1, try2, try3, try4, try5].map((step) => (
          <li key={step}>{step}</li>
        ))}
      </ol>
    </section>
  );
}

function LatestCycles(): ReactElement {
  const { desk, wish } = useDeskVoice();
  return (
    <section className="card latest">
      <h2>{desk.start.lastCycles}</h2>
      <Asked query={useLatest()}>
        {({ cycles }) =>
          cycles.length === 0 ? (
            <p>{desk.start.noCycles}</p>
          ) : (
            <ol>
              {cycles.map((line) => (
                <li key={line.cycle}>
                  <p className="note">
                    <time dateTime={line.closedAt}>{dateAndTime(line.closedAt, wish.language)}</time> {line.station},{' '}
                    {line.partNumber}, <span className="code">{line.lot}</span>
                  </p>
                  <CycleNests line={line} />
                </li>
              ))}
            </ol>
          )
        }
      </Asked>
      <Link className="btn" href="/records">
        {desk.start.allRecords}
      </Link>
    </section>
  );
}
