import { expect, test } from 'vitest';
import type { AuditView } from '../../../server/audit/contract.ts';
import { auditPdf } from '../../../server/report/audit-pdf.ts';
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
  ['what the plan would miss', view.evaluation.misses],
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

test('a zone that is none is refused', async () => {
  await expect(auditPdf(view, { ...ENGLISH, timeZone: 'Mars/Olympus' })).rejects.toThrow(RangeError);
});
