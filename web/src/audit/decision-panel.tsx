import { useState } from 'react';
import type { ReactElement } from 'react';
import type { AuditView, Decided } from '../../../server/audit/contract.ts';
import { becauseText, judgedText, leftOutText, namesOf, proposedText } from '../../../station/words/audit-text.ts';
import { fill } from '../../../station/words/fill.ts';
import { dateAndTime } from '../shared/figures.ts';
import { useSuspects, useTell } from './audit-data.ts';
import { useAuditVoice } from './audit-voice.ts';
import type { AuditVoice } from './audit-voice.ts';
import { NumberField, WordsField, numberOf, useChecked } from './needed-field.tsx';
import { Refused, Signed } from './told.tsx';

const CHOICES = ['accept', 'hold', 'reject', 'concession'] as const;
type Choice = (typeof CHOICES)[number];

/** What becomes of the lot: proposed by the plan's rule, decided by a person, never edited. */
export function DecisionPanel({ view }: { readonly view: AuditView }): ReactElement {
  const voice = useAuditVoice();
  const { lab, tongue } = voice;
  const { decision: words } = lab;
  const { proposal, misses, missesJudged } = view.evaluation;
  const names = namesOf(view);
  const leftOut = leftOutText(tongue, view.draw.leftOut);
  return (
    <section className="card decision">
      <h2>
        {words.title} <span className="note">{proposedText(tongue, proposal.decision)}</span>
      </h2>
      <ul className="because">
        {proposal.because.map((reason) => {
          const text = becauseText(tongue, names, reason);
          return <li key={text}>{text}</li>;
        })}
      </ul>
      {leftOut !== null && <p>{leftOut}</p>}
      <p className="note">
        {words.misses}: {misses} {missesJudged !== null && <b>{judgedText(tongue, missesJudged)}</b>}
      </p>
      {view.lotNow !== null && <LotNow now={view.lotNow} />}
      {[view.decision, ...view.before].map(
        (decided) => decided !== null && <Kept key={decided.sequence} decided={decided} />,
      )}
      {view.decision !== null && <p className="note">{words.follow}</p>}
      {view.phase !== 'deciding' && view.phase !== 'decided' && (
        <p className="note">{view.phase === 'opening' ? words.stillInside : words.unfinished}</p>
      )}
      <Decide view={view} />
    </section>
  );
}

/** How the lot stands, where that does not rest on this audit. */
function LotNow({ now }: { readonly now: Decided }): ReactElement {
  const { tongue, wish } = useAuditVoice();
  const { by, reason, sequence } = now;
  const facts = { decided: decisionText(tongue, now), time: dateAndTime(now.at, wish.language), by, reason, sequence };
  return (
    <p className={`kept ${now.decision}`}>
      <b>{tongue.words.lotNow.name}:</b> {fill(tongue.words.lotNow.text, facts)}
    </p>
  );
}

const decisionText = ({ words }: AuditVoice['tongue'], { decision, concession }: Decided): string =>
  concession === null ? words.decided[decision] : words.acceptedUnderConcession;

function Kept({ decided }: { readonly decided: Decided }): ReactElement {
  const voice = useAuditVoice();
  const { lab, tongue, wish } = voice;
  const { decision, at, by, reason, concession } = decided;
  const name = decisionText(tongue, decided);
  return (
    <p className={`kept ${decision}`}>
      <b>{fill(lab.decision.kept, { decision: name, time: dateAndTime(at, wish.language), by, reason })}</b>{' '}
      {concession !== null && concessionText(voice, concession)}
    </p>
  );
}

function concessionText(
  { lab }: AuditVoice,
  { reference, quantity, until }: NonNullable<Decided['concession']>,
): string {
  const { decision: words } = lab;
  return fill(words.concession, {
    reference,
    quantity: quantity === null ? '' : fill(words.ofParts, { quantity }),
    until: until === null ? '' : fill(words.untilDate, { date: until.slice(0, 10) }),
  });
}

function Decide({ view }: { readonly view: AuditView }): ReactElement {
  const { lab } = useAuditVoice();
  const { decision: words } = lab;
  const [choice, setChoice] = useState<Choice>(view.evaluation.proposal.decision ?? 'hold');
  const [reason, setReason] = useState('');
  const [reference, setReference] = useState('');
  const [quantity, setQuantity] = useState('');
  const [until, setUntil] = useState('');
  const told = useTell();
  const isFinished = view.phase === 'deciding' || view.phase === 'decided';
  const { isTried, onSubmit } = useChecked((by) => {
    const concession =
      choice === 'concession'
        ? {
            reference: reference.trim(),
            quantity: quantity.trim() === '' ? null : numberOf(quantity),
            until: until === '' ? null : `${until}T12:00:00.000Z`,
          }
        : null;
    const decision = choice === 'concession' ? 'accept' : choice;
    told.mutate(
      { path: ['audits', view.audit, 'decisions'], body: { decision, reason: reason.trim(), concession, by } },
      { onSuccess: () => setReason('') },
    );
  });
  return (
    <form className="decide" noValidate onSubmit={onSubmit}>
      <fieldset className="choices">
        <legend>{words.which}</legend>
        {CHOICES.map((each) => (
          <label key={each} className={each === choice ? 'choice chosen' : 'choice'}>
            <input
              type="radio"
              name="decision"
              checked={each === choice}
              disabled={!isFinished && each !== 'hold'}
              onChange={() => setChoice(each)}
            />
            {words.kinds[each]}
          </label>
        ))}
      </fieldset>
      {(choice === 'hold' || choice === 'reject') && <Suspects view={view} />}
      {choice === 'concession' && (
        <div className="acts">
          <WordsField
            label={words.reference}
            value={reference}
            most={100}
            needs="reference"
            isTried={isTried}
            onChange={setReference}
          />
          <NumberField
            label={words.quantity}
            value={quantity}
            low={1}
            high={10_000_000}
            isWhole
            mayBeEmpty
            isTried={isTried}
            onChange={setQuantity}
          />
          <label className="field">
            {words.until}
            <input type="date" value={until} onChange={(event) => setUntil(event.target.value)} />
          </label>
        </div>
      )}
      <div className="acts">
        <WordsField
          label={words.reason}
          value={reason}
          most={400}
          needs="reason"
          isTried={isTried}
          grows
          onChange={setReason}
        />
        <Signed />
        <button type="submit" className="btn do">
          {words.sign}
        </button>
      </div>
      <Refused error={told.error} />
    </form>
  );
}

/** Which lots a hold takes with it, and the list of their parts. */
function Suspects({ view }: { readonly view: AuditView }): ReactElement | null {
  const { lab } = useAuditVoice();
  const { decision: words } = lab;
  const { data } = useSuspects(view.partNumber, view.lot, true);
  if (data === undefined) return null;
  const neighbours = data.filter(({ is }) => is !== 'this');
  const parts = data.reduce((sum, each) => sum + each.parts, 0);
  return (
    <p>
      {neighbours.length === 0
        ? words.suspectsNone
        : fill(words.suspects, {
            lots: neighbours.length,
            names: neighbours.map(({ lot }) => lot).join(', '),
            parts,
          })}{' '}
      <a href={`/api/lots/${encodeURIComponent(view.partNumber)}/${encodeURIComponent(view.lot)}/suspects.csv`}>
        {words.suspectsCsv}
      </a>
    </p>
  );
}
