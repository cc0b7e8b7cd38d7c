import { useState } from 'react';
import type { SyntheticEvent, ReactElement } from 'react';
import type { AuditView, Decided } from '../../../server/audit/contract.ts';
import { becauseText, judgedText, leftOutText, namesOf, proposedText } from '../../../station/words/audit-text.ts';
import { fill } from '../../../station/words/fill.ts';
import { dateAndTime } from '../shared/figures.ts';
import { useSuspects, useTell } from './audit-data.ts';
import { useAuditVoice } from './audit-voice.ts';
import type { AuditVoice } from './audit-voice.ts';
import { NameField, Refused, useName } from './told.tsx';

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
      {view.phase !== 'deciding' && view.phase !== 'decided' && <p className="note">{words.unfinished}</p>}
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
  const [name, setName] = useName();
  const [choice, setChoice] = useState<Choice>(view.evaluation.proposal.decision ?? 'hold');
  const [reason, setReason] = useState('');
  const [reference, setReference] = useState('');
  const [quantity, setQuantity] = useState('');
  const [until, setUntil] = useState('');
  const told = useTell();
  const isFinished = view.phase === 'deciding' || view.phase === 'decided';
  const sign = (event: SyntheticEvent): void => {
    event.preventDefault();
    const concession =
      choice === 'concession'
        ? {
            reference,
            quantity: quantity === '' ? null : Number(quantity),
            until: until === '' ? null : `${until}T12:00:00.000Z`,
          }
        : null;
    const decision = choice === 'concession' ? 'accept' : choice;
    told.mutate(
      { path: ['audits', view.audit, 'decisions'], body: { decision, reason, concession, by: name } },
      { onSuccess: () => setReason('') },
    );
  };
  return (
    <form className="decide" onSubmit={sign}>
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
          <label className="field">
            {words.reference}
            <input value={reference} maxLength={100} required onChange={(event) => setReference(event.target.value)} />
          </label>
          <label className="field">
            {words.quantity}
            <input type="number" min={1} value={quantity} onChange={(event) => setQuantity(event.target.value)} />
          </label>
          <label className="field">
            {words.until}
            <input type="date" value={until} onChange={(event) => setUntil(event.target.value)} />
          </label>
        </div>
      )}
      <div className="acts">
        <label className="field grows">
          {words.reason}
          <input value={reason} maxLength={400} required onChange={(event) => setReason(event.target.value)} />
        </label>
        <NameField name={name} onChange={setName} />
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
