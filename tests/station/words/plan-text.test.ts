import { describe, expect, test } from 'vitest';
import type { PlanMisses } from '../../../server/audit/evaluation/contract.ts';
import { lotMisses } from '../../../server/quality/sampling/plan-misses.ts';
import { auditEnglish } from '../../../station/words/audit-en.ts';
import { auditSpanish } from '../../../station/words/audit-es.ts';
import { missesText } from '../../../station/words/plan-text.ts';

const EN = { language: 'en', words: auditEnglish } as const;
const ES = { language: 'es', words: auditSpanish } as const;

/** Facts of every code, and what is said in Spanish; TypeScript holds the list to be complete. */
const SAID: Readonly<Record<PlanMisses['code'], readonly [PlanMisses['facts'], string]>> = {
  'accepts-all': [{}, 'Este plan acepta cualquier lote: se permiten tantas piezas malas como se inspeccionan.'],
  'whole-lot': [{ c: 1 }, 'Se inspeccionan todas las piezas del lote; se acepta con 1 mala como máximo.'],
  lot: [
    { lot: 1000, few: 10, accepted: 0.9608, bad: 64 },
    'De los lotes de 1000 con 10 malas (1 %), este plan acepta 96 de 100; las malas deben ser 64 (6,4 %) para que se detenga 9 de cada 10 veces (exactamente este lote, hipergeométrica).',
  ],
  'whole-lot-none-bad': [{}, 'Se inspeccionan todas las piezas del lote; se acepta solo si ninguna es mala.'],
  'none-bad': [
    { n: 34, lot: 50, bad: 2, missed: 0.098 },
    'Sin permitir ninguna pieza mala entre 34, un lote de 50 con 2 malas (4 %) se acepta en 10 de 100 casos.',
  ],
  'variables-all': [{}, 'Este plan acepta casi todos los lotes de valores que se distribuyen normalmente.'],
  'variables-none': [{}, 'Este plan rechaza casi todos los lotes de valores que se distribuyen normalmente.'],
  variables: [
    { usual: 0.00573, stopped: 0.152 },
    'De los lotes con 0,57 % más allá del límite, este plan acepta 95 de 100; un lote debe tener 15 % para que se detenga 9 de cada 10 veces, si los valores se distribuyen normalmente.',
  ],
  'process-audit': [
    { n: 5, share: 0.1, missed: 0.59049 },
    '5 piezas aceptan un lote con 10 % de malas en 59 de 100 casos: una auditoría de proceso, no una aceptación del lote.',
  ],
};

describe.each(Object.entries(SAID))('%s', (code, [facts, dice]) => {
  test('is said in Spanish, and leaves no place open in English', () => {
    expect(missesText(ES, { code, facts })).toBe(dice);
    const says = missesText(EN, { code, facts });
    expect(says).not.toMatch(/[{}]/);
    expect(says).not.toBe(code);
  });
});

test('nothing but these and the single part is in the catalogue', () => {
  expect(Object.keys(auditEnglish.planMisses.says).sort()).toEqual([...Object.keys(SAID), 'process-audit-one'].sort());
  expect(missesText(ES, { code: 'process-audit', facts: { n: 1, share: 0.1, missed: 0.9 } })).toContain(
    '1 pieza acepta un lote',
  );
});

test.each([
  [0, 'ningún caso'],
  [0.001, 'menos de 1 de 100 casos'],
  [0.999, 'más de 99 de 100 casos'],
  [1, 'todos los casos'],
])('a probability of %d is never rounded to certainty, and certainty is said', (missed, dice) => {
  expect(missesText(ES, { code: 'none-bad', facts: { n: 5, lot: 10, bad: 1, missed } })).toContain(`en ${dice}.`);
});

// 1 bad of 50 is missed by 10 parts in 40 of 50.
test('a fact that a sum has made is said as it is', () => {
  expect(missesText(ES, lotMisses({ n: 10, c: 0 }, 50))).toContain('con 1 mala (2 %), este plan acepta 80 de 100');
});
