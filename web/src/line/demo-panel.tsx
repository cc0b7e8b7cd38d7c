import { useEffect, useState } from 'react';
import type { ReactElement } from 'react';
import type { DemoChoice, DemoChoices, DemoView, LineCommand, LineView } from '../../../server/line/contract.ts';
import { fill } from '../../../station/words/fill.ts';
import { shownUnit } from '../shared/figures.ts';
import { ask } from '../shared/http.ts';
import { isMendNeeded } from './wording.ts';
import type { Voice } from './wording.ts';

type DemoPart = DemoView['parts'][number];

/** What the next simulated parts and the simulated station suffer from. Only where nothing is real. */
export function DemoPanel(props: {
  readonly station: string;
  readonly view: LineView;
  readonly demo: DemoView;
  readonly voice: Voice;
  readonly onSend: (command: LineCommand) => void;
  readonly onClose: () => void;
}): ReactElement {
  const { station, view, demo, voice, onSend, onClose } = props;
  const { demo: say, setup } = voice.words.line;
  const [choices, setChoices] = useState<DemoChoices | null>(null);
  const [nest, setNest] = useState(1);
  const [what, setWhat] = useState('');
  const [size, setSize] = useState('');
  const [other, setOther] = useState('');
  const [fault, setFault] = useState('');
  const [faultSize, setFaultSize] = useState('');
  const [phase, setPhase] = useState('');
  useEffect(() => {
    const stop = new AbortController();
    void ask<DemoChoices>(`/api/stations/${encodeURIComponent(station)}/line/demo`, stop.signal).then(
      setChoices,
      () => undefined,
    );
    return () => stop.abort();
  }, [station, view.work?.partNumber]);
  const chosen = choices?.parts.find((each) => each.what === what);
  const chosenFault = choices?.faults.find((each) => each.what === fault);
  const others = (choices?.partNumbers ?? []).filter((each) => each !== view.work?.partNumber);
  const isOther = what === 'other-class';
  const otherNumber = others.includes(other) ? other : (others.at(-1) ?? null);

  const usePart = (): void => {
    const elsewhere = demo.parts.filter((part) => part.nest !== nest);
    const part: DemoPart = {
      nest,
      what,
      size: numberOf(size, chosen),
      partNumber: isOther ? otherNumber : null,
    };
    onSend({ type: 'demo', parts: [...(what === '' ? elsewhere : [...elsewhere, part])], fault: demo.fault });
  };
  const useFault = (): void =>
    onSend({
      type: 'demo',
      parts: [...demo.parts],
      fault:
        chosenFault === undefined
          ? null
          : {
              what: fault,
              size: numberOf(faultSize, chosenFault),
              nest: chosenFault.strikesNest ? nest : null,
              phase: phase === '' ? null : phase,
            },
    });
  const says = (of: readonly DemoChoice[] | undefined, code: string): string =>
    of?.find((each) => each.what === code)?.says ?? code;
  const waits = [
    ...demo.parts.map(
      (part) =>
        `${fill(say.nest, { nest: part.nest })}: ${says(choices?.parts, part.what)}${sizeText(choices?.parts, part)}`,
    ),
    ...(demo.fault === null
      ? []
      : [`${says(choices?.faults, demo.fault.what)}${sizeText(choices?.faults, demo.fault)}`]),
  ];
  return (
    <section className="panel demo" aria-label={say.opens}>
      <div className="demo-row">
        <button
          type="button"
          className="small-key wide"
          disabled={demo.nextSerial === null || view.test !== null}
          onClick={(event) => {
            // The space bar is the band's from now on, whatever pressed this.
            event.currentTarget.blur();
            if (demo.nextSerial !== null) onSend({ type: 'scan', text: demo.nextSerial, typed: false });
          }}
        >
          {demo.nextSerial === null ? say.scanNone : fill(say.scanNext, { serial: demo.nextSerial })}
        </button>
        <button
          type="button"
          className="small-key"
          onClick={(event) => {
            event.currentTarget.blur();
            onSend({ type: 'demo', parts: [], fault: null });
          }}
        >
          {say.mend}
        </button>
        <button type="button" className="small-key close" onClick={onClose}>
          {say.close}
        </button>
      </div>
      <div className="demo-row">
        <select
          aria-label={fill(say.nest, { nest: '' }).trim()}
          value={nest}
          onChange={(event) => setNest(Number(event.target.value))}
        >
          {view.nests.map((each) => (
            <option key={each.nest} value={each.nest}>
              {fill(say.nest, { nest: each.nest })}
            </option>
          ))}
        </select>
        <Select
          label={say.title}
          value={what}
          nothing={say.nothing}
          options={choices?.parts ?? []}
          onChoose={(to) => {
            setWhat(to);
            setSize(typicalOf(choices?.parts, to));
          }}
        />
        {isOther ? (
          <select
            aria-label={setup.partNumber}
            value={otherNumber ?? ''}
            onChange={(event) => setOther(event.target.value)}
          >
            {others.map((each) => (
              <option key={each}>{each}</option>
            ))}
          </select>
        ) : (
          <Size label={say.size} choice={chosen} value={size} onChange={setSize} />
        )}
        <button
          type="button"
          className="small-key"
          onClick={(event) => {
            event.currentTarget.blur();
            usePart();
          }}
        >
          {fill(say.applyPart, { nest })}
        </button>
      </div>
      <div className="demo-row">
        <span className="fixed">{say.rig}</span>
        <Select
          label={say.rig}
          value={fault}
          nothing={say.nothing}
          options={choices?.faults ?? []}
          onChoose={(to) => {
            setFault(to);
            setFaultSize(typicalOf(choices?.faults, to));
          }}
        />
        <Size label={say.size} choice={chosenFault} value={faultSize} onChange={setFaultSize} />
        <select aria-label={say.at} value={phase} onChange={(event) => setPhase(event.target.value)}>
          <option value="">{say.now}</option>
          {(choices?.phases ?? []).map((each) => (
            <option key={each} value={each}>
              {phaseName(each, voice)}
            </option>
          ))}
        </select>
        <button
          type="button"
          className="small-key"
          onClick={(event) => {
            event.currentTarget.blur();
            useFault();
          }}
        >
          {say.applyRig}
        </button>
      </div>
      <p className="waits" role="status">
        {isMendNeeded(view) ? say.mendFirst : waits.length === 0 ? say.opens : `${say.used}: ${waits.join(', ')}`}
      </p>
    </section>
  );
}

/** A phase in one word; a pressure point as the profile names it. */
function phaseName(phase: string, { words: { line } }: Voice): string {
  if (phase === 'ambient-check') return line.readings['ambient-check'];
  const names: Readonly<Record<string, string>> = line.steps;
  return names[phase] ?? phase.replace('point:', '').replace(/-kpa$/, ' kPa');
}

function sizeText(choices: readonly DemoChoice[] | undefined, { what, size }: { what: string; size: number }): string {
  const unit = choices?.find((each) => each.what === what)?.unit ?? null;
  return unit === null ? '' : ` ${size} ${shownUnit(what, unit).unit}`;
}

const typicalOf = (choices: readonly DemoChoice[] | undefined, what: string): string =>
  String(choices?.find((each) => each.what === what)?.typical ?? '');

function numberOf(text: string, choice: DemoChoice | undefined): number {
  const value = Number(text.replace(',', '.'));
  return choice?.unit === null || text === '' || Number.isNaN(value) ? 0 : value;
}

function Select(props: {
  readonly label: string;
  readonly value: string;
  readonly nothing: string;
  readonly options: readonly DemoChoice[];
  readonly onChoose: (what: string) => void;
}): ReactElement {
  return (
    <select
      className="grows"
      aria-label={props.label}
      value={props.value}
      onChange={(event) => props.onChoose(event.target.value)}
    >
      <option value="">{props.nothing}</option>
      {props.options.map(({ what, says }) => (
        <option key={what} value={what}>
          {says}
        </option>
      ))}
    </select>
  );
}

function Size(props: {
  readonly label: string;
  readonly choice: DemoChoice | undefined;
  readonly value: string;
  readonly onChange: (value: string) => void;
}): ReactElement {
  const { label, choice, value, onChange } = props;
  const unit = choice?.unit ?? null;
  const shown = unit === null ? '' : shownUnit(choice?.what ?? '', unit).unit;
  return (
    <span className="size">
      <input
        aria-label={label}
        inputMode="decimal"
        value={unit === null ? '' : value}
        disabled={unit === null}
        onChange={(event) => onChange(event.target.value)}
      />
      <span>{shown}</span>
    </span>
  );
}
