import { DIMENSIONS, parseQuantity, parseRange } from './quantity.ts';
import type { Dimension, QuantityCode } from './quantity.ts';

/**
 * How a profile file is laid out: which key stands in which group, what is written behind it, and under which name it
 * goes into the content. Whether the content is allowed is the schema's and the checks' business.
 */

export type Read =
  | { readonly ok: true; readonly value: unknown }
  | { readonly ok: false; readonly code: QuantityCode | 'word'; readonly wrong: string; readonly right: string };

/** A value on one line. `dimension` gives messages about its size their unit. */
export interface ValueShape {
  readonly shape: 'value';
  readonly example: string;
  readonly dimension: Dimension | null;
  readonly read: (text: string) => Read;
}

export interface GroupShape {
  readonly shape: 'group';
  readonly keys: Keys;
}

/** A group whose keys follow from the word behind one of them. */
export interface ChoiceShape {
  readonly shape: 'choice';
  readonly by: string;
  readonly of: Readonly<Record<string, Keys>>;
}

/** A group whose keys are data: each becomes an element of a list in the order written, its key one field of it. */
export interface TableShape {
  readonly shape: 'table';
  readonly key: { readonly to: string; readonly value: ValueShape };
  readonly entry: { readonly to: string; readonly value: ValueShape } | GroupShape;
}

export type Shape = ValueShape | GroupShape | ChoiceShape | TableShape;

/** Keys of the file with their name in the content. */
export type Keys = Readonly<Record<string, Key>>;

/** `optional`: may be left out, which then says that there is none of it. */
interface Key {
  readonly to: string;
  readonly shape: Shape;
  readonly optional?: true;
}

const value = (example: string, read: (text: string) => Read, dimension: Dimension | null = null): ValueShape => ({
  shape: 'value',
  example,
  dimension,
  read,
});

const text = (example: string): ValueShape => value(example, (written) => ({ ok: true, value: written }));

const quantity = (dimension: Dimension, example: string = DIMENSIONS[dimension].example): ValueShape =>
  value(example, (written) => parseQuantity(written, dimension), dimension);

const range = (dimension: Dimension, example: string): ValueShape =>
  value(example, (written) => parseRange(written, dimension), dimension);

const wholeNumber = (example: string): ValueShape => quantity('factor', example);

/** "pressure-decay 1": how something is measured, by name and version, so that a record says which way it was. */
const method = (name: string): ValueShape =>
  value(`${name} 1`, (written) => {
    const match = /^([a-z-]+) ([0-9]{1,4})$/.exec(written);
    if (match === null)
      return { ok: false, code: 'word', wrong: `"${written}" is no method with its version`, right: `${name} 1` };
    return { ok: true, value: { name: match[1], version: Number(match[2]) } };
  });

const load = value('51 kOhm to ground', (written) => {
  const [resistance = '', to, ...rest] = written.split(/\s+to\s+/);
  if ((to !== 'ground' && to !== 'supply') || rest.length > 0) {
    const right = `${/\d/.test(resistance) ? resistance : '51 kOhm'} to ground, or to supply`;
    return { ok: false, code: 'word', wrong: `"${written}" does not say where the load goes to`, right };
  }
  const ohm = parseQuantity(resistance, 'resistance');
  return ohm.ok ? { ok: true, value: { ohm: ohm.value, to } } : ohm;
});

/** Volts when either side is written in volts, a fraction of the supply otherwise. */
const clamps = value('0.02 to 0.98', (written) => {
  const unit = /V\b/.test(written) ? 'V' : 'ratio';
  const sides = parseRange(written, unit === 'V' ? 'voltage' : 'fraction');
  return sides.ok ? { ok: true, value: { unit, ...sides.value } } : sides;
});

const pointAt = value('80 kPa', (written) => {
  if (written === 'barometer') return { ok: true, value: { kind: 'barometer' } };
  if (!/\d/.test(written)) {
    return {
      ok: false,
      code: 'word',
      wrong: `"${written}" is no pressure`,
      right: 'barometer, or a pressure such as 80 kPa',
    };
  }
  const pressure = parseQuantity(written, 'pressure');
  return pressure.ok ? { ok: true, value: { kind: 'absolute', kPaAbs: pressure.value } } : pressure;
});

const rule = value('guard band 1.645', (written) => {
  if (written === 'simple') return { ok: true, value: { kind: 'simple' } };
  const match = /^guard band (.*)$/.exec(written);
  if (match === null) {
    return { ok: false, code: 'word', wrong: `"${written}" is no decision rule`, right: 'simple, or guard band 1.645' };
  }
  const factor = parseQuantity(match[1] ?? '', 'factor');
  return factor.ok ? { ok: true, value: { kind: 'guard-band', factor: factor.value } } : factor;
});

const to = (name: string, shape: Shape): Key => ({ to: name, shape });
const optional = (name: string, shape: Shape): Key => ({ to: name, shape, optional: true });
const group = (keys: Keys): GroupShape => ({ shape: 'group', keys });

const supply = group({
  nominal: to('nominalV', quantity('voltage')),
  allowed: to('allowedV', range('voltage', '4.75 V to 5.25 V')),
  current: to('currentMa', range('current', '3 mA to 10 mA')),
  'present above': to('presentMa', quantity('current', '1 mA')),
  method: to('method', method('supply-current')),
  settle: to('settleMs', quantity('time', '60 ms')),
  aperture: to('apertureMs', quantity('time', '40 ms')),
});

const leakHold = group({
  method: to('method', method('pressure-decay')),
  pressure: to('testKpaAbs', quantity('pressure')),
  limit: to('limitStdCm3PerMin', quantity('leak rate')),
  'gross from': to('grossStdCm3PerMin', quantity('leak rate', '5 std cm3/min')),
  fill: to('fillMs', quantity('time', '0.6 s')),
  stabilise: to('stabiliseMs', quantity('time', '2.8 s')),
  measure: to('measureMs', quantity('time', '0.5 s')),
});

const points: TableShape = {
  shape: 'table',
  key: { to: 'id', value: text('80-kpa') },
  entry: group({
    at: to('at', pointAt),
    branch: to('branch', text('falling')),
    dwell: to('dwellMs', quantity('time', '0.6 s')),
    aperture: to('apertureMs', quantity('time', '0.1 s')),
  }),
};

/** Names of points on one line, in the order in which they are taken. */
const pointNames = value('40-kpa 60-kpa', (written) => ({ ok: true, value: written.split(/[\s,]+/) }));

const auditPoints = group({
  'way back': optional(
    'wayBack',
    group({
      over: to('over', pointNames),
      dwell: to('dwellMs', quantity('time', '0.6 s')),
      aperture: to('apertureMs', quantity('time', '0.1 s')),
    }),
  ),
  supply: optional(
    'supply',
    group({
      method: to('method', method('supply-step')),
      at: to('at', text('60-kpa')),
      low: to('lowV', quantity('voltage', '4.85 V')),
      high: to('highV', quantity('voltage', '5.15 V')),
      settle: to('settleMs', quantity('time', '60 ms')),
      aperture: to('apertureMs', quantity('time', '0.1 s')),
    }),
  ),
});

const conditions: TableShape = {
  shape: 'table',
  key: { to: 'id', value: text('ambient') },
  entry: group({
    target: to('targetC', quantity('temperature', '23 °C')),
    tolerance: to('toleranceC', quantity('temperature difference')),
    soak: to('soakMs', quantity('time', '45 min')),
  }),
};

/** Everything that a profile file says, in the order in which the shipped ones say it. `revision` is of the issue. */
export const LAYOUT: GroupShape = group({
  format: to('format', wholeNumber('1')),
  'part number': to('partNumber', text('AQ-1105')),
  revision: to('revision', wholeNumber('1')),
  title: to('title', text('Manifold absolute pressure sensor, 1 bar')),
  'pressure class': to('pressureClass', text('1 bar')),
  document: to('document', group({ title: to('title', text('Print AQ-1105')), revision: to('revision', text('A')) })),
  serial: to('serial', {
    shape: 'choice',
    by: 'rule',
    of: { required: { pattern: to('pattern', text("'[A-Z0-9-]{5,20}'")) }, unserialised: {} },
  }),
  supply: to('supply', supply),
  load: to('load', load),
  transfer: to('transfer', {
    shape: 'choice',
    by: 'kind',
    of: {
      ratiometric: {
        slope: to('slopePerKpa', quantity('fraction per pressure')),
        offset: to('offsetRatio', quantity('fraction', '-0.095')),
      },
      regulated: {
        slope: to('slopeVPerKpa', quantity('voltage per pressure')),
        offset: to('offsetV', quantity('voltage', '-0.1 V')),
      },
    },
  }),
  'rated pressure': to('ratedKpaAbs', range('pressure', '15 kPa to 115 kPa')),
  'error band': to(
    'errorBand',
    group({
      error: to('kPa', quantity('pressure difference')),
      factors: to('factors', {
        shape: 'table',
        key: { to: 'partC', value: quantity('temperature') },
        entry: { to: 'factor', value: quantity('factor', '3') },
      }),
    }),
  ),
  'over-pressure': to('overPressureKpaAbs', quantity('pressure', '400 kPa')),
  clamps: to('clamps', clamps),
  'ambient check': to(
    'ambientPlausibility',
    group({
      method: to('method', method('decoded-pressure')),
      within: to('withinKpa', quantity('pressure difference', '10 kPa')),
      aperture: to('apertureMs', quantity('time', '40 ms')),
    }),
  ),
  'leak hold': to('leakHold', leakHold),
  // Holds for every point: it goes into each of them.
  'point method': to('pointMethod', method('simultaneous-reference')),
  points: to('points', points),
  'audit points': optional('auditPoints', auditPoints),
  lag: to(
    'lag',
    group({
      method: to('method', method('lag-by-areas')),
      'on point': to('onPoint', text('60-kpa')),
      limit: to('limitMs', quantity('time', '20 ms')),
    }),
  ),
  noise: to(
    'noise',
    group({ method: to('method', method('pooled-scatter')), limit: to('limitV', quantity('voltage', '5 mV')) }),
  ),
  conditions: to('conditions', conditions),
  'decision rules': to(
    'rules',
    group({
      line: to('line', rule),
      audit: to('audit', rule),
      master: to('master', rule),
      study: to('study', rule),
      return: to('return', rule),
    }),
  ),
});

/** How a shape is written, in one line, for messages. */
export function exampleOf(shape: Shape): string {
  switch (shape.shape) {
    case 'value':
      return shape.example;
    case 'group':
      return flow(shape.keys);
    case 'choice':
      return Object.entries(shape.of)
        .map(([word, keys]) => flow({ [shape.by]: to(shape.by, text(word)), ...keys }))
        .join(' or ');
    case 'table':
      return `{ ${shape.key.value.example}: ${'value' in shape.entry ? shape.entry.value.example : exampleOf(shape.entry)} }`;
  }
}

function flow(keys: Keys): string {
  const parts = Object.entries(keys).map(([name, entry]) => `${name}: ${exampleOf(entry.shape)}`);
  return `{ ${parts.join(', ')} }`;
}
