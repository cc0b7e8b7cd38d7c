import type { DeskWords } from './desk-en.ts';

/** Why the audit lab does not do what it was told, in Spanish. */
export const refusalsSpanish: DeskWords['refusals'] = {
  says: {
    'no-such-audit': 'No hay ninguna auditoría con este identificador. Ábrala desde su lote.',
    'no-such-lot': 'Aquí no se guarda ninguna pieza de {partNumber}, lote {lot}. Revise el código.',
    'no-such-station': 'No hay una estación de laboratorio {station}; hay: {known}.',
    'unknown-part-number': 'Aquí no hay perfil de {partNumber}.',
    'same-audit': 'Una auditoría no se compara consigo misma. Elija otra.',
    'other-part-number': 'Una auditoría es de {here}, la otra de {there}. Elija una auditoría de {here}.',
    'sampling-discontinued':
      'La inspección de {partNumber} por atributos está suspendida: cinco lotes no se aceptaron en inspección reforzada. Corrija la causa; después reanúdela con un nombre y lo que se hizo.',
    'no-tightened-plan':
      'La inspección está reforzada, y las tablas no tienen un plan reforzado junto a {n} piezas con {c} malas como máximo. Guarde primero un plan de las tablas.',
    'not-discontinued': 'La inspección de {partNumber} por atributos no está suspendida. No hay nada que reanudar.',
    'lot-not-open': 'El lote {lot} ya está {state}. No se cambió nada.',
    'lot-not-closed': 'El lote {lot} está abierto. No se cambió nada.',
    'lot-not-closed/decided':
      'El lote {lot} está {state}: la decisión trata de las piezas que tenía. Empiece un lote nuevo.',
    'audit-open': 'Una auditoría del lote {lot} no ha terminado. Termínela o abandónela primero.',
    'audit-open/accepting':
      'Una auditoría del lote {lot} no ha terminado. Termínela, o acepte con una concesión del cliente.',
    'audit-unfinished': 'Aún no se probaron todas las piezas. Hasta entonces el lote solo se puede retener.',
    'audit-over': 'Esta auditoría terminó. Lo que se guardó de ella queda como está.',
    'concession-over': 'La concesión terminó el {until}. Pida una que siga vigente, o deje abierto el día.',
    'too-few-passed': 'El plan pide {n} piezas y pasaron {passed} del lote. Espere a que haya más, o cambie el plan.',
    'no-condition': 'Elija al menos una condición.',
    'unknown-condition': 'El perfil de {partNumber} no tiene la condición {condition}.',
    'condition-twice': 'La condición {condition} se eligió dos veces. Elija cada una una sola vez.',
    'against-the-rule/no-neighbour':
      'El lote {lot} no está retenido como vecino. Sin una auditoría propia solo se puede aceptar con una concesión.',
    'against-the-rule/rejected':
      'El lote {lot} fue rechazado. Saque una muestra nueva y haga que se pruebe primero, o acepte con una concesión del cliente.',
    'against-the-rule/untested': 'No se probó ninguna pieza de esta muestra: no dice nada del lote. Saque una nueva.',
    'against-the-rule/refused':
      'El plan rechaza este lote ({bad} malas). Solo se puede aceptar con una concesión del cliente.',
    'against-the-rule/failed':
      'Fallaron piezas de la muestra ({bad} malas): retenga el lote, rechácelo o acéptelo con una concesión del cliente.',
    'against-the-rule/refused-before':
      'Otra auditoría rechazó el lote {lot} ({bad} malas), y ninguna posterior de igual peso lo ha resuelto. Saque de nuevo al menos el mismo número de piezas, o acepte con una concesión del cliente.',
    'against-the-rule/given-up':
      'Una auditoría del lote {lot} que se abandonó había encontrado piezas malas, y cuentan ({bad} malas). Rechace el lote y saque otra muestra, o acepte con una concesión del cliente.',
    'not-drawn': '{serial} no está en esta muestra. Devuélvala; no fue sorteada.',
    'not-drawn/not-due': '{serial} no es una pieza que esta auditoría espere todavía.',
    'in-load': '{serial} ya estuvo en una carga.',
    'load-inside': 'La carga {load} del lote {lot} está en la cámara.',
    'load-inside/testing': 'Se está probando una carga. Deténgala primero.',
    'other-station': 'Esta auditoría se sorteó para {station}.',
    'wrong-nests': 'Una carga tiene un lugar para cada uno de los {nests} nidos.',
    'nothing-loaded': 'No hay ninguna pieza en la carga. Escanee al menos una.',
    'scanned-twice': '{serial} está en dos nidos.',
    'no-load-due': 'Esta auditoría no admite más cargas.',
    'nothing-to-resume': 'Ninguna carga de esta auditoría quedó interrumpida.',
    'nothing-inside': 'No hay ninguna carga en la cámara.',
    'door-not-ready': 'La carga aún no puede salir. Mantenga la puerta cerrada.',
    'load-unfinished': 'Esta carga no ha terminado. Siga con ella, o abandone la auditoría.',
    'proof-due': 'La estación debe demostrar primero: {proof}.',
    'soak-study-due':
      'Nadie ha estudiado aún con qué lentitud sigue {partNumber} a esta cámara. Haga primero el estudio de estabilización.',
    'too-busy': 'Ya esperan demasiadas preguntas. Pregunte otra vez en un momento.',
    'work-lost': 'El trabajo en esto se interrumpió. No se perdió nada: pregunte otra vez.',
    'took-too-long': 'El trabajo en esto tardó demasiado y se cortó. Pregunte otra vez.',
    'not-ready': 'El servidor se está cerrando. Pregunte otra vez cuando vuelva.',
    program: 'El programa falló aquí. Quedó escrito en el registro: llame al ingeniero de pruebas.',
  },
  states: { open: 'abierto', closed: 'cerrado', accepted: 'aceptado', 'on-hold': 'retenido', rejected: 'rechazado' },
};
