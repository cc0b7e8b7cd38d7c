import type { Catalogue } from './catalogue.ts';
import { lineSpanish } from './line-es.ts';

const REJECT = 'Ponga la pieza en rechazos';
const REPEAT = 'Pruebe otra vez; si vuelve, llame al técnico';

export const spanish: Catalogue = {
  verdicts: { pass: 'Apta', fail: 'Falla', none: 'No juzgada' },
  passNext: 'Ponga la pieza con las buenas',
  quantities: {
    'supply-current': 'Consumo',
    output: 'Salida {step}',
    'ambient-check': 'Antes de llenar',
    leak: 'Fuga',
    lag: 'Retardo de respuesta',
    noise: 'Ruido',
  },
  faults: {
    'operator-stop': { says: 'El ciclo fue parado', next: 'Inicie la prueba otra vez' },
    'guard-open': { says: 'La guarda estaba abierta', next: 'Cierre la guarda y pruebe otra vez' },
    'stop-chain-open': {
      says: 'La cadena de paro estaba abierta',
      next: 'Haga eliminar la causa y rearmar la cadena; pruebe otra vez',
    },
    'air-lost': { says: 'Falta aire comprimido', next: 'Restablezca el aire y pruebe otra vez' },
    'vacuum-lost': { says: 'Falta vacío', next: 'Restablezca el vacío y pruebe otra vez' },
    'not-clamped': { says: 'Las sujeciones no cerraron', next: 'Asiente las piezas y pruebe otra vez' },
    'condition-not-met': {
      says: 'Las piezas no están a la temperatura de la condición',
      next: 'Espere a la temperatura y pruebe otra vez',
    },
    'release-refused': {
      says: 'Las sujeciones siguen cerradas: guarda abierta o hay presión',
      next: 'Cierre la guarda y espere a que se mida venteado',
    },
    interrupted: {
      says: 'La prueba se cortó antes de completar su registro',
      next: 'Pruebe estas piezas otra vez',
    },
    'proof-due': {
      says: 'La estación no ha dado su prueba',
      next: 'Complete la prueba que se nombra y pruebe otra vez',
    },
    'not-testable': {
      says: 'Este perfil no se puede probar en este equipo',
      next: 'Use una estación que pueda o llame al técnico',
    },
    'over-pressure': {
      says: 'Se midió una presión por encima del máximo permitido',
      next: 'Aparte las piezas como sospechosas y llame al técnico',
    },
    'dead-man': { says: 'El equipo quedó sin control y se venteó solo', next: REPEAT },
    'instrument-silent': { says: 'Un instrumento no responde', next: REPEAT },
    'instrument-stuck': { says: 'Un instrumento repite el mismo valor', next: REPEAT },
    'instrument-disagrees': { says: 'Dos instrumentos no coinciden en la misma presión', next: REPEAT },
    'output-meter-off': { says: 'El medidor de salida no lee cero sin alimentación', next: REPEAT },
    'supply-off': { says: 'La tensión de alimentación no es la ajustada', next: REPEAT },
    'pressure-not-reached': {
      says: 'No se alcanzó la presión',
      next: 'Revise aire y vacío y pruebe otra vez; si vuelve, llame al técnico',
    },
    'pressure-unsteady': { says: 'La presión no fue estable durante una lectura', next: REPEAT },
    'pressure-rises': { says: 'La presión subió en un nido cerrado', next: REPEAT },
    'valve-no-answer': { says: 'Una válvula no hace lo que se le mandó', next: REPEAT },
    'not-vented': {
      says: 'No se pudo medir que los nidos estén venteados',
      next: 'Mantenga la guarda cerrada y llame al técnico',
    },
    'study-too-little': {
      says: 'El estudio de reposo dice demasiado poco: un testigo no sigue al aire como las piezas, o hay muy pocos',
      next: 'Revise cada testigo y su termómetro, y repita el estudio',
    },
    'not-kept': {
      says: 'El registro no se pudo guardar',
      next: 'No use resultado de esta prueba; llame al técnico y pruebe otra vez',
    },
    program: { says: 'El programa se paró por una premisa rota', next: REPEAT },
  },
  reasons: {
    'no-contact': { says: 'No hay pieza o no hay contacto', next: 'Asiente la pieza y pruebe otra vez' },
    'ground-open': { says: 'Sin contacto de masa', next: REJECT },
    'output-at-ground': { says: 'Sin salida: abierta o en corto a masa', next: REJECT },
    'output-at-supply': { says: 'Salida a la alimentación: abierta o en corto', next: REJECT },
    'current-high': { says: 'Consume demasiado', next: REJECT },
    'current-low': { says: 'Consume demasiado poco', next: REJECT },
    'other-class': { says: 'Se comporta como otro número de pieza', next: `${REJECT} y revise qué se está cargando` },
    'ambient-implausible': { says: 'Lee mal a presión ambiente', next: REJECT },
    'gross-leak': { says: 'Fuga grande', next: REJECT },
    leak: { says: 'Fuga', next: REJECT },
    stuck: { says: 'La salida no sigue la presión', next: REJECT },
    slow: { says: 'Responde demasiado lento', next: REJECT },
    'reads-high': { says: 'Lee alto', next: REJECT },
    'reads-low': { says: 'Lee bajo', next: REJECT },
    'span-large': { says: 'La salida cambia demasiado con la presión', next: REJECT },
    'span-small': { says: 'La salida cambia demasiado poco con la presión', next: REJECT },
    'reads-wrong': { says: 'Lee mal', next: REJECT },
    noisy: { says: 'Salida con ruido', next: REJECT },
  },
  line: lineSpanish,
};
