import { stageText } from '../../../station/words/audit-text.ts';
import { pointText } from '../../../station/words/audit-text.ts';
import { fill } from '../../../station/words/fill.ts';
import type { AuditView } from '../../audit/contract.ts';
import type { Drift } from '../../audit/evaluation/contract.ts';
import { driftByStage } from '../figures/drift.ts';
import { lineAgainstLab } from '../figures/line-against-lab.ts';
import { trendOfAudits } from '../figures/trend.ts';
import { picture, printed } from './pictures.ts';
import type { Sheet } from './sheet.ts';
import { table } from './table.ts';
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
  const { columns } = report;
  const svg = driftByStage(view, printed(voice, sheet.width, HEIGHT + 12));
  if (svg === null) return;
  sheet.section(report.sections.drift, HEIGHT + 32);
  picture(sheet, svg);
  sheet.note(tongue.words.notes.drift);
  const stage = (drifted: Drift) => {
    const named = voice.names.stages.find((each) => each.stage === drifted.stage);
    return named === undefined ? '' : stageText(tongue, named);
  };
  table(
    sheet,
    [
      { head: columns.condition, share: 24, text: stage },
      { head: columns.pressure, share: 14, align: 'right', text: ({ step }) => pointText(tongue, voice.names, step) },
      { head: columns.n, share: 8, align: 'right', text: ({ n }) => String(n) },
      { head: columns.change, share: 14, align: 'right', text: ({ meanKpa }) => voice.signed(meanKpa, 3) },
      { head: columns.sd, share: 14, align: 'right', text: ({ sdKpa }) => voice.number(sdKpa, 3) },
    ],
    view.evaluation.drifts,
  );
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
