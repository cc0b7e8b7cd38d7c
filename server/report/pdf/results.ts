import { againText, cellText, errorNote, findingText, stageText } from '../../../station/words/audit-text.ts';
import { fill } from '../../../station/words/fill.ts';
import { belowText, probabilityText } from '../../../station/words/number-text.ts';
import type { AuditView } from '../../audit/contract.ts';
import type { Cell, Finding } from '../../audit/evaluation/contract.ts';
import { capabilityMark, MOST_PPK } from '../figures/capability-mark.ts';
import { serialEnd } from '../figures/drawing.ts';
import { errorOverPressure } from '../figures/error-over-pressure.ts';
import { normalPlot } from '../figures/normal-plot.ts';
import { spreadOfCell } from '../figures/spread.ts';
import { picture, printed, putPicture } from './pictures.ts';
import type { Sheet } from './sheet.ts';
import { table } from './table.ts';
import type { Column } from './table.ts';
import type { Voice } from './voice.ts';

/** What was measured, point by point, in pictures and in words. */
export function results(sheet: Sheet, view: AuditView, voice: Voice): void {
  const { report, tongue } = voice;
  const { cells, findings } = view.evaluation;
  if (cells.length === 0) {
    sheet.section(report.sections.results, 20);
    sheet.paragraph(report.results.none);
    return;
  }
  const overview = errorOverPressure(view, printed(voice, sheet.width, 210));
  sheet.section(report.sections.error, 210);
  picture(sheet, overview);
  sheet.note(errorNote(view, tongue));
  sheet.section(report.sections.findings, 20);
  sheet.list(findingTexts(findings, voice));
  cellTables(sheet, view, voice);
  weakest(sheet, view, voice);
}

/** So many readings outside are told one by one; the appendix holds them all. */
const MOST_OUTSIDE = 8;

function findingTexts(findings: readonly Finding[], voice: Voice): string[] {
  const { report, tongue } = voice;
  if (findings.length === 0) return [tongue.words.findings.none];
  const outside = findings.filter(({ code }) => code === 'part-outside');
  const untold = new Set(outside.slice(MOST_OUTSIDE));
  const told = findings.filter((finding) => !untold.has(finding));
  return [
    ...told.map((finding) => findingText(tongue, voice.names, finding)),
    ...(untold.size === 0 ? [] : [fill(report.findings.more, { readings: untold.size })]),
  ];
}

function cellTables(sheet: Sheet, view: AuditView, voice: Voice): void {
  const { report, tongue } = voice;
  sheet.section(report.sections.results, 110);
  for (const stage of view.input.stages) {
    const own = view.evaluation.cells.filter((cell) => cell.stage === stage.stage);
    if (own.length === 0) continue;
    sheet.subheading(stageText(tongue, stage), 24 + 13 * own.length);
    table(sheet, columns(sheet, view, voice), own);
  }
  const wanted = voice.plain(view.input.wantedPpk);
  sheet.note(fill(tongue.words.notes.capability, { wanted, most: MOST_PPK }));
  sheet.note(report.results.note);
  sheet.note(normalityText(view, voice));
  const { ppkToProve: needed, weakest: place } = view.evaluation;
  const cell = view.evaluation.cells.find(({ stage, step }) => stage === place?.stage && step === place.step);
  if (needed !== null && cell !== undefined)
    sheet.note(fill(report.results.bound, { wanted, n: cell.n, needed: voice.number(needed, 2) }));
}

function columns(sheet: Sheet, view: AuditView, voice: Voice): Column<Cell>[] {
  const { columns: heads } = voice.report;
  const { wantedPpk } = view.input;
  const { language } = voice.tongue;
  const ppk = ({ ppk: value }: Cell): string =>
    value !== null && value < wantedPpk ? belowText(value, wantedPpk, language) : voice.number(value, 2);
  return [
    {
      head: heads.pressure,
      share: view.input.points.some(({ again }) => again !== null) ? 15 : 9,
      align: 'right',
      text: (cell) => pressureText(cell, voice),
    },
    { head: heads.n, share: 5, align: 'right', text: ({ n }) => String(n) },
    { head: heads.mean, share: 8, align: 'right', text: ({ meanKpa }) => voice.signed(meanKpa, 3) },
    { head: heads.sd, share: 8, align: 'right', text: ({ sdKpa }) => voice.number(sdKpa, 3) },
    { head: heads.allowed, share: 10, align: 'right', text: ({ allowedKpa }) => voice.number(allowedKpa, 3) },
    { head: heads.ppk, share: 7, align: 'right', text: ppk, isStrong: (cell) => (cell.ppk ?? wantedPpk) < wantedPpk },
    { head: heads.atLeast, share: 8, align: 'right', text: ({ atLeast }) => voice.number(atLeast, 2) },
    {
      ...{ head: fill(heads.scale, { most: MOST_PPK }), share: 17, text: () => '' },
      draw: (cell, x, y, width, height) =>
        putPicture(sheet, capabilityMark({ ...cell, wantedPpk }, printed(voice, width, height)), x, y),
    },
    { head: heads.margin, share: 8, align: 'right', text: ({ margin }) => voice.number(margin, 2) },
    { head: heads.worst, share: 10, text: ({ worstSerial }) => serialEnd(worstSerial) },
    {
      ...{ head: heads.tolerance, share: 16, align: 'right' },
      text: ({ tolerance }) =>
        tolerance === null
          ? voice.report.unknown
          : `${voice.signed(tolerance.lowKpa, 2)} … ${voice.signed(tolerance.highKpa, 2)}`,
    },
  ];
}

/** The pressure of a cell, what the barometer said with its tenths, and how it was taken where only audits do. */
function pressureText(cell: Cell, voice: Voice): string {
  const named = voice.names.points.find(({ step }) => step === cell.step);
  return againText(voice.tongue, named, voice.number(cell.pointKpaAbs, 1));
}

function normalityText({ evaluation: { normality } }: AuditView, { report, tongue }: Voice): string {
  if (normality.smallest === null) return report.results.normalityNone;
  const { normal, notNormal, undecided } = report.results;
  return fill(report.results.normality, {
    tests: normality.tests,
    p: probabilityText(normality.smallest, tongue.language),
    says: normality.isNormal === null ? undecided : normality.isNormal ? normal : notNormal,
  });
}

/** The weakest cell part by part: how the parts lie, and whether a normal curve may speak for them. */
function weakest(sheet: Sheet, view: AuditView, voice: Voice): void {
  const { weakest: place } = view.evaluation;
  if (place === null) return;
  const { report, tongue } = voice;
  const half = (sheet.width - 16) / 2;
  const cell = { ...view, ...place };
  const spread = spreadOfCell(cell, printed(voice, half, HEIGHT));
  const normal = normalPlot(cell, printed(voice, half, HEIGHT));
  if (spread === null || normal === null) return;
  sheet.section(fill(report.sections.weakest, { cell: cellText(tongue, voice.names, place) }), HEIGHT + 20);
  const says = [spread, normal].map((svg) => svg.getAttribute('aria-label') ?? '').join('. ');
  sheet.figure(HEIGHT, says, (x, y) => {
    putPicture(sheet, spread, x, y);
    putPicture(sheet, normal, x + half + 16, y);
  });
  sheet.note(`${tongue.words.notes.spread} ${tongue.words.notes.normal}`);
}

const HEIGHT = 150;
