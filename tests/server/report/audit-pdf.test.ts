import { expect, test } from 'vitest';
import type { AuditView } from '../../../server/audit/contract.ts';
import { auditPdf } from '../../../server/report/audit-pdf.ts';
import { AIR_WITHIN_K, CORE_WITHIN_K } from '../../../station/soak/core-observer.ts';
import { auditEnglish } from '../../../station/words/audit-en.ts';
import { auditSpanish } from '../../../station/words/audit-es.ts';
import { missesText } from '../../../station/words/plan-text.ts';
import { auditView } from '../../support/audit-view.ts';
import { readPdf } from '../../support/pdf-text.ts';

const ENGLISH = { paper: 'A4', language: 'en', timeZone: 'UTC' } as const;
const SPANISH = { paper: 'Letter', language: 'es', timeZone: 'America/Monterrey' } as const;
const view = auditView({ isBackAtAmbient: true });
const english = await readPdf(await auditPdf(view, ENGLISH));
const spanish = await readPdf(await auditPdf(view, SPANISH));
const whole = english.pages.join(' ');

/** As a report writes it: so many digits, a minus as wide as a plus. */
const figure = (value: number, digits: number, decimal = '.'): string =>
  value.toFixed(digits).replace('-', '−').replace('.', decimal);
const signed = (value: number, digits: number, decimal = '.'): string =>
  `${value > 0 ? '+' : ''}${figure(value, digits, decimal)}`;

test('the paper has its size (ISO 216; ANSI Y14.1, in points)', () => {
  // A4 is 210 mm by 297 mm; Letter is 8.5 in by 11 in; a point is 1/72 in.
  expect(english.size[0]).toBeCloseTo((210 / 25.4) * 72, 1);
  expect(english.size[1]).toBeCloseTo((297 / 25.4) * 72, 1);
  expect(spanish.size).toEqual([612, 792]);
});

test('the file says what it is, in its language, and is tagged', () => {
  expect(english.title).toBe(`AQ-1105, lot K24-3: temperature audit ${view.audit}`);
  expect(english.isTagged).toBe(true);
  expect(english.language).toBe('en');
  expect(spanish.language).toBe('es');
});

test('every page carries its number, the audit and the warning of a simulated rig', () => {
  expect(english.pages.length).toBeGreaterThan(3);
  for (const [k, page] of english.pages.entries()) {
    expect(page).toContain(`Page ${k + 1} of ${english.pages.length}`);
    expect(page).toContain(view.audit);
    expect(page).toContain('Simulated rig: no real part was tested');
  }
  for (const page of spanish.pages) expect(page).toContain('Equipo simulado: no se probó ninguna pieza real');
  expect(english.pages.at(-1)).toContain(`End of the report ${view.audit}`);
});

test('a real rig is not called simulated', async () => {
  const { pages } = await readPdf(await auditPdf(auditView({ origin: 'real' }), ENGLISH));
  expect(pages.join(' ')).not.toMatch(/simulated rig/i);
});

test('the same audit and wish are the same bytes', async () => {
  const [first, again] = [await auditPdf(view, ENGLISH), await auditPdf(view, ENGLISH)];
  expect(Buffer.compare(first, again)).toBe(0);
  const other = await auditPdf(auditView({ isBackAtAmbient: true, seed: 2 }), ENGLISH);
  expect(Buffer.compare(first, other)).not.toBe(0);
});

test('the time in the file is that of the decision, or of the draw before there is one', async () => {
  expect(english.created).toBe('D:20261124180500Z');
  const open = await readPdf(await auditPdf(auditView({ isDecided: false }), ENGLISH));
  expect(open.created).toBe('D:20261123140211Z');
  expect(open.pages[0]).toContain('Nobody has decided on this lot');
});

test('every number of the evaluation stands in it', () => {
  for (const cell of view.evaluation.cells) {
    const row = [
      `${figure(cell.pointKpaAbs, 1)} ${cell.n}`,
      `${signed(cell.meanKpa, 3)} ${figure(cell.sdKpa ?? NaN, 3)} ${figure(cell.allowedKpa, 3)}`,
    ].join(' ');
    expect(whole).toContain(row);
    expect(whole).toContain(figure(cell.atLeast ?? NaN, 2));
  }
  for (const { n, meanKpa, bounds, sdKpa, largest, stage, addedKpa } of view.evaluation.drifts) {
    const row = [
      `${n} ${signed(meanKpa, 3)} ${signed(bounds?.lowKpa ?? NaN, 3)} … ${signed(bounds?.highKpa ?? NaN, 3)}`,
      `${figure(sdKpa ?? NaN, 3)} ${signed(largest.kPa, 3)} …${largest.serial.slice(-6)}`,
      stage === 4 ? '–' : figure(addedKpa, 3),
    ].join(' ');
    expect(whole).toContain(row);
  }
  expect(whole).toContain('Ambient again 23 °C: difference to before, after hot (hysteresis)');
});

test('every reading of every part stands in it, in a row of its serial', () => {
  for (const { serial } of view.input.parts)
    for (const { stage } of view.input.stages) {
      const own = view.input.readings.filter((each) => each.serial === serial && each.stage === stage);
      expect(whole).toContain(own.map(({ errorKpa }) => signed(errorKpa, 3)).join(' '));
    }
});

test('what only audits take stands in it: hysteresis, linearity, effect of the supply and response, part by part', async () => {
  const swept = auditView({ hasAuditPoints: true });
  const { hysteresis, linearity, supply, response } = swept.evaluation.characteristics;
  const { pages } = await readPdf(await auditPdf(swept, ENGLISH));
  const text = pages.join(' ');
  const row = (name: string, unit: string, digits: number, of: (typeof linearity)[number], percent: string): string =>
    [
      ...[name, unit, String(of.n), signed(of.mean, digits), figure(of.sd ?? NaN, digits), signed(of.largest, digits)],
      percent,
    ].join(' ');
  const share = ({ largest }: { largest: number }): string => signed(largest, 2);
  expect([hysteresis, linearity, supply, response].map(({ length }) => length)).toEqual([6, 3, 6, 3]);
  for (const each of hysteresis)
    expect(text).toContain(row(`Hysteresis, ${each.step.slice(0, 2)} kPa`, 'kPa', 3, each, share(each)));
  for (const each of linearity) expect(text).toContain(row('Linearity', 'kPa', 3, each, share(each)));
  for (const each of supply)
    expect(text).toContain(row(`Effect of the supply, 60 kPa at ${each.supplyV} V`, 'kPa', 3, each, share(each)));
  for (const each of response) expect(text).toContain(row('Response, at most 20 ms allowed', 'ms', 1, each, '–'));
  expect(text).toContain('Hysteresis, linearity, supply and response');
  for (const { serial } of swept.input.parts)
    for (const { stage } of swept.input.stages) {
      const own = swept.input.readings.filter((each) => each.serial === serial && each.stage === stage);
      expect(text).toContain(
        own
          .slice(5)
          .map(({ errorKpa }) => signed(errorKpa, 3))
          .join(' '),
      );
    }
  // Without a way back or a supply there is the response alone.
  expect(whole).not.toContain('Hysteresis');
  const [, , hot] = view.evaluation.characteristics.response;
  expect(whole).toContain(row('Response, at most 20 ms allowed; Hot +125 °C', 'ms', 1, hot!, '–'));
});

test('numbers in Spanish have a comma, and no point', () => {
  const text = spanish.pages.join(' ');
  const [cell] = view.evaluation.cells;
  expect(text).toContain(`${signed(cell?.meanKpa ?? NaN, 3, ',')} ${figure(cell?.sdKpa ?? NaN, 3, ',')}`);
  // Names that people gave, versions and methods keep their points.
  expect(text.replaceAll(view.program, '')).not.toMatch(/[+−]\d+\.\d/);
});

test('times are told in the zone that is asked for', () => {
  // 18:05 UTC is 12:05 in Monterrey, which keeps no summer time since 2022 (IANA time zone database).
  expect(whole).toContain('24 Nov 2026, 18:05');
  expect(spanish.pages.join(' ')).toContain('24 nov 2026, 12:05');
});

test.each([
  ['what the plan would miss', missesText({ language: 'en', words: auditEnglish }, view.evaluation.misses)],
  ['the method of the draw', view.draw.method],
  ['the seed', view.draw.seed],
  ['that the draw came first', 'before any result of this audit was seen'],
  ['how the name is known', 'M. Orrell, quality engineer; name as stated, not proved'],
  ['the reason', 'Ask the moulding cell about lots from K23-2 onward.'],
  ['the calibration', view.rig.calibration],
  ['what it speaks of', 'The results relate only to the parts that were tested.'],
  ['that it claims no accreditation', 'No accreditation of the laboratory is claimed.'],
  ['the decision rule', 'Limits as they stand, no guard band'],
  ['what came between', 'The guard was open'],
  ['the hash of the decision', view.decision?.hash ?? 'no decision'],
  ['the hash of the profile', view.profile.hash],
] as const)('it says %s', (_what, text) => {
  // A long text is broken between words, and a hash is one word.
  expect(whole).toContain(text);
});

test('what the plan would miss is said in Spanish too', () => {
  const misses = missesText({ language: 'es', words: auditSpanish }, view.evaluation.misses);
  expect(misses).toMatch(/acepta/);
  expect(spanish.pages.join(' ')).toContain(misses);
});

test('it never says certified', () => {
  expect(`${whole} ${spanish.pages.join(' ')}`).not.toMatch(/certif/i);
});

test('missing parts and parts without a verdict are named', async () => {
  const [first, ...rest] = view.input.parts;
  if (first === undefined) throw new Error('the sample is empty');
  const results = first.results.map((each, k) =>
    k === 1 ? ({ verdict: 'none', reason: 'no-contact' } as const) : each,
  );
  const changed: AuditView = {
    ...view,
    sample: view.sample.map((each) =>
      each.serial === rest[0]?.serial ? { ...each, state: 'missing', reason: 'scrapped by mistake' } : each,
    ),
    input: {
      ...view.input,
      parts: [{ ...first, results }, ...rest.slice(1)],
      missing: [{ serial: rest[0]?.serial ?? '', reason: 'scrapped by mistake' }],
    },
  };
  const text = (await readPdf(await auditPdf(changed, ENGLISH))).pages.join(' ');
  expect(text).toContain(`${rest[0]?.serial ?? '?'} (scrapped by mistake)`);
  expect(text).toContain('Missing: scrapped by mistake');
  expect(text).toContain(`${first.serial}, at ambient: No part or no contact`);
});

test('an audit without any result is a report too', async () => {
  const empty: AuditView = {
    ...view,
    runs: [],
    interruptions: [],
    input: { ...view.input, readings: [], line: [], parts: view.input.parts.map((part) => ({ ...part, results: [] })) },
    evaluation: {
      ...view.evaluation,
      ...{ cells: [], weakest: null, drifts: [], lineAgainstLab: null, findings: [], ppkToProve: null },
      normality: { tests: 0, smallest: null, isNormal: null },
      proposal: { decision: null, because: [{ code: 'unfinished', facts: { parts: 0, of: 13 } }] },
    },
    ...{ decision: null, weakest: null, phase: 'loading', trend: [] },
  };
  const { pages } = await readPdf(await auditPdf(empty, ENGLISH));
  expect(pages[0]).toContain('Not finished');
  expect(pages.join(' ')).toContain('Nothing has been measured yet.');
  expect(pages.join(' ')).toContain('0 of 13 parts are tested at every condition');
});

test('a calibration and a rig that changed between two tests are both said, each with its tests', async () => {
  const [run] = view.rig.inForce;
  const renewed = { ...run!.calibration!, evidence: 'CAL-2026-044', sequence: 40_730 };
  const later = { tests: 4, from: '2026-11-24T10:10:00.000Z', to: '2026-11-25T10:11:05.000Z' };
  const inForce = [
    { ...run!, tests: 2, to: '2026-11-24T09:11:05.000Z' },
    // A rig that learnt a part number in between is a new issue under the same calibration.
    { ...run!, calibration: renewed, tests: 1, from: later.from, to: '2026-11-24T10:11:05.000Z' },
    { ...run!, issue: 4, hash: 'f4'.repeat(32), calibration: renewed, ...later, tests: 3 },
  ];
  const changed: AuditView = { ...view, rig: { ...view.rig, inForce } };
  const { pages } = await readPdf(await auditPdf(changed, ENGLISH));
  expect(pages[0]).toContain('evidence CAL-2026-031 (tests: 2, 24 Nov 2026, 08:10 UTC to 24 Nov 2026, 09:11 UTC)');
  expect(pages[0]).toContain('CAL-2026-044 (tests: 4, 24 Nov 2026, 10:10 UTC to 25 Nov 2026, 10:11 UTC)');
  expect(pages[0]).toContain('rig issue 3, 4');
  expect(pages.join(' ')).toContain('f4'.repeat(32));
  const none = { ...view, rig: { ...view.rig, calibration: '', inForce: [{ ...run!, calibration: null }] } };
  expect((await readPdf(await auditPdf(none, ENGLISH))).pages[0]).toContain('none was kept when it was tested');
});

test('a zone that is none is refused', async () => {
  await expect(auditPdf(view, { ...ENGLISH, timeZone: 'Mars/Olympus' })).rejects.toThrow(RangeError);
});

test('a text longer than a page goes on inside the next, and none stands where the running head and foot are', async () => {
  // An audit that was hardly begun: every part without a verdict is told with its conditions.
  const untested = Array.from({ length: 80 }, (_, k) => ({
    ...{
      serial: `AQ1105-26B-9${String(k).padStart(4, '0')}`,
      load: null,
      nest: null,
      results: [null, null, null, null],
    },
  }));
  const reason = 'fell behind the bench and was not to be found there. '.repeat(5).trim();
  const missing = Array.from({ length: 40 }, (_, k) => ({
    serial: `AQ1105-26B-8${String(k).padStart(4, '0')}`,
    reason,
  }));
  const begun: AuditView = {
    ...view,
    decision: null,
    phase: 'loading',
    input: { ...view.input, parts: [...view.input.parts, ...untested], missing },
    sample: [
      ...view.sample,
      ...untested.map(
        ({ serial }) => ({ serial, state: 'drawn', reason: null, load: null, nest: null, line: null }) as const,
      ),
    ],
  };
  for (const wish of [ENGLISH, SPANISH]) {
    const { pages, runs, size } = await readPdf(await auditPdf(begun, wish));
    const text = pages.join(' ');
    for (const { serial } of [...untested, ...missing]) expect(text.split(serial).length - 1).toBeGreaterThan(0);
    expect(text.split(reason.slice(0, 30)).length - 1).toBeGreaterThanOrEqual(39);
    const bare = (of: string): string => of.replace(/\s/g, '');
    const at = (page: number, is: (fromTop: number) => boolean): string =>
      bare(
        runs
          .filter((run) => run.page === page && is(run.fromTop))
          .map((run) => run.text)
          .join(''),
      );
    const heads = pages.map((_, page) => at(page, (fromTop) => fromTop < 58).replace(/\d+(of|de)\d+/, ''));
    const feet = pages.map((_, page) => at(page, (fromTop) => fromTop > size[1] - 42));
    expect(pages.length).toBeGreaterThan(6);
    expect(new Set(heads)).toEqual(new Set([heads[0]]));
    expect(heads[0]).toMatch(/AQ-1105.*K24-3/);
    expect(new Set(feet)).toEqual(new Set([feet[0]]));
    expect(feet[0]).toContain(bare(view.plant));
  }
});

test('what it takes to prove a Ppk is told of the parts that were read where it is weakest', async () => {
  const { weakest, cells } = view.evaluation;
  const place = cells.findIndex(({ stage, step }) => stage === weakest?.stage && step === weakest.step);
  const fewer = cells.map((cell, k) => (k === place ? { ...cell, n: 11 } : cell));
  const { pages } = await readPdf(
    await auditPdf({ ...view, evaluation: { ...view.evaluation, cells: fewer } }, ENGLISH),
  );
  expect(pages.join(' ')).toContain('with 95 % confidence, 11 parts would have to show a Ppk of');
});

test('the report says what the parts that were judged would miss, and from which list the parts were drawn', async () => {
  const missesJudged = {
    code: 'judged-fewer-process',
    facts: { judged: 5, of: 13, share: 0.1, missed: 0.59049 },
  } as const;
  const { pages } = await readPdf(
    await auditPdf({ ...view, evaluation: { ...view.evaluation, missesJudged } }, ENGLISH),
  );
  const text = pages.join(' ');
  expect(text).toContain('Only 5 of 13 parts were judged: they accept a lot with 10 % bad in 59 of 100 cases.');
  expect(whole).not.toContain('parts were judged:');
  expect(text.replace(/\s/g, '')).toContain(`SHA-256${view.draw.lotHash}`);
  expect(whole).toContain('places in the sorted list of the serials');
});

test('a test starts when the air is within 1.5 K and the cores within 1 K, and the report says so', () => {
  expect([AIR_WITHIN_K, CORE_WITHIN_K]).toEqual([1.5, 1]);
  expect(whole).toContain(
    'when the air is within 1.5 K and both bounds within 1 K of the temperature of the condition',
  );
  expect(spanish.pages.join(' ')).toContain('cuando el aire está a 1,5 K o menos y ambas cotas a 1 K o menos');
});

test('a reading on its very limit is not bold, one outside is', async () => {
  const [first, second, ...others] = view.input.readings;
  // A last digit above the limit is the rounding of the way to kPa.
  const onLimit = { ...first!, errorKpa: 0.777 * (1 + 1e-12), allowedKpa: 0.777 };
  const outside = { ...second!, errorKpa: 0.888, allowedKpa: 0.777 };
  const { runs } = await readPdf(
    await auditPdf({ ...view, input: { ...view.input, readings: [onLimit, outside, ...others] } }, ENGLISH),
  );
  const fontOf = (text: string): string[] => runs.filter((run) => run.text.includes(text)).map(({ font }) => font);
  const [plain] = fontOf('+0.777');
  const [bold] = fontOf('+0.888');
  expect(plain).toBeDefined();
  expect(bold).toBeDefined();
  const serialFonts = fontOf(view.input.parts.at(-1)!.serial);
  expect(serialFonts).toContain(plain);
  expect(bold).not.toBe(plain);
});

test('how the lot stands now is said where that does not rest on this audit', async () => {
  const now = {
    ...view.decision!,
    decision: 'reject',
    by: 'T. Aas',
    reason: 'Neighbour of K25-1.',
    sequence: 41_007,
  } as const;
  const { pages } = await readPdf(await auditPdf({ ...view, lotNow: now }, ENGLISH));
  const says =
    /Rejected on 24 Nov 2026, 18:05[^.]* by T\. Aas, not because of this audit\. Neighbour of K25-1\. \(ledger entry 41007\)/g;
  expect(pages[0]).toContain('Lot now');
  // In front, and beside this audit's own disposition.
  expect(pages.join(' ').match(says)).toHaveLength(2);
  expect(whole).not.toContain('Lot now');
});
