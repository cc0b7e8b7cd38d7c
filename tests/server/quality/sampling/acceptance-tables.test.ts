import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { acceptanceTablesTopic } from '../../../../server/cli/calc/acceptance-tables.ts';
import { answer } from '../../../../server/cli/calc/answer.ts';
import { samplingTopic } from '../../../../server/cli/calc/sampling.ts';
import {
  AQLS,
  CODE_LETTERS,
  LEVELS,
  MASTER_TABLES,
} from '../../../../server/quality/sampling/acceptance-table-rows.ts';
import type { Aql, InspectionLevel, Severity } from '../../../../server/quality/sampling/acceptance-table-rows.ts';
import {
  acceptanceOneStepTighter,
  codeLetter,
  findPlan,
  recallReducedPlan,
  tightenedPlan,
} from '../../../../server/quality/sampling/acceptance-tables.ts';
import type { PlanQuestion } from '../../../../server/quality/sampling/acceptance-tables.ts';
import { compareCase, qualityCases } from '../../../support/quality-cases.ts';

type PublishedCell = 'down' | 'up' | { readonly Ac: number; readonly Re: number };

interface Published {
  readonly aql: readonly string[];
  readonly levels: readonly string[];
  readonly code_letters: readonly Readonly<Record<string, string | number | null>>[];
  readonly sample_size: Readonly<Record<Severity, Readonly<Record<string, number>>>>;
  readonly tables: Readonly<Record<Severity, Readonly<Record<string, Readonly<Record<string, PublishedCell>>>>>>;
}

const published = JSON.parse(
  readFileSync(join(import.meta.dirname, '../../../reference/quality/acceptance-tables.json'), 'utf8'),
) as Published;
const SEVERITIES: readonly Severity[] = ['normal', 'tightened', 'reduced'];

describe('MIL-STD-105E as transcribed outside the project', () => {
  test('Table I, code letters', () => {
    expect(AQLS).toEqual(published.aql);
    expect(LEVELS).toEqual(published.levels);
    const rows = published.code_letters.map((row) => [
      row['lot_max'] ?? Number.POSITIVE_INFINITY,
      LEVELS.map((level) => row[level]).join(' '),
    ]);
    expect(CODE_LETTERS).toEqual(rows);
    // Each row begins one above the last of the row before.
    const begins = [2, ...CODE_LETTERS.slice(0, -1).map(([largest]) => largest + 1)];
    expect(published.code_letters.map((row) => row['lot_min'])).toEqual(begins);
  });

  test.each(SEVERITIES)('master table of %s inspection, every cell', (severity) => {
    const written = ([letter, row]: [string, Readonly<Record<string, PublishedCell>>]): [string, [number, string]] => {
      const cells = AQLS.map((aql) => {
        const cell = row[aql]!;
        if (cell === 'down') return 'v';
        if (cell === 'up') return '^';
        return severity === 'reduced' ? `${cell.Ac}/${cell.Re}` : String(cell.Ac);
      });
      return [letter, [published.sample_size[severity][letter]!, cells.join(' ')]];
    };
    expect(MASTER_TABLES[severity]).toEqual(
      Object.fromEntries(Object.entries(published.tables[severity]).map(written)),
    );
  });

  test('Re is Ac + 1 in II-A and II-B', () => {
    for (const severity of ['normal', 'tightened'] as const) {
      for (const row of Object.values(published.tables[severity])) {
        for (const cell of Object.values(row)) if (typeof cell === 'object') expect(cell.Re).toBe(cell.Ac + 1);
      }
    }
  });

  test('its lookups, asked by either topic', () => {
    for (const given of qualityCases('acceptance-tables')) {
      expect(compareCase(acceptanceTablesTopic, given).misses).toEqual([]);
      const asked = { ...given, input: { kind: 'lookup', ...given.input } };
      expect(compareCase(samplingTopic, asked).misses).toEqual([]);
    }
  });
});

test.each([
  // Published operating characteristic figure for ISO 2859-1:1999, lots of 35 001 to 500 000, article 22583454.
  ['0.65', 'S-4', 80, 1],
  ['0.65', 'S-3', 20, 0],
  ['0.40', 'S-4', 125, 1],
  ['0.40', 'S-3', 32, 0],
  ['0.25', 'S-4', 50, 0],
  ['0.15', 'S-4', 80, 0],
] as const)('ISO 2859-1:1999, AQL %s at level %s: %d parts, accepted with %d', (aql, level, n, acceptance) => {
  for (const lot of [35_001, 150_000, 150_001, 500_000]) {
    expect(findPlan({ lot, level, aql }, 'normal')).toMatchObject({ n, acceptance, rejection: acceptance + 1 });
  }
});

test.each([
  [2, 'A'],
  [8, 'A'],
  [9, 'B'],
  [150, 'F'],
  [151, 'G'],
  [280, 'G'],
  [281, 'H'],
  [500, 'H'],
  [501, 'J'],
  [1200, 'J'],
  [1201, 'K'],
  [3200, 'K'],
  [3201, 'L'],
  [10_000, 'L'],
  [10_001, 'M'],
  [35_000, 'M'],
  [500_000, 'P'],
  [500_001, 'Q'],
  [1_000_000_000, 'Q'],
])('a lot of %d has letter %s at level II (Table I; the ends of its rows)', (lot, letter) => {
  expect(codeLetter(lot, 'II')).toBe(letter);
});

const questions: fc.Arbitrary<PlanQuestion> = fc.record({
  lot: fc.oneof(fc.integer({ min: 2, max: 1000 }), fc.integer({ min: 2, max: 1_000_000 })),
  level: fc.constantFrom(...LEVELS),
  aql: fc.constantFrom(...AQLS),
});
const inUse = fc.constantFrom('normal' as const, 'tightened' as const);

describe('every lot, level and AQL', () => {
  test('ends at a plan, whatever the severity', () => {
    for (const level of LEVELS) {
      for (const aql of AQLS) {
        for (const [largest] of CODE_LETTERS) {
          const question = { lot: Math.min(largest, 1e9), level, aql };
          for (const plan of [
            findPlan(question, 'normal'),
            findPlan(question, 'tightened'),
            recallReducedPlan(question),
          ]) {
            expect(plan.tableN).toBeGreaterThan(0);
            expect(plan.rejection).toBeGreaterThan(plan.acceptance);
          }
        }
      }
    }
  });

  test('inspects no more than the lot, and all of it just when the table asks for as much', () => {
    fc.assert(
      fc.property(questions, inUse, (question, severity) => {
        const { n, tableN, inspectAll } = findPlan(question, severity);
        expect(n).toBe(Math.min(tableN, question.lot));
        expect(inspectAll).toBe(tableN >= question.lot);
      }),
    );
  });

  test('tightened inspection is never looser: no more bad accepted in proportion to the sample', () => {
    fc.assert(
      fc.property(questions, (question) => {
        const normal = findPlan(question, 'normal');
        const tightened = findPlan(question, 'tightened');
        expect(tightened.acceptance / tightened.tableN).toBeLessThanOrEqual(normal.acceptance / normal.tableN);
      }),
    );
  });
});

describe('what is from memory is marked', () => {
  const plan = (lot: number, aql: Aql, severity: Severity, level: InspectionLevel = 'II'): boolean =>
    findPlan({ lot, level, aql }, severity).fromMemory;

  test.each([
    ['normal J 1.0', plan(1000, '1.0', 'normal'), false],
    ['normal, the inferred arrow of A at 10', plan(5, '10', 'normal'), true],
    ['normal, the inferred arrow of R at 0.015', plan(600_000, '0.015', 'normal', 'III'), true],
    ['tightened J 1.0, compared with a printed table', plan(1000, '1.0', 'tightened'), false],
    ['tightened J 0.40, outside the compared columns', plan(1000, '0.40', 'tightened'), true],
    ['tightened M 1.0, outside the compared rows', plan(20_000, '1.0', 'tightened'), true],
    ['tightened A 10', plan(5, '10', 'tightened'), true],
    ['tightened R 0.015, the inferred arrow', plan(600_000, '0.015', 'tightened', 'III'), true],
    ['tightened R 0.025, which ends in row S', plan(600_000, '0.025', 'tightened', 'III'), true],
  ])('%s', (_cell, fromMemory, expected) => {
    expect(fromMemory).toBe(expected);
  });

  test('reduced inspection is refused as a plan and recalled only with a warning', () => {
    const question: PlanQuestion = { lot: 300, level: 'II', aql: '1.5' };
    expect(() => findPlan(question, 'reduced')).toThrow(
      expect.objectContaining({ name: 'QualityError', code: 'no-such-plan', key: 'severity' }),
    );
    expect(recallReducedPlan(question).fromMemory).toBe(true);
    const given = { lot_size: 300, level: 'II', aql: '1.5', severity: 'reduced' };
    expect(answer(acceptanceTablesTopic, given)).toMatchObject({
      result: { from_memory: true, warning: expect.stringContaining('from memory') as unknown },
    });
    expect(answer(acceptanceTablesTopic, { ...given, severity: 'normal' })).toMatchObject({
      result: { from_memory: false, warning: null },
    });
  });
});

test.each([
  ['J', '1.0', 1],
  ['J', '1.5', 2],
  ['J', '2.5', 3],
  ['J', '15', 14],
  ['J', '0.65', null],
  ['A', '1000', 21],
  ['Q', '0.010', null],
  ['Z', '1.0', null],
] as const)('letter %s, AQL %s: the same sample one AQL tighter accepts with %s', (letter, aql, acceptance) => {
  expect(acceptanceOneStepTighter(letter, aql)).toBe(acceptance);
});

test.each([
  ['a lot of 1 part, outside Table I', { lot: 1 }, 'out-of-range', 'lot'],
  ['an empty lot', { lot: 0 }, 'out-of-range', 'lot'],
  ['half a part', { lot: 2.5 }, 'not-whole', 'lot'],
  ['a lot of NaN', { lot: Number.NaN }, 'not-finite', 'lot'],
  ['an AQL between the columns', { aql: '2.0' as Aql }, 'no-such-plan', 'aql'],
  ['an AQL printed otherwise', { aql: '1' as Aql }, 'no-such-plan', 'aql'],
  ['a level that is not in Table I', { level: 'IV' as InspectionLevel }, 'no-such-plan', 'level'],
])('%s is refused', (_what, wrong, code, key) => {
  expect(() => findPlan({ lot: 1000, level: 'II', aql: '1.0', ...wrong }, 'normal')).toThrow(
    expect.objectContaining({ name: 'QualityError', code, key }),
  );
});

describe('the tightened plan beside a normal one', () => {
  const at = (severity: Severity, letter: string, aql: string): PublishedCell | undefined =>
    published.tables[severity][letter]?.[aql];

  test('every plan of table II-A leads to that of its letter and AQL in II-B, along the printed arrows', () => {
    const letters = Object.keys(published.tables.tightened);
    let plans = 0;
    for (const letter of Object.keys(published.tables.normal))
      for (const aql of published.aql) {
        const cell = at('normal', letter, aql);
        if (typeof cell !== 'object') continue;
        plans += 1;
        let row = letters.indexOf(letter);
        for (let arrow = at('tightened', letter, aql); typeof arrow === 'string'; ) {
          row += arrow === 'down' ? 1 : -1;
          arrow = at('tightened', letters[row]!, aql);
        }
        const end = letters[row]!;
        const wanted = at('tightened', end, aql) as { readonly Ac: number };
        expect(tightenedPlan(published.sample_size.normal[letter]!, cell.Ac)).toMatchObject({
          letter,
          aql,
          n: published.sample_size.tightened[end],
          acceptance: wanted.Ac,
        });
      }
    expect(plans).toBeGreaterThan(150);
  });

  test('by hand: 13 parts and none bad (E, AQL 1.0) become 20 and none; 80 and 2 (J, 1.0) become 80 and 1', () => {
    expect(tightenedPlan(13, 0)).toEqual({ letter: 'E', aql: '1.0', n: 20, acceptance: 0, fromMemory: false });
    expect(tightenedPlan(80, 2)).toEqual({ letter: 'J', aql: '1.0', n: 80, acceptance: 1, fromMemory: false });
  });

  test.each([
    [14, 0],
    [13, 4],
    [1, 0],
  ])('%d parts with at most %d bad stand in no cell', (n, c) => {
    expect(tightenedPlan(n, c)).toBeNull();
  });
});
