import { describe, expect, test } from 'vitest';
import { SWITCHING_START, nextSwitching, resumeSwitching } from '../../../../server/quality/sampling/switching.ts';
import type { LotResult, SwitchingState } from '../../../../server/quality/sampling/switching.ts';
import { auditEnglish } from '../../../../station/words/audit-en.ts';
import { auditSpanish } from '../../../../station/words/audit-es.ts';
import { switchingText } from '../../../../station/words/plan-text.ts';

const clean: LotResult = { bad: 0, acceptance: 2, acceptanceTighter: 1, original: true };
const refused: LotResult = { ...clean, bad: 3 };
const zeroPlan: LotResult = { bad: 0, acceptance: 0, acceptanceTighter: null, original: true };

const after = (lots: readonly LotResult[], from = SWITCHING_START): SwitchingState =>
  lots.reduce((state, lot) => nextSwitching(state, lot).state, from);
const times = (count: number, lot: LotResult): LotResult[] => new Array<LotResult>(count).fill(lot);
/** A refused (x) or accepted (.) lot each. */
const series = (text: string): LotResult[] => Array.from(text, (each) => (each === 'x' ? refused : clean));

const tightened = after(series('xx'));

describe('ISO 2859-1:1999 9.3.1, normal to tightened: 2 of 5 or fewer consecutive lots not accepted', () => {
  test.each([
    ['xx', 'tightened'],
    ['x...x', 'tightened'],
    ['....x.x', 'tightened'],
    ['x....x', 'normal'],
    ['x....x....x', 'normal'],
    ['x....x...x', 'tightened'],
    ['x', 'normal'],
  ])('%s leads to %s', (lots, severity) => {
    expect(after(series(lots)).severity).toBe(severity);
  });
});

describe('9.3.2, tightened to normal: 5 consecutive lots accepted', () => {
  test.each([
    ['....', 'tightened'],
    ['.....', 'normal'],
    ['....x....', 'tightened'],
    ['....x.....', 'normal'],
  ])('%s on tightened inspection leads to %s', (lots, severity) => {
    expect(after(series(lots), tightened).severity).toBe(severity);
  });

  test('normal inspection begins anew: no score, no lots looked back on', () => {
    const normal = after(series('.....'), tightened);
    expect(normal).toEqual(SWITCHING_START);
    expect(after(series('x'), normal).severity).toBe('normal');
  });
});

describe('9.4, discontinuation: 5 lots not accepted in total on tightened inspection', () => {
  test.each([
    ['xxxx', 'tightened', 4],
    ['xxxxx', 'discontinued', 5],
    ['x..x...x....x.x', 'discontinued', 5],
  ])('%s on tightened inspection leads to %s', (lots, severity, count) => {
    expect(after(series(lots), tightened)).toMatchObject({ severity, refusedOnTightened: count });
  });

  test('a return to normal forgets the count', () => {
    expect(after(series('xxxx.....xx'), tightened)).toMatchObject({ severity: 'tightened', refusedOnTightened: 0 });
  });

  test('a discontinued series judges no lot, and resumes on tightened inspection only', () => {
    const discontinued = after(series('xxxxx'), tightened);
    const step = nextSwitching(discontinued, clean);
    expect(step).toMatchObject({ state: discontinued, accepted: null });
    expect(step.explanation).toEqual({ code: 'discontinued', facts: {} });
    expect(resumeSwitching(discontinued)).toEqual(tightened);
    expect(resumeSwitching(tightened)).toBe(tightened);
    expect(resumeSwitching(SWITCHING_START)).toBe(SWITCHING_START);
  });
});

describe('9.3.3.2, switching score of single plans (points from memory; 30 in public summaries)', () => {
  const three: LotResult = { bad: 2, acceptance: 3, acceptanceTighter: 2, original: true };

  test('10 lots at acceptance number 2 that also pass one step tighter reach 30', () => {
    expect(after(times(9, clean))).toMatchObject({ score: 27, reducedEligible: false });
    expect(after(times(10, clean))).toMatchObject({ score: 30, reducedEligible: true, severity: 'normal' });
  });

  test('15 lots at acceptance number 0 reach 30', () => {
    expect(after(times(14, zeroPlan))).toMatchObject({ score: 28, reducedEligible: false });
    expect(after(times(15, zeroPlan))).toMatchObject({ score: 30, reducedEligible: true });
  });

  test('an accepted lot that would not have passed one step tighter resets 27 to 0', () => {
    const nine = after(times(9, three));
    expect(nine.score).toBe(27);
    const step = nextSwitching(nine, { ...three, bad: 3 });
    expect(step).toMatchObject({ accepted: true, state: { score: 0, severity: 'normal' } });
    expect(step.explanation).toEqual({
      code: 'score-lost-tighter',
      facts: { verdict: 'accepted', bad: 3, allowed: 2 },
    });
  });

  test.each([
    ['accepted with one bad at acceptance number 1', { ...zeroPlan, bad: 1, acceptance: 1 }, 2],
    ['refused at acceptance number 1', { ...zeroPlan, bad: 2, acceptance: 1 }, 0],
    ['refused at acceptance number 2', refused, 0],
  ])('a lot %s', (_what, lot, score) => {
    expect(after([lot]).score).toBe(score);
  });

  test('a refused lot takes away the eligibility', () => {
    expect(after([...times(10, clean), refused])).toMatchObject({ score: 0, reducedEligible: false });
  });

  test('eligibility is said and not acted on', () => {
    const step = nextSwitching(after(times(9, clean)), clean);
    expect(step.explanation).toEqual({ code: 'reduced-possible', facts: { verdict: 'accepted', score: 30 } });
    const says = switchingText({ language: 'en', words: auditEnglish }, step.explanation);
    expect(says).toContain('Reduced inspection is possible');
    expect(says).toContain('normal inspection stays');
    expect(after(times(200, clean)).severity).toBe('normal');
  });

  test('tightened inspection has no score and asks for no tighter acceptance number', () => {
    expect(after([{ ...clean, acceptanceTighter: null }], tightened)).toMatchObject({ score: 0, recent: [true] });
  });
});

test('a lot presented again counts for nothing', () => {
  const before = after(series('x..'));
  expect(nextSwitching(before, { ...refused, original: false })).toMatchObject({ state: before, accepted: false });
  expect(nextSwitching(before, { ...clean, original: false })).toMatchObject({ state: before, accepted: true });
});

test('every step is explained, in both languages', () => {
  let state = SWITCHING_START;
  const said = new Set<string>();
  const lots = [
    ...times(10, clean),
    { ...clean, bad: 2 },
    { ...clean, original: false },
    ...series('..x.x..x.x.xx.....x.xxxxxxx'),
    ...times(2, clean),
  ];
  for (const lot of lots) {
    const step = nextSwitching(state, lot);
    const [says, dice] = [
      switchingText({ language: 'en', words: auditEnglish }, step.explanation),
      switchingText({ language: 'es', words: auditSpanish }, step.explanation),
    ];
    expect(says).toMatch(/^(Accepted|Not accepted|Sampling).*\.$/);
    expect(dice).toMatch(/^(Aceptado|No aceptado|El muestreo).*\.$/);
    expect(says + dice).not.toMatch(/[{}]/);
    said.add(step.explanation.code);
    state = step.state;
  }
  expect([...said].sort()).toEqual(Object.keys(auditEnglish.switching.says).sort());
});

test.each([
  ['half a bad part', { ...clean, bad: 0.5 }, 'not-whole', 'bad'],
  ['a negative count', { ...clean, bad: -1 }, 'out-of-range', 'bad'],
  ['a count of NaN', { ...clean, bad: Number.NaN }, 'not-finite', 'bad'],
  ['a negative acceptance number', { ...clean, acceptance: -1 }, 'out-of-range', 'acceptance'],
  ['acceptance number 2 without the tighter one', { ...clean, acceptanceTighter: null }, 'empty', 'acceptanceTighter'],
  [
    'a tighter acceptance number that is no tighter',
    { ...clean, acceptanceTighter: 2 },
    'out-of-range',
    'acceptanceTighter',
  ],
])('%s is refused', (_what, lot, code, key) => {
  expect(() => nextSwitching(SWITCHING_START, lot)).toThrow(
    expect.objectContaining({ name: 'QualityError', code, key }),
  );
});
