import { useId, useState } from 'react';
import type { KeyboardEvent, ReactElement, ReactNode, SyntheticEvent } from 'react';
import { useAuditVoice } from './audit-voice.ts';
import { fill } from '../../../station/words/fill.ts';
import { askName, useName } from './told.tsx';

const INVALID = '[data-invalid="true"]';

/**
 * A form that says itself what is missing, in the language of the page, beside the field and before anything is sent. Its
 * fields are shown as missing from the first try on. It is sent by its key alone: Enter in a field may be the end of a scan
 * that was meant for another one, and signs nothing.
 */
export function useChecked(send: (by: string) => void): {
  readonly isTried: boolean;
  readonly form: {
    readonly noValidate: true;
    readonly onSubmit: (event: SyntheticEvent<HTMLFormElement>) => void;
    readonly onKeyDown: (event: KeyboardEvent<HTMLFormElement>) => void;
  };
} {
  const by = useName();
  const [isTried, setTried] = useState(false);
  const onSubmit = (event: SyntheticEvent<HTMLFormElement>): void => {
    event.preventDefault();
    const wrong = event.currentTarget.querySelector<HTMLElement>(INVALID);
    setTried(wrong !== null);
    if (wrong !== null) wrong.focus();
    else if (by === '') askName();
    else send(by);
  };
  const onKeyDown = (event: KeyboardEvent<HTMLFormElement>): void => {
    if (event.key === 'Enter' && event.target instanceof HTMLInputElement) event.preventDefault();
  };
  return { isTried, form: { noValidate: true, onSubmit, onKeyDown } };
}

/** A field with what is wrong with it below, once it was tried to send it. */
function Said(props: {
  readonly label: string;
  readonly wrong: string | null;
  readonly isTried: boolean;
  readonly grows?: boolean;
  readonly children: (given: {
    readonly 'aria-invalid': boolean;
    readonly 'aria-describedby': string | undefined;
    readonly 'data-invalid': boolean;
  }) => ReactNode;
}): ReactElement {
  const { label, wrong, isTried, grows = false, children } = props;
  const id = useId();
  const isSaid = isTried && wrong !== null;
  return (
    <label className={grows ? 'field grows' : 'field'}>
      {label}
      {children({
        'aria-invalid': isSaid,
        'aria-describedby': isSaid ? id : undefined,
        'data-invalid': wrong !== null,
      })}
      {isSaid && (
        <span id={id} className="note needed">
          {wrong}
        </span>
      )}
    </label>
  );
}

interface WordsGiven {
  readonly label: string;
  readonly value: string;
  readonly most: number;
  readonly needs: 'reason' | 'reference';
  readonly mayBeEmpty?: boolean;
  readonly isTried: boolean;
  readonly grows?: boolean;
  readonly onChange: (value: string) => void;
}

/** Words that have to be there: a reason, a reference. Blanks are none. */
export function WordsField(props: WordsGiven): ReactElement {
  const { label, value, most, needs, mayBeEmpty = false, isTried, grows = false, onChange } = props;
  const { needed } = useAuditVoice().lab;
  return (
    <Said
      label={label}
      wrong={value.trim() === '' && !mayBeEmpty ? needed[needs] : null}
      isTried={isTried}
      grows={grows}
    >
      {(given) => (
        <input value={value} maxLength={most} onChange={(event) => onChange(event.target.value)} {...given} />
      )}
    </Said>
  );
}

/** Why somebody does something: it has the room that is left in its line. */
export const ReasonField = ({
  most = 300,
  ...given
}: Omit<WordsGiven, 'most' | 'needs' | 'grows'> & { readonly most?: number }): ReactElement => (
  <WordsField {...given} most={most} needs="reason" grows />
);

/** A number within its range, with either decimal mark. */
export function NumberField(props: {
  readonly label: string;
  readonly value: string;
  readonly low: number;
  readonly high: number;
  readonly isWhole?: boolean;
  readonly mayBeEmpty?: boolean;
  readonly isTried: boolean;
  readonly onChange: (value: string) => void;
}): ReactElement {
  const { label, value, low, high, isWhole = false, mayBeEmpty = false, isTried, onChange } = props;
  const { needed } = useAuditVoice().lab;
  const number = numberOf(value);
  const isRight =
    (value.trim() === '' && mayBeEmpty) ||
    (value.trim() !== '' && number >= low && number <= high && (!isWhole || Number.isInteger(number)));
  const says = fill(isWhole ? needed.wholeNumber : needed.number, { low, high });
  return (
    <Said label={label} wrong={isRight ? null : says} isTried={isTried}>
      {(given) => (
        <input
          className="number"
          inputMode={isWhole ? 'numeric' : 'decimal'}
          value={value}
          maxLength={12}
          autoComplete="off"
          onChange={(event) => onChange(event.target.value)}
          {...given}
        />
      )}
    </Said>
  );
}

/** A date that may be left out. One that is typed by half has no value, as none has: only the browser knows it from none. */
export function DateField(props: {
  readonly label: string;
  readonly value: string;
  readonly isTried: boolean;
  readonly onChange: (value: string) => void;
}): ReactElement {
  const { label, value, isTried, onChange } = props;
  const { needed } = useAuditVoice().lab;
  const [isHalf, setHalf] = useState(false);
  const look = ({ currentTarget }: SyntheticEvent<HTMLInputElement>): void => setHalf(currentTarget.validity.badInput);
  return (
    <Said label={label} wrong={isHalf ? needed.date : null} isTried={isTried}>
      {(given) => (
        <input
          type="date"
          value={value}
          onChange={(event) => {
            look(event);
            onChange(event.target.value);
          }}
          onKeyUp={look}
          onBlur={look}
          {...given}
        />
      )}
    </Said>
  );
}

/** A number as it was typed; NaN where it is none. */
export const numberOf = (text: string): number => Number(text.trim().replace(',', '.'));
