import type { Judgement } from '../../station/cycle/judge.ts';
import type { CycleRecord, Measurement } from '../../station/cycle/record.ts';
import type { NestResult } from '../../station/cycle/result.ts';
import type { Plan } from '../../station/profile/plan.ts';
import type { Catalogue } from '../../station/words/catalogue.ts';
import { toleranceBar } from './bar.ts';
import { aligned, digitsFor, fixed, plain, unitText } from './number.ts';
import { factText, whyText } from './reason-text.ts';

/** A cycle for a person to read: what became of each part and why, every reading in its tolerance, the sums, the times. */
export function account(record: CycleRecord, plan: Plan, words: Catalogue, options: { sums: boolean }): string {
  const { measurement, circumstances } = record;
  const lines = [
    ...heading(record, plan),
    '',
    ...(measurement.results.length === 0 ? ['No part was loaded: nothing was judged.', ''] : []),
    ...measurement.results.flatMap((result) => [...verdictLines(result, measurement, words), '']),
    ...emptyLines(measurement.load),
    ...faultLines(measurement, words),
    ...measurement.results.flatMap((result) => nestLines(result, measurement, words, options.sums)),
    ...(measurement.phases.length === 0 ? [] : [timesLine(measurement)]),
    ventedLine(measurement),
    `Judged by ${ruleText(plan)}; the bars show the limits, // what the rule takes off, | the reading, - its U (k = 2).`,
  ];
  if (circumstances.seed !== null)
    lines.push(`Simulated, seed ${circumstances.seed}: the same seed gives the same measurement.`);
  return lines.join('\n');
}

/** "Vented" is said of a measurement only: a cycle that was refused before it began has none. */
function ventedLine({ phases, vented }: Measurement): string {
  if (phases.length === 0) return 'Refused before anything moved: no pressure was put on, none was measured.';
  return vented
    ? 'Vented: every nest was measured at ambient.'
    : 'PRESSURE NOT KNOWN: the nests were not measured as vented. Keep the guard shut.';
}

function heading({ circumstances }: CycleRecord, plan: Plan): string[] {
  const { content, revision, hash } = plan.profile;
  const room = circumstances.roomC === null ? '' : `, room ${fixed(circumstances.roomC, 1)} °C`;
  const barometer =
    circumstances.barometerKpaAbs === null ? '' : `, barometer ${fixed(circumstances.barometerKpaAbs, 2)} kPa abs`;
  return [
    ...(circumstances.origin === 'simulated' ? ['SIMULATED RIG: no real part was tested', ''] : []),
    `${content.partNumber}  ${content.title}`,
    `Profile revision ${revision} (${hash.slice(0, 8)}), ${plan.kind} cycle at ${plan.condition}, station ${circumstances.station}, lot ${circumstances.lot}${barometer}${room}`,
  ];
}

function verdictLines(result: NestResult, measurement: Measurement, words: Catalogue): string[] {
  const head = `Nest ${result.nest + 1}  ${result.serial}  ${words.verdicts[result.verdict].toUpperCase()}`;
  const why = result.why[0];
  if (why === undefined) {
    const own = measurement.judgements.filter(({ nest }) => nest === result.nest);
    const closest = own.filter(isSpecified).reduce((a, b) => (b.margin < a.margin ? b : a));
    return [
      head,
      `  All ${own.length} readings inside; closest: ${nameOf(closest, words)}, margin ${fixed(closest.margin, 2)}`,
      `  ${words.passNext}.`,
    ];
  }
  if (why.by === 'station') return [head];
  const { says, next } = whyText(why, words);
  const more = result.why.slice(1).flatMap((each) => (each.by === 'part' ? [words.reasons[each.code].says] : []));
  return [head, `  ${says}${more.length === 0 ? '' : `; also: ${more.join(', ')}`}`, `  ${next}.`];
}

function emptyLines(load: Measurement['load']): string[] {
  const empty = load.flatMap((serial, nest) => (serial === null ? [`${nest + 1}`] : []));
  if (empty.length === 0) return [];
  return [`Nest${empty.length === 1 ? '' : 's'} ${empty.join(', ')}: empty, no part was to be tested there.`, ''];
}

/** The plausibility before the fill has no specification behind it and is never the closest reading. */
const isSpecified = ({ step }: Judgement): boolean => step !== 'ambient-check';

function nestLines({ nest, why }: NestResult, measurement: Measurement, words: Catalogue, sums: boolean): string[] {
  const decided = why[0]?.facts['step'];
  const own = measurement.judgements.filter((judgement) => judgement.nest === nest);
  if (own.length === 0) return [];
  return [
    [
      `Nest ${nest + 1}`.padEnd(57),
      'reading'.padStart(7),
      '± U'.padStart(12),
      '   unit'.padEnd(16),
      'allowed'.padEnd(20),
      'margin',
    ].join(''),
    ...own.flatMap((judgement) => [
      readingLine(judgement, words),
      ...(sums || (judgement.verdict === 'fail' && judgement.step === decided) ? sumLines(judgement) : []),
    ]),
    '',
  ];
}

function readingLine(judgement: Judgement, words: Catalogue): string {
  const { value, u, unit, low, high, margin, verdict, inGuardBand } = judgement;
  const digits = Math.min(5, digitsFor(u));
  const most = Math.min(digits, digitsFor(Math.abs((high ?? 0) - (low ?? 0)) / 100));
  const allowed = low === null ? `at most ${plain(high ?? 0)}` : `${fixed(low, most)} to ${fixed(high ?? 0, most)}`;
  return [
    `  ${nameOf(judgement, words)}`.padEnd(20),
    toleranceBar(judgement),
    aligned(value, digits, 7, 5),
    aligned(2 * u, digits, 5, 5),
    ` ${unitText(unit)}`.padEnd(14),
    allowed.padEnd(20),
    fixed(margin, 2).padStart(6),
    verdict === 'pass' ? '' : inGuardBand ? '  FAIL, in guard band' : '  FAIL',
  ].join('');
}

/** The sum behind one judgement. */
function sumLines(judgement: Judgement): string[] {
  const { guard, rule, u, unit, low, high } = judgement;
  const accepts = [low === null ? null : low + guard, high === null ? null : high - guard];
  const [least, most] = accepts;
  const rules =
    rule.kind === 'guard-band'
      ? `${rule.factor} u = ${plain(guard)} ${unitText(unit)} off each limit`
      : 'limits as they stand';
  return [
    ...judgement.arithmetic.map(
      ([term, value, of]) => `      ${term.padEnd(30)}${plain(value).padStart(12)} ${unitText(of)}`,
    ),
    `      ${'u of the reading'.padEnd(30)}${plain(u).padStart(12)} ${unitText(unit)}`,
    `      accepted: ${least === null || least === undefined ? '' : `from ${plain(least)} `}to ${plain(most ?? 0)} ${unitText(unit)} (${rules})`,
  ];
}

/** A reading's name as the operator knows it. */
function nameOf({ quantity, step }: Pick<Judgement, 'quantity' | 'step'>, words: Catalogue): string {
  return words.quantities[step === 'ambient-check' ? step : quantity].replace('{step}', step);
}

function faultLines(measurement: Measurement, words: Catalogue): string[] {
  return measurement.faults.flatMap((fault) => {
    const { says, next } = words.faults[fault.code];
    const where = fault.nest === null ? '' : ` at nest ${fault.nest + 1}`;
    return [`Station: ${says}${where}, in ${fault.phase}${factText(fault.facts)}`, `  ${next}.`, ''];
  });
}

function timesLine({ phases }: Measurement): string {
  const seconds = (ms: number): string => `${fixed(ms / 1000, 2)} s`;
  const total = phases.reduce((sum, { fromMs, toMs }) => sum + toMs - fromMs, 0);
  return `Time: ${phases.map(({ phase, fromMs, toMs }) => `${phase} ${seconds(toMs - fromMs)}`).join(', ')}; in all ${seconds(total)} to the verdict.`;
}

const ruleText = ({ rule, kind }: Plan): string =>
  rule.kind === 'guard-band'
    ? `the ${kind} rule: limits less ${rule.factor} u (JCGM 106)`
    : `the ${kind} rule: limits as they stand`;
