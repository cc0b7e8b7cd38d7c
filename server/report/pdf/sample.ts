import { judgedText, planText, reasonText } from '../../../station/words/audit-text.ts';
import { fill } from '../../../station/words/fill.ts';
import { missesText } from '../../../station/words/plan-text.ts';
import type { AuditView } from '../../audit/contract.ts';
import type { AuditPart } from '../../audit/evaluation/contract.ts';
import type { Sheet } from './sheet.ts';
import { pairs, table } from './table.ts';
import type { Column } from './table.ts';
import { conditionText } from '../../../station/words/audit-text.ts';
import type { Voice } from './voice.ts';

type Drawn = AuditView['sample'][number] & { readonly order: number; readonly part: AuditPart | null };

/** Plan and draw, and every drawn part with its place and its verdicts. */
export function sample(sheet: Sheet, view: AuditView, voice: Voice): void {
  const { report } = voice;
  const { draw, input } = view;
  const { sampling } = report;
  sheet.section(report.sections.sampling, 90);
  const parts = input.parts.length + input.missing.length;
  pairs(sheet, [
    [
      sampling.plan,
      [
        planText(voice.tongue, input.plan, Math.max(parts, draw.serials.length)),
        ...(draw.severity === 'tightened' ? [voice.tongue.words.plans.tightened] : []),
      ].join(' '),
    ],
    [sampling.misses, allMissesText(view, voice)],
    [sampling.method, fill(sampling.methodText, { method: draw.method })],
    [sampling.seed, draw.seed],
    [sampling.lotSize, String(draw.lotSize)],
    [sampling.list, fill(sampling.listText, { hash: draw.lotHash })],
    [sampling.drawn, fill(sampling.drawnText, { time: voice.time(draw.at), by: draw.by })],
    [
      sampling.entry,
      [
        fill(sampling.entryText, { sequence: draw.sequence }),
        ...(draw.number > 1 ? [fill(sampling.again, { number: draw.number })] : []),
      ].join('. '),
    ],
  ]);
  sheet.section(report.sections.sample, 60);
  const places = new Map(input.parts.map((part) => [part.serial, part]));
  const drawn = view.sample.map((each, k) => ({ ...each, order: k + 1, part: places.get(each.serial) ?? null }));
  table(sheet, columns(view, voice), drawn);
  sheet.note(report.sample.note);
}

/** What the plan would miss, and what the parts that were judged do where they are fewer. */
function allMissesText({ evaluation: { misses, missesJudged } }: AuditView, { tongue }: Voice): string {
  const said = missesText(tongue, misses);
  return missesJudged === null ? said : `${said} ${judgedText(tongue, missesJudged)}`;
}

function columns(view: AuditView, voice: Voice): Column<Drawn>[] {
  const { report, tongue } = voice;
  const { columns: heads } = report;
  const place = (value: number | null) => (value === null ? report.unknown : String(value));
  return [
    { head: heads.order, share: 4, align: 'right', text: ({ order }) => String(order) },
    { head: heads.serial, share: 17, text: ({ serial }) => serial },
    { head: heads.state, share: 16, text: (drawn) => stateText(drawn, voice) },
    { head: heads.load, share: 6.4, align: 'right', text: ({ load }) => place(load) },
    { head: heads.nest, share: 6, align: 'right', text: ({ nest }) => place(nest) },
    ...view.input.stages.map(
      (stage, k): Column<Drawn> => ({
        head: conditionText(tongue, stage),
        share: 13,
        text: ({ part }) => verdictText(part?.results[k] ?? null, voice),
        isStrong: ({ part }) => part?.results[k]?.verdict !== 'pass',
      }),
    ),
  ];
}

function stateText({ state, reason }: Drawn, { report, tongue }: Voice): string {
  if (state === 'missing' && reason !== null) return fill(report.sample.missing, { reason });
  return tongue.words.parts[state];
}

/** A verdict with its reason. */
export function verdictText(result: AuditPart['results'][number], { report, tongue }: Voice): string {
  if (result === null) return report.readings.notTested;
  const verdict = report.verdicts[result.verdict];
  return result.reason === null ? verdict : `${verdict}: ${reasonText(tongue, result.reason)}`;
}
