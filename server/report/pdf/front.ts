import { fourAnswers } from '../../../station/words/audit-answers.ts';
import type { Answer, FourAnswers, Standing } from '../../../station/words/audit-answers.ts';
import { fill } from '../../../station/words/fill.ts';
import type { AuditView, Decided, RigInForce } from '../../audit/contract.ts';
import { INKS, SIZES } from './sheet.ts';
import type { Sheet, TextStyle } from './sheet.ts';
import { pairs } from './table.ts';
import type { Voice } from './voice.ts';

/** Title, what was audited, the four answers and the disposition: what a reader needs before anything else. */
export function front(sheet: Sheet, view: AuditView, voice: Voice): void {
  const { report } = voice;
  sheet.title(report.title);
  sheet.paragraph(fill(report.which, { partNumber: view.partNumber, lot: view.lot, title: view.title }), {
    size: 10,
    ink: INKS.label,
  });
  if (view.phase === 'abandoned') sheet.paragraph(report.abandoned, { face: 'bold' });
  else if (view.decision === null) sheet.paragraph(report.notDecided, { face: 'bold' });
  sheet.space(4);
  answers(sheet, view, voice);
  pairs(sheet, identity(view, voice));
}

function identity(view: AuditView, voice: Voice): [string, string][] {
  const { report } = voice;
  const { identity: names } = report;
  const first = view.runs.reduce<string | null>(
    (at, run) => (at === null || run.openedAt < at ? run.openedAt : at),
    null,
  );
  const last = view.runs.reduce<string | null>(
    (at, run) => (at === null || run.closedAt > at ? run.closedAt : at),
    null,
  );
  return [
    [names.plant, view.plant],
    [names.part, `${view.partNumber}, ${view.pressureClass}: ${view.title}`],
    [names.lot, fill(names.lotText, { lot: view.lot, parts: view.draw.lotSize })],
    [names.audit, view.audit],
    [names.drawn, voice.time(view.drawnAt)],
    ...(first === null || last === null
      ? []
      : [
          [names.tested, fill(names.testedText, { from: voice.time(first), to: voice.time(last) })] as [string, string],
        ]),
    [names.decided, view.decision === null ? report.notYet : decidedText(view.decision, voice)],
    ...(view.lotNow === null
      ? []
      : [[voice.tongue.words.lotNow.name, lotNowText(view.lotNow, voice)] as [string, string]]),
    [names.profile, fill(names.profileText, { revision: view.profile.revision, document: view.profile.document })],
    [names.station, fill(names.stationText, { station: view.station, issue: issuesText(view), nests: view.nests })],
    [names.calibration, calibrationText(view, voice)],
    [names.origin, view.origin === 'real' ? names.real : names.simulated],
    [names.program, view.program],
  ];
}

/** The rig's issue, or those that the tests were run on, where it was changed between them. */
const issuesText = ({ rig }: AuditView): string =>
  [...new Set(rig.inForce.length === 0 ? [rig.issue] : rig.inForce.map(({ issue }) => issue))].join(', ');

/** What the calibration in force rests on; where it was changed between two tests, each with the tests that it held for. */
function calibrationText({ rig }: AuditView, voice: Voice): string {
  const { identity: names } = voice.report;
  const evidenceOf = ({ calibration }: RigInForce): string => calibration?.evidence ?? names.noCalibration;
  const runs = rig.inForce.reduce<RigInForce[]>((before, each) => {
    const last = before.at(-1);
    if (last?.calibration?.sequence !== each.calibration?.sequence || last === undefined) return [...before, each];
    return [...before.slice(0, -1), { ...last, tests: last.tests + each.tests, to: each.to }];
  }, []);
  const [only, ...others] = runs;
  if (only === undefined) return rig.calibration === '' ? names.noCalibration : rig.calibration;
  if (others.length === 0) return evidenceOf(only);
  return runs
    .map((run) =>
      fill(names.calibrationText, {
        ...{ evidence: evidenceOf(run), tests: run.tests },
        ...{ from: voice.time(run.from), to: voice.time(run.to) },
      }),
    )
    .join('; ');
}

/** What was decided, when, by whom, and how the name is known. */
function decidedText(decided: Decided, voice: Voice): string {
  const { disposition } = voice.report;
  const what = fill(disposition.text, { decided: decisionText(decided, voice), time: voice.time(decided.at) });
  return `${what}; ${byText(decided, voice)}`;
}

/** How the lot stands by a decision that does not rest on this audit. */
export function lotNowText(now: Decided, voice: Voice): string {
  const { by, reason, sequence } = now;
  const facts = { decided: decisionText(now, voice), time: voice.time(now.at), by, reason, sequence };
  return fill(voice.tongue.words.lotNow.text, facts);
}

export function decisionText({ decision, concession }: Decided, { tongue: { words } }: Voice): string {
  return concession === null ? words.decided[decision] : words.acceptedUnderConcession;
}

export const byText = ({ by, role, proof }: Decided, { report }: Voice): string =>
  fill(report.disposition.by, { by, role, proof: report[proof] });

/** The four answers in one frame: the first over the whole width, the others beside one another below it. */
function answers(sheet: Sheet, view: AuditView, voice: Voice): void {
  const four = answersOf(view, voice);
  const pad = 9;
  const third = (sheet.width - 2 * pad) / 3;
  const rest = [four.weakest, four.capable, four.sure];
  const top = answerHeight(sheet, four.good, sheet.width - 2 * pad - MARK, SIZES.answer + 3);
  const below = Math.max(...rest.map((answer) => answerHeight(sheet, answer, third - pad, 9.8)));
  const height = top + below + 4 * pad;
  sheet.need(height);
  const { left, y, width } = sheet;
  sheet.artifact((doc) => {
    doc.rect(left, y, width, height).lineWidth(1.4).stroke(INKS.ink);
    doc
      .rect(left, y, width, top + 2 * pad)
      .lineWidth(1.4)
      .fillAndStroke(INKS.shade, INKS.ink);
  });
  sheet.artifact((doc) => mark(doc, four.standing, left + pad, y + pad + top / 2));
  one(sheet, four.good, left + pad + MARK, y + pad, sheet.width - 2 * pad - MARK, SIZES.answer + 3);
  for (const [k, answer] of rest.entries())
    one(sheet, answer, left + pad + k * third, y + top + 3 * pad, third - pad, 9.8);
  sheet.y += height + 10;
}

function answersOf(view: AuditView, voice: Voice): FourAnswers {
  return fourAnswers(voice.tongue, {
    ...voice.names,
    ...view.evaluation,
    parts: view.input.parts.length,
    missing: view.input.missing.length,
    wantedPpk: view.input.wantedPpk,
  });
}

function styles(size: number): [TextStyle, TextStyle, TextStyle] {
  return [
    { size: SIZES.note, ink: INKS.note },
    { size, face: 'bold' },
    { size: SIZES.note, ink: INKS.label },
  ];
}

const textsOf = ({ question, says, note }: Answer) => [question, says, note] as const;

function answerHeight(sheet: Sheet, answer: Answer, width: number, size: number): number {
  const look = styles(size);
  return textsOf(answer).reduce((sum, text, k) => sum + sheet.heightOf(text === '' ? ' ' : text, width, look[k]), 0);
}

function one(sheet: Sheet, answer: Answer, x: number, y: number, width: number, size: number): void {
  const look = styles(size);
  let at = y;
  sheet.tagged('P', () => {
    for (const [k, text] of textsOf(answer).entries()) {
      if (text !== '') sheet.text(text, x, at, width, look[k]);
      at += sheet.heightOf(text === '' ? ' ' : text, width, look[k]);
    }
  });
}

/** Room for the mark beside the first answer. */
const MARK = 52;

/** The verdict's mark: a block between two posts; near a post where it is not shown good; beyond it where a part is bad. */
function mark(doc: PDFKit.PDFDocument, standing: Standing, x: number, middle: number): void {
  const posts = [x + 6, x + 28] as const;
  const place = { good: 17, weak: 24, bad: 36, open: null }[standing];
  doc.lineWidth(2.2).strokeColor(INKS.ink);
  for (const post of posts) doc.moveTo(post, middle - 11).lineTo(post, middle + 11);
  doc.stroke();
  if (place !== null) doc.rect(x + place - 3.5, middle - 7, 7, 14).fill(INKS.ink);
}
