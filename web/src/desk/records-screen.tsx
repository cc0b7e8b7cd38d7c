import type { ReactElement } from 'react';
import type { CycleLine } from '../../../server/records/contract.ts';
import { dateAndTime } from '../shared/figures.ts';
import { Asked } from './asked.tsx';
import { CycleNests } from './cycle-nests.tsx';
import { useCycles } from './desk-data.ts';
import { DeskFrame } from './desk-frame.tsx';
import { useDeskVoice } from './desk-voice.ts';
import { testText } from './record-words.ts';
import { Wide } from './wide.tsx';

/** The last cycles of all stations, the newest first, and the search for a serial. */
export function RecordsScreen(): ReactElement {
  const { desk } = useDeskVoice();
  const cycles = useCycles();
  const lines = cycles.data?.pages.flatMap((page) => page.cycles) ?? [];
  const { records } = desk;
  return (
    <DeskFrame
      page="records"
      title={records.title}
      isSimulated={lines.some(({ origin }) => origin === 'simulated')}
      isFinding
    >
      <h1>{records.title}</h1>
      <Asked query={cycles}>
        {() =>
          lines.length === 0 ? (
            <p className="card">{records.none}</p>
          ) : (
            <section className="card">
              <Wide label={records.title}>
                <Cycles lines={lines} />
              </Wide>
              {cycles.hasNextPage ? (
                <button type="button" disabled={cycles.isFetchingNextPage} onClick={() => void cycles.fetchNextPage()}>
                  {cycles.isFetchingNextPage ? records.older : records.more}
                </button>
              ) : (
                <p className="note">{records.all}</p>
              )}
            </section>
          )
        }
      </Asked>
    </DeskFrame>
  );
}

function Cycles({ lines }: { readonly lines: readonly CycleLine[] }): ReactElement {
  const { records } = useDeskVoice().desk;
  return (
    <table className="cycles">
      <thead>
        <tr>
          <th scope="col">{records.closed}</th>
          <th scope="col">{records.station}</th>
          <th scope="col">{records.kind}</th>
          <th scope="col">{records.partNumber}</th>
          <th scope="col">{records.lot}</th>
          <th scope="col">{records.parts}</th>
          <th scope="col">{records.operator}</th>
        </tr>
      </thead>
      <tbody>
        {lines.map((line) => (
          <Cycle key={line.cycle} line={line} />
        ))}
      </tbody>
    </table>
  );
}

function Cycle({ line }: { readonly line: CycleLine }): ReactElement {
  const voice = useDeskVoice();
  return (
    <tr>
      <td>
        <time dateTime={line.closedAt}>{dateAndTime(line.closedAt, voice.wish.language)}</time>
        {line.origin === 'simulated' && <span className="note">{voice.desk.records.isSimulated}</span>}
      </td>
      <td className="code">{line.station}</td>
      <td>{testText(voice, line)}</td>
      <td className="code">{line.partNumber}</td>
      <td className="code">{line.lot}</td>
      <td>
        <CycleNests line={line} />
      </td>
      <td>{line.operator}</td>
    </tr>
  );
}
