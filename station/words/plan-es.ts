import type { AuditWords } from './audit-en.ts';

/** What is said in Spanish of what a sampling plan lets through. */
export const planMissesSpanish: AuditWords['planMisses'] = {
  says: {
    'accepts-all': 'Este plan acepta cualquier lote: se permiten tantas piezas malas como se inspeccionan.',
    'whole-lot': 'Se inspeccionan todas las piezas del lote; se acepta con {allowedParts} como máximo.',
    lot: 'De los lotes de {lot} con {fewParts} ({fewShare}), este plan acepta {accepted}; las malas deben ser {bad} ({badShare}) para que se detenga 9 de cada 10 veces (exactamente este lote, hipergeométrica).',
    'whole-lot-none-bad': 'Se inspeccionan todas las piezas del lote; se acepta solo si ninguna es mala.',
    'none-bad':
      'Sin permitir ninguna pieza mala entre {n}, un lote de {lot} con {badParts} ({badShare}) se acepta en {cases}.',
    'variables-all': 'Este plan acepta casi todos los lotes de valores que se distribuyen normalmente.',
    'variables-none': 'Este plan rechaza casi todos los lotes de valores que se distribuyen normalmente.',
    variables:
      'De los lotes con {usual} más allá del límite, este plan acepta 95 de 100; un lote debe tener {stopped} para que se detenga 9 de cada 10 veces, si los valores se distribuyen normalmente.',
    'process-audit':
      '{n} piezas aceptan un lote con {share} de malas en {cases}: una auditoría de proceso, no una aceptación del lote.',
    'process-audit-one':
      '{n} pieza acepta un lote con {share} de malas en {cases}: una auditoría de proceso, no una aceptación del lote.',
  },
  oneBad: '1 mala',
  bad: '{n} malas',
  nextToNothing: 'casi nada',
  noLots: 'ninguno',
  allLots: 'todos',
  lots: '{count} de 100',
  noCase: 'ningún caso',
  everyCase: 'todos los casos',
  cases: '{count} de 100 casos',
  lessThanOne: 'menos de 1',
  moreThanMost: 'más de 99',
};

/** What is said in Spanish of why inspection by attributes stands where it does. */
export const switchingSpanish: AuditWords['switching'] = {
  verdicts: { accepted: 'Aceptado', refused: 'No aceptado' },
  says: {
    discontinued: 'El muestreo está suspendido: el lote no se juzga por muestreo hasta que se corrija la causa.',
    'presented-again': '{verdict}, pero presentado otra vez: no cuenta para el cambio de inspección.',
    'to-tightened': '{verdict}, el segundo en {lots} lotes: inspección reforzada desde el próximo lote.',
    score: '{verdict}; puntuación {score}. Sigue la inspección normal.',
    'score-lost': '{verdict}; la puntuación vuelve a 0. Sigue la inspección normal.',
    'score-lost-tighter':
      '{verdict}; la puntuación vuelve a 0, porque con {bad} malas no se habría aceptado con el AQL un escalón más estricto ({allowed} como máximo). Sigue la inspección normal.',
    'reduced-possible':
      '{verdict}; puntuación {score}. La inspección reducida es posible si la producción es estable y la autoridad responsable está de acuerdo; aquí no hay planes para ella, así que sigue la inspección normal.',
    'to-discontinued':
      '{verdict}, el quinto desde que empezó la inspección reforzada: el muestreo se suspende hasta que se corrija la causa.',
    'to-normal': '{verdict}, el quinto seguido: inspección normal desde el próximo lote, puntuación 0.',
    'tightened-accepted':
      '{verdict}, {row} seguidos de los {of} que devuelven a la inspección normal. Sigue la inspección reforzada.',
    'tightened-refused': '{verdict}, {refused} de los {of} que ponen fin al muestreo. Sigue la inspección reforzada.',
  },
};
