import type { ReactElement } from 'react';
import type { RecordView } from '../../../server/records/contract.ts';
import { fill } from '../../../station/words/fill.ts';
import { dateAndTime } from '../shared/figures.ts';
import { numberText } from '../../../station/words/number-text.ts';
import { VerdictMark } from '../shared/verdict-mark.tsx';
import { isLowSide } from './cycle-nests.tsx';
import { useDeskVoice } from './desk-voice.ts';
import { decidingReading, nameOf, nextText, numberLine, reasonText, sheetOf } from './record-words.ts';

const MARK_PX = 60;

/** The answer: what became of the part, the number behind it, how everything else stands. */
export function Finding({ record, nest }: { readonly record: RecordView; readonly nest: number }): ReactElement {
  const voice = useDeskVoice();
  const { words, desk, wish } = voice;
  const result = record.line.nests.find((each) => each.nest === nest);
  const verdict = result?.verdict ?? 'none';
  const why = result?.why ?? null;
  const sheet = sheetOf(record.readings, nest);
  const deciding = decidingReading(sheet, why);
  const inside = sheet.filter((each) => each.verdict === 'pass').length;
  const of = { serial: result?.serial ?? '', nest, time: dateAndTime(record.line.closedAt, wish.language) };
  return (
    <section className={`answer is-${verdict}`} aria-label={words.verdicts[verdict]}>
      <div className="verdict">
        <VerdictMark verdict={verdict} isLow={isLowSide(why?.code)} size={MARK_PX} />
        <div>
          <h1>
            {words.line.verdicts[verdict]}
            {why !== null && <span className="reason">{reasonText(voice, why)}</span>}
          </h1>
          <p>{fill(desk.record.ofSerial, of)}</p>
        </div>
      </div>
      <div>
        {verdict === 'none' || deciding === null ? (
          <>
            <p>{desk.record.next}</p>
            <p className="big">{nextText(voice, why)}</p>
          </>
        ) : (
          <>
            <p>{verdict === 'fail' ? nameOf(voice, deciding) : `${desk.record.closest}: ${nameOf(voice, deciding)}`}</p>
            <p className="big">{numberLine(voice, deciding)}</p>
            <p>{fill(desk.record.marginText, { margin: numberText(deciding.margin, 2, wish.language) })}</p>
          </>
        )}
      </div>
      <div>
        {verdict === 'none' ? (
          <p className="big">{desk.record.notJudgedBy}</p>
        ) : (
          <>
            <p>{verdict === 'fail' ? desk.record.others : desk.record.readings}</p>
            <p className="big">{fill(desk.record.inside, { n: inside, of: sheet.length })}</p>
            <p>{nextText(voice, why)}</p>
          </>
        )}
      </div>
    </section>
  );
}
