import { useState } from 'react';
import type { ReactElement } from 'react';
import { useLocation } from 'wouter';
import type { LotView, SamplingPlanView } from '../../../server/audit/contract.ts';
import type { SamplingPlan } from '../../../server/audit/evaluation/contract.ts';
import { fill } from '../../../station/words/fill.ts';
import { planText } from '../../../station/words/audit-text.ts';
import { missesText, switchingText } from '../../../station/words/plan-text.ts';
import { Asked } from '../desk/asked.tsx';
import { dateAndTime } from '../shared/figures.ts';
import { AuditTable, auditPath } from './audits-screen.tsx';
import { useAudits, useLabs, useSamplingPlan, useTell } from './audit-data.ts';
import { useAuditVoice } from './audit-voice.ts';
import { ConditionOrder, asInProfile } from './condition-order.tsx';
import type { ProfileCondition } from './condition-order.tsx';
import { LinkLine } from './link-line.tsx';
import { NumberField, ReasonField, WordsField, numberOf, useChecked } from './needed-field.tsx';
import { Refused, Signed } from './told.tsx';
import './audit.css';
import { Wide } from '../desk/wide.tsx';

/** The audits of a lot, the plan by which its sample is drawn, and the draw. */
export function DrawPanel({ view }: { readonly view: LotView }): ReactElement {
  const { lab } = useAuditVoice();
  const { draw: words } = lab;
  const { partNumber, lot } = view;
  const audits = useAudits({ partNumber, lot });
  const plan = useSamplingPlan(partNumber);
  const [isChanging, setChanging] = useState(false);
  return (
    <section className="card draw">
      <h2>{words.title}</h2>
      <LinkLine />
      <Asked query={audits}>
        {(lines) =>
          lines.length === 0 ? (
            <p>{words.none}</p>
          ) : (
            <Wide label={words.title}>
              <AuditTable lines={lines} />
            </Wide>
          )
        }
      </Asked>
      <Asked query={plan}>
        {(kept) => (
          <>
            <PlanLine kept={kept} lot={view} />
            {kept.inForce.notDrawn?.code === 'sampling-discontinued' && <Resume partNumber={partNumber} />}
            {isChanging ? (
              <PlanForm kept={kept} lot={view} done={() => setChanging(false)} />
            ) : (
              <button type="button" className="btn" onClick={() => setChanging(true)}>
                {fill(words.change, { partNumber })}
              </button>
            )}
          </>
        )}
      </Asked>
      {plan.data?.inForce.notDrawn === null && (
        <Draw key={JSON.stringify(plan.data.conditions)} view={view} conditions={plan.data.conditions} />
      )}
    </section>
  );
}

function PlanLine({ kept, lot }: { readonly kept: SamplingPlanView; readonly lot: LotView }): ReactElement {
  const { lab, tongue, wish } = useAuditVoice();
  const { draw: words } = lab;
  const { isDefault, since, inspection, inForce } = kept;
  const plan = inForce.plan ?? kept.plan;
  const { sample } = lot;
  const isTooMany = sample !== null && sample.n > lot.counts.passed;
  return (
    <div className="plan">
      <p>
        <b>{fill(words.next, { partNumber: kept.partNumber })}:</b>{' '}
        {sample === null ? words.kinds[plan.kind] : planText(tongue, plan, sample.n)}{' '}
        {sample !== null && !isTooMany && fill(words.wouldBe, { n: sample.n, passed: lot.counts.passed })}
      </p>
      {isTooMany && <p className="caution-line">{fill(words.tooMany, { n: sample.n, passed: lot.counts.passed })}</p>}
      {sample !== null && sample.misses !== null && <p className="misses">{missesText(tongue, sample.misses)}</p>}
      {inspection !== null && (
        <p>
          {fill(words.inspection, { severity: words.severities[inspection.severity], score: inspection.score })}{' '}
          {inspection.explanation !== null && switchingText(tongue, inspection.explanation)}
          {inspection.resumed !== null &&
            fill(words.resumed, {
              ...inspection.resumed,
              time: dateAndTime(inspection.resumed.at, wish.language),
            })}
        </p>
      )}
      <InForce kept={kept} />
      <p className="note">
        {isDefault || since === null
          ? words.isDefault
          : fill(words.since, { time: dateAndTime(since.at, wish.language), by: since.by, reason: since.reason })}
      </p>
    </div>
  );
}

/** What tightened inspection makes of the plan, or why no sample is drawn by it. */
function InForce({ kept: { plan, inForce } }: { readonly kept: SamplingPlanView }): ReactElement | null {
  const { lab } = useAuditVoice();
  const { draw: words } = lab;
  const { notDrawn, tightened } = inForce;
  if (notDrawn !== null)
    return (
      <p className="refused" role="status">
        {fill(words.notDrawn[notDrawn.code], notDrawn.facts)}
      </p>
    );
  if (tightened === null || plan.kind !== 'attributes') return null;
  const { letter, aql, fromMemory } = tightened;
  return (
    <p>
      {fill(words.tightened, { letter, aql, n: plan.n, c: plan.c })} {fromMemory && words.fromMemory}
    </p>
  );
}

/** Inspection by attributes is taken up again, with a name and what was done. */
function Resume({ partNumber }: { readonly partNumber: string }): ReactElement {
  const { lab } = useAuditVoice();
  const { draw: words } = lab;
  const [reason, setReason] = useState('');
  const told = useTell();
  const { isTried, form } = useChecked((by) =>
    told.mutate({ path: ['sampling-plans', partNumber, 'resume'], body: { reason: reason.trim(), by } }),
  );
  return (
    <form className="plan-form" {...form}>
      <div className="acts">
        <ReasonField label={words.resumeReason} value={reason} isTried={isTried} onChange={setReason} />
        <Signed />
        <button type="submit" className="btn do">
          {words.resume}
        </button>
      </div>
      <Refused error={told.error} />
    </form>
  );
}

const KINDS = ['zero-acceptance', 'attributes', 'variables', 'fixed'] as const;

function PlanForm(props: {
  readonly kept: SamplingPlanView;
  readonly lot: LotView;
  readonly done: () => void;
}): ReactElement {
  const { kept, lot, done } = props;
  const { lab } = useAuditVoice();
  const { draw: words } = lab;
  const [kind, setKind] = useState(kept.plan.kind);
  const [numbers, setNumbers] = useState({ confidence: '90', badShare: '10', n: '13', c: '0', k: '1.5' });
  const [reference, setReference] = useState('');
  const [reason, setReason] = useState('');
  const told = useTell();
  const { isTried, form } = useChecked((by) =>
    told.mutate(
      {
        path: ['sampling-plans', kept.partNumber],
        method: 'PUT',
        body: { plan: planOf(kind, numbers, reference), reason: reason.trim(), by },
      },
      { onSuccess: done },
    ),
  );
  const number = (
    key: keyof typeof numbers,
    label: string,
    range: { readonly low: number; readonly high: number; readonly isWhole?: boolean },
  ): ReactElement => (
    <NumberField
      label={label}
      value={numbers[key]}
      isTried={isTried}
      onChange={(value) => setNumbers({ ...numbers, [key]: value })}
      {...range}
    />
  );
  const n = numberOf(numbers.n);
  const isTooMany = kind !== 'zero-acceptance' && n > lot.counts.passed;
  return (
    <form className="plan-form" {...form}>
      <p>
        <b>{fill(words.forAll, { partNumber: kept.partNumber })}</b>
      </p>
      <div className="acts">
        <label className="field">
          {words.plan}
          <select value={kind} onChange={(event) => setKind(event.target.value as SamplingPlan['kind'])}>
            {KINDS.map((each) => (
              <option key={each} value={each}>
                {words.kinds[each]}
              </option>
            ))}
          </select>
        </label>
        {kind === 'zero-acceptance' && number('confidence', words.confidence, { low: 51, high: 99.9 })}
        {kind === 'zero-acceptance' && number('badShare', words.badShare, { low: 0.01, high: 90 })}
        {kind !== 'zero-acceptance' &&
          number('n', words.n, { low: kind === 'variables' ? 3 : 1, high: 10_000, isWhole: true })}
        {kind === 'attributes' &&
          number('c', words.c, { low: 0, high: Math.max(0, Math.min(100, n - 1)), isWhole: true })}
        {kind === 'variables' && number('k', words.k, { low: 0.1, high: 9 })}
        {kind === 'attributes' && numberOf(numbers.c) > 0 && (
          <WordsField
            label={words.reference}
            value={reference}
            most={100}
            needs="reference"
            isTried={isTried}
            onChange={setReference}
          />
        )}
        {(kind === 'variables' || (kind === 'attributes' && !(numberOf(numbers.c) > 0))) && (
          <label className="field">
            {words.reference}
            <input value={reference} maxLength={100} onChange={(event) => setReference(event.target.value)} />
          </label>
        )}
        <ReasonField label={words.reason} value={reason} isTried={isTried} onChange={setReason} />
      </div>
      {isTooMany && <p className="caution-line">{fill(words.tooMany, { n, passed: lot.counts.passed })}</p>}
      <div className="acts">
        <Signed />
        <button type="submit" className="btn do">
          {words.keep}
        </button>
        <button type="button" className="btn" onClick={done}>
          {words.leave}
        </button>
      </div>
      <Refused error={told.error} />
    </form>
  );
}

function planOf(
  kind: SamplingPlan['kind'],
  text: Readonly<Record<'confidence' | 'badShare' | 'n' | 'c' | 'k', string>>,
  reference: string,
): SamplingPlan {
  const n = numberOf(text.n);
  const named = reference.trim() === '' ? null : reference.trim();
  switch (kind) {
    case 'zero-acceptance':
      return { kind, confidence: numberOf(text.confidence) / 100, badShare: numberOf(text.badShare) / 100 };
    case 'attributes':
      return { kind, n, c: numberOf(text.c), reference: named };
    case 'variables':
      return { kind, n, k: numberOf(text.k), reference: named };
    case 'fixed':
      return { kind, n };
  }
}

function Draw({
  view,
  conditions,
}: {
  readonly view: LotView;
  readonly conditions: readonly ProfileCondition[];
}): ReactElement {
  const { lab } = useAuditVoice();
  const { draw: words } = lab;
  const [station, setStation] = useState<string | null>(null);
  const [places, setPlaces] = useState(asInProfile(conditions));
  const [isBack, setBack] = useState(false);
  const [, go] = useLocation();
  const labs = useLabs();
  const told = useTell<{ readonly audit: string }>();
  const chosen = station ?? labs.data?.[0]?.station ?? null;
  const order = places.flatMap(({ condition, isChosen }) => (isChosen ? [condition] : []));
  // Where ambient is last there is nothing to return from.
  const canReturn = order.at(-1) !== 'ambient' && places.some(({ condition }) => condition === 'ambient');
  const { form } = useChecked((by) => {
    const { partNumber, lot } = view;
    const said = places.length === 0 ? {} : { conditions: order };
    const returnToAmbient = isBack && canReturn;
    told.mutate(
      { path: ['audits'], body: { partNumber, lot, station: chosen, ...said, returnToAmbient, by } },
      { onSuccess: ({ audit }) => go(auditPath(audit)) },
    );
  });
  if (labs.data?.length === 0) return <p>{words.noLab}</p>;
  if (view.counts.passed === 0) return <p>{words.none_passed}</p>;
  const isTooMany = (view.sample?.n ?? 0) > view.counts.passed;
  return (
    <form className="draw-form" {...form}>
      {places.length > 0 && <ConditionOrder places={places} onChange={setPlaces} />}
      {places.length > 0 && order.length === 0 && (
        <p className="refused" role="alert">
          {words.noCondition}
        </p>
      )}
      <div className="acts">
        <label className="field">
          {words.station}
          <select value={chosen ?? ''} onChange={(event) => setStation(event.target.value)}>
            {(labs.data ?? []).map((each) => (
              <option key={each.station}>{each.station}</option>
            ))}
          </select>
        </label>
        <label className="check">
          <input
            type="checkbox"
            checked={isBack && canReturn}
            disabled={!canReturn}
            onChange={(event) => setBack(event.target.checked)}
          />
          {words.back}
        </label>
        <Signed />
        <button type="submit" className="btn do" disabled={isTooMany || (places.length > 0 && order.length === 0)}>
          {words.go}
        </button>
      </div>
      <p className="note">{words.note}</p>
      <Refused error={told.error} />
    </form>
  );
}
