import { useEffect, useRef } from 'react';
import type { KeyboardEvent as KeyPress, ReactElement, RefObject } from 'react';
import { QUIET_MS } from '../line/scanner.ts';

/** Fields that keep what is typed into them. A choice by mark keeps nothing: letters mean nothing to it. */
const KEEPS = 'textarea, select, input:not([type="radio"], [type="checkbox"])';

/** The scan fields of the page. */
const fields = new Set<HTMLInputElement>();

/** Where a scan goes that comes while the keyboard is nowhere: the field whose turn it is. */
const whoseTurn = (): HTMLInputElement | undefined => {
  const all = [...fields];
  return all.find((field) => field.dataset['turn'] === 'true') ?? all.at(-1);
};

/** What a scanner or a person types anywhere but in a field goes into the scan field, its first letter included. */
function catchKeys(event: KeyboardEvent): void {
  if (event.key.length !== 1 || event.key === ' ' || event.ctrlKey || event.altKey || event.metaKey) return;
  if (event.target instanceof Element && event.target.matches(KEEPS)) return;
  whoseTurn()?.focus();
}

/**
 * Takes one serial after the other, by scanner or keyboard, ended by Enter or Tab. It is empty for the next at once,
 * whatever becomes of the last, and a key beside it is never pressed by what a scanner ends with.
 */
export function ScanField(props: {
  readonly label: string;
  readonly field: RefObject<HTMLInputElement | null>;
  /** Whether this is what parts are scanned for now, where a page has more fields. */
  readonly isTurn: boolean;
  /** Empty where Enter was pressed and nothing was scanned. */
  readonly onScan: (serial: string) => void;
}): ReactElement {
  const { label, field, isTurn, onScan } = props;
  const scannedMs = useRef(-Infinity);
  useEffect(() => {
    const own = field.current;
    if (own === null) return undefined;
    if (fields.size === 0) window.addEventListener('keydown', catchKeys, true);
    fields.add(own);
    return () => {
      fields.delete(own);
      if (fields.size === 0) window.removeEventListener('keydown', catchKeys, true);
    };
  }, [field]);
  const take = (event: KeyPress<HTMLInputElement>): void => {
    const own = event.currentTarget;
    const serial = own.value.trim();
    const isTab = event.key === 'Tab' && !event.shiftKey && serial !== '';
    if (event.key !== 'Enter' && !isTab) return;
    event.preventDefault();
    // The second suffix of a scanner that sends two is no empty scan.
    const isEcho = serial === '' && event.timeStamp - scannedMs.current < QUIET_MS;
    scannedMs.current = event.timeStamp;
    own.value = '';
    if (!isEcho) onScan(serial);
  };
  return (
    <label className="field">
      {label}
      <input
        ref={field}
        className="code"
        maxLength={100}
        autoComplete="off"
        spellCheck={false}
        data-turn={isTurn}
        onKeyDown={take}
      />
    </label>
  );
}
