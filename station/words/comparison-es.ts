import type { ComparisonWords } from './comparison-text.ts';

/** What is said in Spanish of two audits that are held against one another. */
export const comparisonSpanish: ComparisonWords = {
  title: 'Dos auditorías comparadas',
  where: 'lote {here} frente al lote {there}',
  choice: {
    title: 'Comparar con otra auditoría',
    which: 'Auditoría del mismo número de pieza',
    option: 'Lote {lot}, {time}: {state}',
    go: 'Comparar',
    none: 'Ninguna otra auditoría de este número de pieza ha medido nada todavía.',
    fromTrend: 'Comparar con',
  },
  back: 'A la auditoría del lote {lot}',
  turned: 'Al revés',
  csv: 'Comparación, CSV',
  answers: {
    differs: '{here} frente a {there}: {difference}; nada más difiere más que por azar.',
    differsMore: '{here} frente a {there}: {difference}.',
    nothingElse: 'Nada más difiere más que por azar.',
    alike: '{here} frente a {there}: no se puede mostrar ninguna diferencia mayor que el azar.',
    untested: '{here} frente a {there}: no se puede decir nada. Hacen falta dos piezas o más en ambos lados.',
    'nothing-common': '{here} frente a {there}: ningún punto de ninguna condición está en las dos.',
    unseen:
      'Con {n} y {m} piezas, un cambio de la media de menos de {kPa} kPa {at}, {point} puede pasar inadvertido; {bestAt}, {bestPoint}, uno de menos de {best} kPa. A partir de ahí se halla nueve veces de cada diez.',
    unseenOne:
      'Con {n} y {m} piezas, un cambio de la media de menos de {kPa} kPa {at}, {point} puede pasar inadvertido. A partir de ahí se halla nueve veces de cada diez.',
  },
  differences: {
    'mean-lower': 'media {at}, {point} más baja en {value} kPa ({low} a {high})',
    'mean-higher': 'media {at}, {point} más alta en {value} kPa ({low} a {high})',
    'spread-wider': 'dispersión {at}, {point} más ancha: {value} veces ({low} a {high})',
    'spread-narrower': 'dispersión {at}, {point} más estrecha: {value} veces ({low} a {high})',
  },
  severalDifferences: {
    'mean-lower':
      'media {at} más baja en {points} de {of} puntos, sobre todo a {point}: en {value} kPa ({low} a {high})',
    'mean-higher':
      'media {at} más alta en {points} de {of} puntos, sobre todo a {point}: en {value} kPa ({low} a {high})',
    'spread-wider':
      'dispersión {at} más ancha en {points} de {of} puntos, sobre todo a {point}: {value} veces ({low} a {high})',
    'spread-narrower':
      'dispersión {at} más estrecha en {points} de {of} puntos, sobre todo a {point}: {value} veces ({low} a {high})',
  },
  caveatsTitle: 'Distintas en algo más que las piezas',
  alikeOtherwise: 'Revisión del perfil, regla de decisión, equipo, plan y origen son los mismos en las dos.',
  caveats: {
    'other-revision': 'Revisión del perfil {here} aquí, {there} allí.',
    'other-limits': 'El perfil permite ±{here} kPa aquí y ±{there} kPa allí, por el factor de la temperatura.',
    'other-factors': 'Los perfiles dan factores distintos a las temperaturas.',
    'other-rule': 'Regla de decisión: {here} aquí, {there} allí.',
    'other-rig': 'Equipo: {here} aquí, {there} allí.',
    'other-plan': 'Plan aquí: {here} Plan allí: {there}',
    'other-origin': '{which} se midió en un equipo simulado, la otra en uno real.',
    unfinished: '{which} no está terminada: {parts} de {of} piezas están probadas en todas las condiciones.',
    abandoned: '{which} se abandonó antes de terminar.',
    'not-normal': 'No todos los valores de {which} parecen normales: lo que se dice de la dispersión puede engañar.',
    'same-parts': 'Piezas que están en las dos muestras: {parts}. Se toman como si fueran otras.',
    'only-one': '{which} tiene puntos que la otra no tiene: {cells}. No se comparan.',
  },
  rules: { simple: 'sin banda de guarda', 'guard-band': 'banda de guarda de {factor} incertidumbres típicas' },
  rig: '{station}, edición del equipo {issue}',
  figureTitle: 'Error según la presión, las dos',
  figureNote:
    'Media de las piezas; la línea vertical abarca 2 s a cada lado. Dentro de la forma clara está permitido, según el perfil de {here}. Triángulo: las medias difieren más que por azar.',
  tableTitle: 'Punto por punto',
  table: {
    point: 'Punto',
    n: 'n',
    mean: 'Media, kPa',
    sd: 's, en kPa',
    ppk: 'Ppk (al menos)',
    difference: 'Diferencia (95 %), kPa',
    ratio: 'Cociente de s (95 %)',
    chance: 'Más que azar',
    shown: 'Se muestra desde, kPa',
    means: 'Medias, {here} menos {there}',
    spreads: 'Dispersiones, {here} entre {there}',
    yes: 'sí, p {p}',
    no: 'no; p {p}',
    undecided: 'no se puede probar',
  },
  tableNote:
    'Las cotas valen para cada valor por sí solo (medias: Welch; dispersiones: F, para valores normales). Más que azar: p menor que 0,05 tras Holm sobre {tests} pruebas. Se muestra desde: cambio de la media que se halla nueve veces de cada diez. Ppk con su cota inferior, 95 %.',
};
