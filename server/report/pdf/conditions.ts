import { AIR_WITHIN_K, CORE_WITHIN_K } from '../../../station/soak/core-observer.ts';
import { leftOutText, reasonText, stageText } from '../../../station/words/audit-text.ts';
import { fill } from '../../../station/words/fill.ts';
import type { AuditView, StageRun } from '../../audit/contract.ts';
import type { Sheet } from './sheet.ts';
import { table } from './table.ts';
import type { Column } from './table.ts';
import { rangeText } from './voice.ts';
import type { Voice } from './voice.ts';

const MINUTE_MS = 60_000;

/** Each load at each condition: the proof that its parts were at temperature, and what came between. */
export function conditions(sheet: Sheet, view: AuditView, voice: Voice): void {
  const { report, tongue } = voice;
  const { conditions: words } = report;
  sheet.section(report.sections.conditions, 70);
  const leftOut = leftOutText(tongue, view.draw.leftOut);
  if (leftOut !== null) sheet.paragraph(leftOut);
  if (view.runs.length === 0) sheet.paragraph(words.none);
  else {
    table(sheet, columns(voice), view.runs);
    sheet.note(soakNote(view.runs, voice));
  }
  for (const { cycle, faults } of view.runs.filter((run) => run.faults.length > 0))
    sheet.paragraph(fill(words.faults, { cycle, faults: faults.map((code) => reasonText(tongue, code)).join(', ') }));
  sheet.subheading(words.interruptions, 16);
  if (view.interruptions.length === 0) sheet.paragraph(words.noInterruptions);
  else
    sheet.list(
      view.interruptions.map(({ at, load, stage, what }) =>
        fill(words.interruption, {
          time: voice.shortTime(at),
          load,
          stage: stageName(stage, voice),
          what: reasonText(tongue, what),
        }),
      ),
    );
}

function columns(voice: Voice): Column<StageRun>[] {
  const { columns: heads } = voice.report;
  const range = (low: number | null, high: number | null) =>
    low === null || high === null ? voice.report.unknown : rangeText([low, high], (value) => voice.signed(value, 1));
  return [
    { head: heads.load, share: 6.4, align: 'right', text: ({ load }) => String(load) },
    { head: heads.condition, share: 21, text: ({ stage }) => stageName(stage, voice) },
    { head: heads.opened, share: 18, text: ({ openedAt }) => voice.shortTime(openedAt) },
    { head: heads.took, share: 8, align: 'right', text: ({ soak }) => minutes(soak, voice) },
    { head: heads.air, share: 9, align: 'right', text: ({ soak }) => voice.signed(soak?.airC ?? null, 1) },
    {
      ...{ head: heads.core, share: 17, align: 'right' },
      text: ({ soak }) => range(soak?.coreLowC ?? null, soak?.coreHighC ?? null),
    },
    { head: heads.part, share: 17, align: 'right', text: ({ partLowC, partHighC }) => range(partLowC, partHighC) },
    { head: heads.entry, share: 8, align: 'right', text: ({ sequence }) => String(sequence) },
  ];
}

const minutes = (soak: StageRun['soak'], voice: Voice): string =>
  voice.number(soak === null ? null : soak.tookMs / MINUTE_MS, 1);

/** A stage by its number; one that is in no stage of the audit stays a number. */
export function stageName(stage: number, { tongue, names }: Voice): string {
  const named = names.stages.find((each) => each.stage === stage);
  return named === undefined ? String(stage) : stageText(tongue, named);
}

function soakNote(runs: readonly StageRun[], voice: Voice): string {
  const { conditions: words } = voice.report;
  const lags = runs.find(({ soak }) => soak !== null)?.soak?.lags;
  if (lags === undefined) return words.noChamber;
  return fill(words.note, {
    ...{ shell: voice.plain(lags.shellS), core: voice.plain(lags.coreS) },
    ...{ air: voice.plain(AIR_WITHIN_K), parts: voice.plain(CORE_WITHIN_K) },
  });
}
