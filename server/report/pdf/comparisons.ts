import { driftHeading, pointText } from '../../../station/words/audit-text.ts';
import { fill } from '../../../station/words/fill.ts';
import type { AuditView } from '../../audit/contract.ts';
import type { Drift, Stage } from '../../audit/evaluation/contract.ts';
import { serialEnd } from '../figures/drawing.ts';
import { driftByStage } from '../figures/drift.ts';
import { lineAgainstLab } from '../figures/line-against-lab.ts';
import { trendOfAudits } from '../figures/trend.ts';
import { picture, printed } from './pictures.ts';
import type { Sheet } from './sheet.ts';
import { table } from './table.ts';
import type { Column } from './table.ts';
import type { Voice } from './voice.ts';

const HEIGHT = 118;

/** The line against the lab, one condition against another, this lot against the ones before. */
export function comparisons(sheet: Sheet, view: AuditView, voice: Voice): void {
  drift(sheet, view, voice);
  against(sheet, view, voice);
  trend(sheet, view, voice);
}

function drift(sheet: Sheet, view: AuditView, voice: Voice): void {
  const { report, tongue } = voice;
  const svg = driftByStage(view, printed(voice, sheet.width, HEIGHT + 12));
  if (svg === null) return;
  sheet.section(report.sections.drift, HEIGHT + 32);
  picture(sheet, svg);
  sheet.note(tongue.words.notes.drift);
  for (const stage of view.input.stages) {
    const own = view.evaluation.drifts.filter((drifted) => drifted.stage === stage.stage);
    if (own.length === 0) continue;
    sheet.subheading(driftHeading(tongue, view.input.stages, stage), 24 + 13 * own.length);
    table(sheet, driftColumns(stage, voice), own);
  }
  sheet.note(tongue.words.drift.note);
}

function driftColumns({ condition }: Stage, voice: Voice): Column<Drift>[] {
  const { drift: heads } = voice.tongue.words;
  const range = ({ bounds }: Drift): string =>
    bounds === null ? voice.report.unknown : `${voice.signed(bounds.lowKpa, 3)} … ${voice.signed(bounds.highKpa, 3)}`;
  return [
    {
      ...{ head: heads.point, share: 12, align: 'right' },
      text: ({ step }) => pointText(voice.tongue, voice.names, step),
    },
    { head: heads.n, share: 6, align: 'right', text: ({ n }) => String(n) },
    { head: heads.mean, share: 13, align: 'right', text: ({ meanKpa }) => voice.signed(meanKpa, 3) },
    { head: heads.bounds, share: 20, align: 'right', text: range },
    { head: heads.sd, share: 14, align: 'right', text: ({ sdKpa }) => voice.number(sdKpa, 3) },
    {
      ...{ head: heads.largest, share: 22, align: 'right' },
      text: ({ largest }) => `${voice.signed(largest.kPa, 3)} ${serialEnd(largest.serial)}`,
    },
    {
      ...{ head: heads.added, share: 17, align: 'right' },
      text: ({ addedKpa }) => voice.number(condition === 'ambient' ? null : addedKpa, 3),
    },
  ];
}

function against(sheet: Sheet, view: AuditView, voice: Voice): void {
  const { lineAgainstLab: data } = view.evaluation;
  if (data === null) return;
  const { report, tongue } = voice;
  sheet.section(report.sections.against, HEIGHT + 40);
  const says = fill(report.against.note, { parts: data.parts, bias: voice.signed(data.biasKpa, 2) });
  const limits =
    data.lowKpa === null || data.highKpa === null
      ? ''
      : ` ${fill(report.against.limits, { low: voice.signed(data.lowKpa, 2), high: voice.signed(data.highKpa, 2) })}`;
  sheet.paragraph(`${says}${limits}`);
  picture(sheet, lineAgainstLab(data, printed(voice, sheet.width * 0.75, HEIGHT)));
  sheet.note(tongue.words.notes.agreement);
}

function trend(sheet: Sheet, view: AuditView, voice: Voice): void {
  const { report, tongue } = voice;
  const { wantedPpk } = view.input;
  if (view.trend.length < 2) return;
  sheet.section(report.sections.trend, HEIGHT + 20);
  picture(sheet, trendOfAudits({ trend: view.trend, wantedPpk }, printed(voice, sheet.width * 0.75, HEIGHT)));
  sheet.note(fill(tongue.words.notes.trend, { wanted: voice.plain(wantedPpk) }));
}
