import { pointText, stageText } from '../../../station/words/audit-text.ts';
import type { AuditView } from '../../audit/contract.ts';
import type { AuditPart, AuditPoint, AuditReading, Stage } from '../../audit/evaluation/contract.ts';
import { isOutside } from '../../audit/evaluation/outside.ts';
import { verdictText } from './sample.ts';
import type { Sheet } from './sheet.ts';
import { table } from './table.ts';
import type { Column } from './table.ts';
import { rangeText } from './voice.ts';
import type { Voice } from './voice.ts';

/** So many points have room beside one another. */
const MOST_POINTS = 6;

interface Row {
  readonly part: AuditPart;
  readonly readings: ReadonlyMap<string, AuditReading>;
  readonly verdict: string;
  readonly isPass: boolean;
}

/** Every reading of every part: a table each stage, a row a part, and again for the points that have no room in one. */
export function readings(sheet: Sheet, view: AuditView, voice: Voice): void {
  const { report, tongue } = voice;
  if (view.input.readings.length === 0) return;
  sheet.section(report.sections.readings, 120);
  sheet.note(report.readings.note);
  for (const [place, stage] of view.input.stages.entries()) {
    const rows = rowsOf(view, stage, place, voice);
    for (const points of inGroups(view.input.points)) {
      sheet.subheading(stageText(tongue, stage), 60);
      table(sheet, columns(points, voice), rows);
    }
  }
}

function rowsOf({ input }: AuditView, { stage }: Stage, place: number, voice: Voice): Row[] {
  return input.parts.map((part) => {
    const own = input.readings.filter((each) => each.serial === part.serial && each.stage === stage);
    const result = part.results[place] ?? null;
    return {
      part,
      readings: new Map(own.map((reading) => [reading.step, reading])),
      verdict: verdictText(result, voice),
      isPass: result?.verdict === 'pass',
    };
  });
}

function inGroups(points: readonly AuditPoint[]): AuditPoint[][] {
  const groups = Math.ceil(points.length / MOST_POINTS);
  const size = Math.ceil(points.length / groups);
  return Array.from({ length: groups }, (_, k) => points.slice(k * size, (k + 1) * size));
}

function columns(points: readonly AuditPoint[], voice: Voice): Column<Row>[] {
  const { report, tongue } = voice;
  const { columns: heads } = report;
  const place = (value: number | null) => (value === null ? report.unknown : String(value));
  return [
    { head: heads.serial, share: 17, text: ({ part }) => part.serial },
    { head: heads.load, share: 6.4, align: 'right', text: ({ part }) => place(part.load) },
    { head: heads.nest, share: 6, align: 'right', text: ({ part }) => place(part.nest) },
    { head: heads.partC, share: 9, align: 'right', text: (row) => one(row, ({ partC }) => partC, voice, 1) },
    {
      head: heads.allowed,
      share: 10.5,
      align: 'right',
      text: (row) => one(row, ({ allowedKpa }) => allowedKpa, voice, 3),
    },
    ...points.map(
      ({ step }): Column<Row> => ({
        head: pointText(tongue, voice.names, step),
        share: 9,
        align: 'right',
        text: (row) => voice.signed(row.readings.get(step)?.errorKpa ?? null, 3),
        isStrong: (row) => {
          const reading = row.readings.get(step);
          return reading !== undefined && isOutside(reading);
        },
      }),
    ),
    {
      ...{ head: heads.uncertainty, share: 9, align: 'right' },
      text: (row) =>
        voice.number(
          largest(row, ({ uKpa }) => 2 * uKpa),
          3,
        ),
    },
    { head: heads.verdict, share: 14, text: ({ verdict }) => verdict, isStrong: ({ isPass }) => !isPass },
  ];
}

/** A value that a part has at all its points alike, or its range where it has not. */
function one(row: Row, valueOf: (reading: AuditReading) => number, voice: Voice, digits: number): string {
  const values = [...row.readings.values()].map(valueOf);
  if (values.length === 0) return voice.report.unknown;
  return rangeText([Math.min(...values), Math.max(...values)], (value) => voice.number(value, digits));
}

function largest(row: Row, valueOf: (reading: AuditReading) => number): number | null {
  const values = [...row.readings.values()].map(valueOf);
  return values.length === 0 ? null : Math.max(...values);
}
