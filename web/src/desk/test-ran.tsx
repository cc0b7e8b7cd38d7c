import type { ReactElement } from 'react';
import type { RecordView } from '../../../server/records/contract.ts';
import type { PhaseId } from '../../../station/profile/plan.ts';
import { STANDARD, kPaTo } from '../../../station/units.ts';
import { fill } from '../../../station/words/fill.ts';
import { phaseText } from '../line/wording.ts';
import { plainFigure, pointFigure } from '../shared/figures.ts';
import { numberText } from '../../../station/words/number-text.ts';
import { TestAsItRan } from '../shared/test-as-it-ran.tsx';
import { useDeskVoice } from './desk-voice.ts';
import type { DeskVoice } from './desk-voice.ts';

const [WIDTH, HEIGHT] = [1280, 400];

/** The test as it ran, with its phases as a table behind the picture. */
export function TestRan({ record, nest }: { readonly record: RecordView; readonly nest: number }): ReactElement {
  const voice = useDeskVoice();
  const { words, desk, wish } = voice;
  const { phases, frames, taken, circumstances, vented } = record;
  const seconds = (ms: number): string => numberText(ms / 1000, 2, wish.language);
  const wholeMs = phases.reduce((sum, { ms }) => sum + ms, 0);
  const ambientKpaAbs = circumstances.barometerKpaAbs ?? STANDARD.kPaAbs;
  return (
    <section className="card">
      <h2>
        {desk.record.ran}
        {phases.length > 0 && (
          <small>{fill(desk.record.toVerdict, { seconds: seconds(wholeMs), unit: wish.unit })}</small>
        )}
      </h2>
      {frames.length === 0 ? (
        vented !== null && <p>{desk.record.noTrace}</p>
      ) : (
        <TestAsItRan
          phases={phases}
          frames={frames}
          taken={taken}
          nests={[nest]}
          ambientKpaAbs={ambientKpaAbs}
          isRunning={false}
          width={WIDTH}
          height={HEIGHT}
          text={{
            label: words.line.pictures.testAsItRan,
            leakHold: words.line.phases.measure,
            seconds: words.line.pictures.seconds,
            unit: wish.unit,
            point: (kPaAbs) => (kPaAbs === null ? words.line.steps['point-ambient'] : pointFigure(kPaAbs, wish)),
            pressure: (kPa) => plainFigure(kPaTo(kPa, wish.unit), wish.language),
            nest: (each) => fill(words.line.nests.nest, { nest: each }),
          }}
        />
      )}
      <p>{vented === null ? desk.record.nothingMoved : vented ? desk.record.vented : desk.record.notVented}.</p>
      {phases.length > 0 && (
        <details>
          <summary>{desk.record.asTable}</summary>
          <table className="phases">
            <thead>
              <tr>
                <th scope="col">{desk.record.phase}</th>
                <th scope="col" className="num">
                  {desk.record.took}
                </th>
                <th scope="col" className="num">
                  {desk.record.pressureTo}
                </th>
              </tr>
            </thead>
            <tbody>
              {phases.map(({ phase, ms, kPaAbs }) => (
                <tr key={phase}>
                  <th scope="row">{rowText(voice, phase, phases)}</th>
                  <td className="num">{seconds(ms)} s</td>
                  <td className="num">
                    {kPaAbs === null ? words.line.steps['point-ambient'] : `${pointFigure(kPaAbs, wish)} abs`}
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </details>
      )}
    </section>
  );
}

/** A phase in the table: parts of the leak hold are told apart. */
function rowText(voice: DeskVoice, phase: PhaseId, phases: RecordView['phases']): string {
  const name = phaseText(voice, phase, phases);
  const { steps } = voice.words.line;
  return phase === 'fill' || phase === 'stabilise' || phase === 'measure' ? `${name}, ${steps[phase]}` : name;
}
