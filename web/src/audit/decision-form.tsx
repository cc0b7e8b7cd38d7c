import { useState } from 'react';
import type { ReactElement, ReactNode } from 'react';
import { Link } from 'wouter';
import { fill } from '../../../station/words/fill.ts';
import { lotPath } from '../desk/lot-words.ts';
import { useSuspects, useTell } from './audit-data.ts';
import { useAuditVoice } from './audit-voice.ts';
import { DateField, NumberField, ReasonField, WordsField, numberOf, useChecked } from './needed-field.tsx';
import { Refused, Signed } from './told.tsx';

const CHOICES = ['accept', 'hold', 'reject', 'concession'] as const;
export type Choice = (typeof CHOICES)[number];

/** What becomes of a lot, with a reason and a name under it. What the server refuses stands below. */
export function DecisionForm(props: {
  /** Where the decision is told. */
  readonly path: readonly string[];
  /** What is chosen until somebody chooses, or begins to say why. */
  readonly first: Choice;
  readonly mayOnlyHold: boolean;
  /** What a choice brings with it, said before it is kept. */
  readonly beside: (choice: Choice) => ReactNode;
}): ReactElement {
  const { path, first, mayOnlyHold, beside } = props;
  const { lab } = useAuditVoice();
  const { decision: words } = lab;
  const [chosen, setChosen] = useState<Choice | null>(null);
  const choice = chosen ?? (mayOnlyHold ? 'hold' : first);
  const [reason, setReason] = useState('');
  const [reference, setReference] = useState('');
  const [quantity, setQuantity] = useState('');
  const [until, setUntil] = useState('');
  const told = useTell();
  const { isTried, form } = useChecked((by) => {
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
      { path, body: { decision, reason: reason.trim(), concession, by } },
      {
        onSuccess: () => {
          setReason('');
          setChosen(null);
        },
      },
    );
  });
  return (
    <form className="decide" {...form}>
      <fieldset className="choices">
        <legend>{words.which}</legend>
        {CHOICES.map((each) => (
          <label key={each} className={each === choice ? 'choice chosen' : 'choice'}>
            <input
              type="radio"
              name="decision"
              checked={each === choice}
              disabled={mayOnlyHold && each !== 'hold'}
              onChange={() => {
                told.reset();
                setChosen(each);
              }}
            />
            {words.kinds[each]}
          </label>
        ))}
      </fieldset>
      {beside(choice)}
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
          <DateField label={words.until} value={until} isTried={isTried} onChange={setUntil} />
        </div>
      )}
      <div className="acts">
        <ReasonField
          label={words.reason}
          value={reason}
          most={400}
          isTried={isTried}
          onChange={(said) => {
            setReason(said);
            // A reason is one for this choice: results that come now change nothing under it.
            setChosen(choice);
          }}
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

interface OfLot {
  readonly partNumber: string;
  readonly lot: string;
}

/** The list of the parts that are suspect with a lot. */
export const SuspectsFile = ({ partNumber, lot }: OfLot): ReactElement => (
  <a href={`/api/lots/${encodeURIComponent(partNumber)}/${encodeURIComponent(lot)}/suspects.csv`}>
    {useAuditVoice().lab.decision.suspectsCsv}
  </a>
);

/** The lots that are held for this one and stay so when it is accepted: each is let go at its own page. */
export function StillHeld({ partNumber, lot }: OfLot): ReactElement | null {
  const { decision: words } = useAuditVoice().lab;
  const { data } = useSuspects(partNumber, lot, true);
  const held = (data ?? []).filter(({ neighbourOf }) => neighbourOf.includes(lot));
  if (held.length === 0) return null;
  return (
    <p className="caution-line">
      {fill(words.stillHeld, { lots: held.length })}{' '}
      {held.map((each, at) => (
        <span key={each.lot}>
          {at > 0 && ', '}
          <Link href={lotPath(partNumber, each.lot)}>{each.lot}</Link>
        </span>
      ))}
    </p>
  );
}
