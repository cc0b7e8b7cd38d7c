import { Fragment } from 'react';
import type { ReactElement } from 'react';
import { Link } from 'wouter';
import type { CycleLine, SerialLife } from '../../../server/records/contract.ts';
import { fill } from '../../../station/words/fill.ts';
import { dateAndTime } from '../shared/figures.ts';
import { VerdictWord, isLowSide } from './cycle-nests.tsx';
import { useDeskVoice } from './desk-voice.ts';
import { gapText, reasonText, recordPath, testText } from './record-words.ts';

const MARK_PX = 26;

/** Everything that is kept of a serial, the oldest first, with a dotted gap where a day or more lies between. */
export function Life(props: {
  readonly life: SerialLife;
  readonly chosen: string;
  readonly first: string | null;
}): ReactElement {
  const { life, chosen, first } = props;
  const voice = useDeskVoice();
  const lines = life.cycles.toReversed();
  return (
    <nav aria-label={voice.desk.record.life} className="life-of" tabIndex={-1}>
      <ol className="life">
        {lines.map((line, at) => {
          const before = lines[at - 1];
          const gap = before === undefined ? null : gapText(voice, before.closedAt, line.closedAt);
          return (
            <Fragment key={line.cycle}>
              {gap !== null && <li className="gap">{gap}</li>}
              <Event line={line} serial={life.serial} isChosen={line.cycle === chosen} isFirst={line.cycle === first} />
            </Fragment>
          );
        })}
      </ol>
    </nav>
  );
}

function Event(props: {
  readonly line: CycleLine;
  readonly serial: string;
  readonly isChosen: boolean;
  readonly isFirst: boolean;
}): ReactElement {
  const { line, serial, isChosen, isFirst } = props;
  const voice = useDeskVoice();
  const { desk, wish } = voice;
  const result = line.nests.find((each) => each.serial === serial);
  const reason = reasonText(voice, result?.why ?? null);
  const facts = { nest: result?.nest ?? '', reason };
  return (
    <li className={isChosen ? 'now' : isFirst ? 'then' : undefined}>
      <Link href={recordPath(serial, line.cycle)} aria-current={isChosen ? 'true' : undefined}>
        <time dateTime={line.closedAt}>{dateAndTime(line.closedAt, wish.language)}</time>
        <b>{testText(voice, line)}</b>
        {result !== undefined && (
          <VerdictWord verdict={result.verdict} isLow={isLowSide(result.why?.code)} size={MARK_PX} />
        )}
        <small>
          {fill(reason === '' ? desk.record.lifeNestOnly : desk.record.lifeNest, facts)}
          {isFirst && `, ${desk.record.first}`}
        </small>
      </Link>
    </li>
  );
}
