import type { ReactElement } from 'react';
import { Link } from 'wouter';
import type { LotLine } from '../../../server/audit/contract.ts';
import { fill } from '../../../station/words/fill.ts';
import { dateAndTime } from '../shared/figures.ts';
import { auditPath } from '../audit/audits-screen.tsx';
import { Asked } from './asked.tsx';
import { useLots } from './desk-data.ts';
import { DeskFrame } from './desk-frame.tsx';
import { useDeskVoice } from './desk-voice.ts';
import { firstPassText, lotPath } from './lot-words.ts';
import { Wide } from './wide.tsx';

/** The lots with the latest cycles, the newest first. */
export function LotsScreen(): ReactElement {
  const { desk } = useDeskVoice();
  const lots = useLots();
  const isSimulated = lots.data?.some(({ origin }) => origin === 'simulated') ?? false;
  return (
    <DeskFrame page="lots" title={desk.lots.title} isSimulated={isSimulated}>
      <h1>{desk.lots.title}</h1>
      <Asked query={lots}>
        {(lines) =>
          lines.length === 0 ? (
            <p className="card">{desk.lots.none}</p>
          ) : (
            <section className="card">
              <Wide label={desk.lots.title}>
                <Lots lines={lines} />
              </Wide>
            </section>
          )
        }
      </Asked>
    </DeskFrame>
  );
}

function Lots({ lines }: { readonly lines: readonly LotLine[] }): ReactElement {
  const { lots } = useDeskVoice().desk;
  return (
    <table className="cycles lots">
      <thead>
        <tr>
          <th scope="col">{lots.lot}</th>
          <th scope="col">{lots.partNumber}</th>
          <th scope="col">{lots.state}</th>
          <th scope="col" className="number">
            {lots.parts}
          </th>
          <th scope="col" className="number">
            {lots.passed}
          </th>
          <th scope="col" className="number">
            {lots.failed}
          </th>
          <th scope="col" className="number">
            {lots.notJudged}
          </th>
          <th scope="col" className="number">
            {lots.firstPass}
          </th>
          <th scope="col">{lots.last}</th>
          <th scope="col">{lots.decidedAt}</th>
        </tr>
      </thead>
      <tbody>
        {lines.map((line) => (
          <Lot key={`${line.partNumber} ${line.lot}`} line={line} />
        ))}
      </tbody>
    </table>
  );
}

function Lot({ line }: { readonly line: LotLine }): ReactElement {
  const voice = useDeskVoice();
  const { lots, records } = voice.desk;
  const { partNumber, lot, state, origin, lastAt, counts, decided } = line;
  return (
    <tr>
      <td>
        <Link className="code" href={lotPath(partNumber, lot)} aria-label={fill(lots.open, { lot, partNumber })}>
          {lot}
        </Link>
      </td>
      <td className="code">{partNumber}</td>
      <td>
        {lots.states[state]}
        {decided !== null && decided.neighbourOf !== null && (
          <span className="note">
            {lots.withLot} <Link href={lotPath(partNumber, decided.neighbourOf)}>{decided.neighbourOf}</Link>
          </span>
        )}
      </td>
      <td className="number">{counts.parts}</td>
      <td className="number">{counts.passed}</td>
      <td className="number">{counts.failed}</td>
      <td className="number">{counts.notJudged}</td>
      <td className="number">{firstPassText(voice, counts)}</td>
      <td>
        <time dateTime={lastAt}>{dateAndTime(lastAt, voice.wish.language)}</time>
        {origin === 'simulated' && <span className="note">{records.isSimulated}</span>}
      </td>
      <td>
        {decided !== null && (
          <>
            <time dateTime={decided.at}>{dateAndTime(decided.at, voice.wish.language)}</time>
            <span className="note">
              {decided.by}
              {decided.audit !== null && (
                <>
                  {', '}
                  <Link href={auditPath(decided.audit)} aria-label={fill(lots.toAuditOf, { lot })}>
                    {lots.toAudit}
                  </Link>
                </>
              )}
            </span>
          </>
        )}
      </td>
    </tr>
  );
}
