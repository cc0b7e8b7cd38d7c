import { atText, becauseText, proposedText, reasonText } from '../../../station/words/audit-text.ts';
import { fill } from '../../../station/words/fill.ts';
import type { AuditView, Decided } from '../../audit/contract.ts';
import { stageName } from './conditions.ts';
import { byText, decisionText, lotNowText } from './front.ts';
import { INKS, SIZES } from './sheet.ts';
import type { Sheet } from './sheet.ts';
import { pairs, table } from './table.ts';
import { rangeText } from './voice.ts';
import type { Voice } from './voice.ts';

/** By what it was judged, what was decided, what the report says and does not say, and where it all is kept. */
export function judgement(sheet: Sheet, view: AuditView, voice: Voice): void {
  rules(sheet, view, voice);
  disposition(sheet, view, voice);
  statements(sheet, view, voice);
  evidence(sheet, view, voice);
}

function rules(sheet: Sheet, view: AuditView, voice: Voice): void {
  const { report, tongue } = voice;
  const { judged } = report;
  const { rule, profile, evaluation } = view;
  const factors = profile.factors
    .map(({ partC, factor }) => fill(judged.factor, { factor: voice.plain(factor), temperature: voice.plain(partC) }))
    .join(', ');
  const us = view.input.readings.map(({ uKpa }) => 2 * uKpa);
  sheet.section(report.sections.judged, 90);
  pairs(sheet, [
    [judged.rule, rule.kind === 'simple' ? judged.simple : fill(judged.guard, { factor: voice.plain(rule.factor) })],
    [judged.allowed, fill(judged.allowedText, { error: voice.plain(profile.errorKpa), factors })],
    [
      judged.uncertainty,
      us.length === 0
        ? report.unknown
        : fill(judged.uncertaintyText, {
            range: rangeText([Math.min(...us), Math.max(...us)], (u) => voice.number(u, 3)),
          }),
    ],
    [
      judged.proposal,
      [
        proposedText(tongue, evaluation.proposal.decision),
        ...evaluation.proposal.because.map((each) => becauseText(tongue, voice.names, each)),
      ].join('. '),
    ],
  ]);
}

function disposition(sheet: Sheet, view: AuditView, voice: Voice): void {
  const { report } = voice;
  const { disposition: words } = report;
  sheet.section(report.sections.disposition, 70);
  if (view.decision === null) sheet.paragraph(words.none);
  else decided(sheet, view.decision, voice);
  if (view.lotNow !== null)
    sheet.paragraph(`${voice.tongue.words.lotNow.name}: ${lotNowText(view.lotNow, voice)}`, { face: 'bold' });
  for (const before of view.before)
    sheet.note(
      fill(words.before, {
        decided: decisionText(before, voice),
        time: voice.time(before.at),
        by: before.by,
        proof: report[before.proof],
        reason: before.reason,
      }),
    );
  sheet.need(34);
  sheet.space(20);
  const { left, y } = sheet;
  sheet.artifact((doc) =>
    doc
      .moveTo(left, y)
      .lineTo(left + 240, y)
      .lineWidth(0.7)
      .stroke(INKS.note),
  );
  sheet.space(2);
  sheet.note(words.line);
}

function decided(sheet: Sheet, decision: Decided, voice: Voice): void {
  const { disposition: words } = voice.report;
  const { concession } = decision;
  sheet.paragraph(fill(words.text, { decided: decisionText(decision, voice), time: voice.time(decision.at) }), {
    ...{ size: SIZES.head, face: 'bold' },
  });
  sheet.paragraph(byText(decision, voice));
  sheet.paragraph(fill(words.reason, { reason: decision.reason }));
  if (concession === null) return;
  const { reference, quantity, until } = concession;
  sheet.paragraph(
    [
      fill(words.concession, { reference }),
      ...(quantity === null ? [] : [fill(words.quantity, { quantity })]),
      ...(until === null ? [] : [fill(words.until, { until: until.slice(0, 10) })]),
    ].join(', '),
  );
}

function statements(sheet: Sheet, view: AuditView, voice: Voice): void {
  const { report } = voice;
  const { statements: words } = report;
  const { input } = view;
  sheet.section(report.sections.statements, 60);
  sheet.list([
    words.tested,
    ...(input.plan.kind === 'fixed' ? [words.process] : []),
    notJudgedText(view, voice),
    input.missing.length === 0
      ? words.noneMissing
      : fill(words.missing, { parts: input.missing.map(({ serial, reason }) => `${serial} (${reason})`).join(', ') }),
    words.opinion,
    words.whole,
    words.accreditation,
    words.later,
  ]);
}

/** Each part and condition without a verdict. Nobody may count them as good. */
function notJudgedText({ input }: AuditView, { report, tongue }: Voice): string {
  const { statements: words } = report;
  const parts = input.parts.flatMap(({ serial, results }) =>
    input.stages.flatMap((stage, k) => {
      const result = results[k] ?? null;
      if (result !== null && result.verdict !== 'none') return [];
      const reason = result?.reason ?? null;
      const says = reason === null ? report.readings.notTested : reasonText(tongue, reason);
      return [fill(words.notJudgedPart, { serial, at: atText(tongue, stage), reason: says })];
    }),
  );
  return parts.length === 0 ? words.allJudged : fill(words.notJudged, { parts: parts.join('; ') });
}

interface Kept {
  readonly what: string;
  readonly sequence: number | null;
  readonly hash: string;
}

function evidence(sheet: Sheet, view: AuditView, voice: Voice): void {
  const { report } = voice;
  const { evidence: words, columns } = report;
  const kept: Kept[] = [
    { what: fill(words.profile, { revision: view.profile.revision }), sequence: null, hash: view.profile.hash },
    ...new Map(
      [view.rig, ...view.rig.inForce].map(({ issue, hash }) => [
        hash,
        { what: fill(words.rig, { issue }), sequence: null, hash },
      ]),
    ).values(),
    { ...view.draw, what: words.draw },
    ...view.runs.map(({ load, stage, sequence, hash }) => ({
      what: fill(words.run, { load, stage: stageName(stage, voice) }),
      sequence,
      hash,
    })),
    ...(view.decision === null ? [] : [{ ...view.decision, what: words.disposition }]),
    ...(view.lotNow === null ? [] : [{ ...view.lotNow, what: voice.tongue.words.lotNow.name }]),
  ];
  sheet.section(report.sections.evidence, 60);
  sheet.note(words.note);
  table(
    sheet,
    [
      { head: columns.what, share: 27, text: ({ what }) => what },
      { head: columns.entry, share: 9, align: 'right', text: ({ sequence }) => sequence?.toString() ?? report.unknown },
      { head: columns.hash, share: 64, face: 'mono', text: ({ hash }) => hash },
    ],
    kept,
  );
}
