import * as z from 'zod';
import { QualityError } from '../../quality/errors.ts';
import { AQLS, LEVELS } from '../../quality/sampling/acceptance-table-rows.ts';
import type { Aql } from '../../quality/sampling/acceptance-table-rows.ts';
import { findPlan, recallReducedPlan } from '../../quality/sampling/acceptance-tables.ts';
import { lotSentence, processSentence } from './plan-sentence.ts';

/** The lookup in the acceptance tables, asked as `sampling` kind `lookup` and as the topic `acceptance-tables`. */
export const lookupInput = {
  lot_size: z.int().min(2).max(1_000_000_000).describe('lot size, parts'),
  level: z.enum(LEVELS).describe('inspection level; II unless something else is agreed'),
  aql: z
    .union([z.string(), z.number()])
    .describe(
      'acceptance quality limit as printed, 0.010 to 1000, such as "1.0": percent bad up to 10, faults per 100 parts at any value',
    ),
  severity: z
    .enum(['normal', 'tightened', 'reduced'])
    .default('normal')
    .describe('how strict the inspection is; reduced is answered from memory only'),
};

export const lookupAbout =
  'The single-sampling plan of MIL-STD-105E for a lot. Code letter, sample size, acceptance and rejection number, arrows followed.';

export const lookupOutputs = {
  code_letter: 'letter of the lot size and level, Table I',
  plan_letter: 'letter of the row where the plan stands, after following the arrow',
  table_n: 'sample size of that row, parts',
  n: 'parts to inspect: table_n, but no more than the lot',
  inspect_all: 'whether table_n reaches the lot size, so that every part is inspected',
  Ac: 'acceptance number: accepted with so many bad parts or fewer',
  Re: 'rejection number: refused with so many bad parts or more; between the two (reduced only) accepted, and back to normal',
  from_memory: 'whether a table cell on the way is recalled or inferred, not compared with a printed table',
  warning: 'what to do about that; null if there is nothing',
  sentence: 'the plan in one plain sentence: what it accepts at the AQL, and how bad a lot must be to be stopped',
};

export const lookupSources = [
  'MIL-STD-105E (10 May 1989, public domain), Tables I, II-A, II-B; ISO 2859-1:1989 has the same tables',
  'Table II-C (reduced) wholly, and II-B outside letters A to L and AQL 0.65 to 15: from memory',
];

export const lookupExample = { lot_size: 1000, level: 'II', aql: '1.0', severity: 'normal' };

/** The AQL of the tables that is meant by a number or a text. */
function printedAql(given: string | number): Aql {
  const found = AQLS.find((each) => each === given || Number(each) === Number(given));
  if (found === undefined) {
    throw new QualityError('no-such-plan', 'aql', `aql ${given} is not in the tables; they have ${AQLS.join(', ')}`);
  }
  return found;
}

type LookupInput = { readonly [key in keyof typeof lookupInput]: z.infer<(typeof lookupInput)[key]> };

export function lookUp({ lot_size: lot, level, aql: given, severity }: LookupInput): object {
  const aql = printedAql(given);
  const question = { lot, level, aql };
  const plan = severity === 'reduced' ? recallReducedPlan(question) : findPlan(question, severity);
  const { n, inspectAll, acceptance, rejection, fromMemory } = plan;
  // In the gap of reduced inspection the lot is still accepted.
  const accepting = { n, c: rejection - 1 };
  return {
    code_letter: plan.codeLetter,
    plan_letter: plan.planLetter,
    table_n: plan.tableN,
    n,
    inspect_all: inspectAll,
    Ac: acceptance,
    Re: rejection,
    from_memory: fromMemory,
    warning: warning(severity, fromMemory),
    sentence: sentence(accepting, inspectAll, Number(aql)),
  };
}

/** Above this an AQL counts faults in 100 parts, of which one part may have several. */
const FAULTS_ABOVE = 10;

function sentence(plan: { readonly n: number; readonly c: number }, inspectAll: boolean, aql: number): string {
  const faults = aql > FAULTS_ABOVE;
  if (inspectAll && faults) return `Every part is inspected; the lot is accepted with at most ${plan.c} faults.`;
  if (inspectAll) return lotSentence(plan, plan.n);
  return processSentence(plan, aql / 100, faults ? 'poisson' : 'binomial');
}

function warning(severity: LookupInput['severity'], fromMemory: boolean): string | null {
  if (severity === 'reduced') {
    return 'The table of reduced inspection is from memory: compare with a printed standard, accept no lot by it. ISO 2859-1:1999 has another table.';
  }
  return fromMemory ? 'This part of the table is from memory: compare with a printed standard before use.' : null;
}
