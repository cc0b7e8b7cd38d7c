import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { readProfileFile } from '../../../station/profile/file.ts';
import { problemLine } from '../../../station/profile/problem.ts';
import type { ProblemCode, ProfileProblem } from '../../../station/profile/problem.ts';
import { lineOf, rewritten, shippedText } from '../../support/profile-text.ts';

interface Wrong {
  readonly from: string;
  readonly to: string;
  readonly key: string;
  readonly wrong: RegExp;
  readonly right: RegExp;
  /** What stands on the line that is pointed at, when it is not the first line of `to`. */
  readonly on?: string;
}

type ReadingCode = 'unreadable' | 'file-name' | 'too-large';
type RigCode = 'rig-pressure' | 'rig-transducer' | 'rig-over-pressure' | 'rig-load';

const text = shippedText('AQ-1105');
const factors = ['-42 °C: 3', '-40 °C: 3', '0 °C: 1', '85 °C: 1', '125 °C: 3', '127 °C: 3']
  .map((row) => `    ${row}\n`)
  .join('');
const point80 = '  80-kpa: { at: 80 kPa, branch: falling, dwell: 0.6 s, aperture: 0.1 s }';

const wayBack = '  way back: { over: 40-kpa 60-kpa 80-kpa, dwell: 0.6 s, aperture: 0.1 s }';
const supplySteps =
  '  supply: { method: supply-step 1, at: 60-kpa, low: 4.85 V, high: 5.15 V, settle: 0.1 s, aperture: 0.1 s }';

/** One kind of wrong profile a code at least; the compiler asks for a row when a code is added. */
const wrongProfiles: Record<Exclude<ProblemCode, ReadingCode | RigCode>, readonly Wrong[]> = {
  'not-yaml': [
    { from: 'title: Manifold', to: 'title: "Manifold', key: '', wrong: /quote|end/i, right: /YAML/, on: '' },
    { from: 'supply:\n', to: 'supply:\n\tnominal: 6 V\n', key: '', wrong: /tab/i, right: /YAML/, on: '\tnominal' },
    { from: 'nominal: 5 V', to: 'nominal: !!float 5 V', key: '', wrong: /tag/i, right: /YAML/ },
  ],
  'not-a-group': [
    {
      from: 'lag: { method: lag-by-areas 1, on point: 60-kpa, limit: 20 ms }',
      to: 'lag: 20 ms',
      key: 'lag',
      wrong: /keys/,
      right: /method, on point, limit/,
    },
    {
      from: point80,
      to: '  80-kpa: 80 kPa',
      key: 'points.80-kpa',
      wrong: /keys/,
      right: /at, branch, dwell, aperture/,
    },
    {
      from: 'document: { title: Print AQ-1105, revision: A }',
      to: 'document:',
      key: 'document',
      wrong: /keys/,
      right: /title, revision/,
    },
    {
      from: `  factors:\n${factors}`,
      to: '  factors: 3\n',
      key: 'error band.factors',
      wrong: /keys/,
      right: /°C/,
      on: 'factors: 3',
    },
  ],
  'not-a-value': [
    { from: 'nominal: 5 V', to: 'nominal: [5 V]', key: 'supply.nominal', wrong: /group/, right: /5 V/ },
    { from: 'nominal: 5 V', to: 'nominal: *five', key: 'supply.nominal', wrong: /reference/, right: /5 V/ },
  ],
  'unknown-key': [
    {
      from: 'stabilise:',
      to: 'stabilize:',
      key: 'leak hold.stabilize',
      wrong: /"stabilize" is no key/,
      right: /^stabilise$/,
    },
    { from: 'clamps:', to: 'Clamp:', key: 'Clamp', wrong: /"Clamp"/, right: /^clamps$/ },
    {
      from: 'clamps:',
      to: 'constructor:',
      key: 'constructor',
      wrong: /"constructor"/,
      right: /one of format, part number/,
    },
    { from: 'clamps:', to: '[a, b]:', key: '', wrong: /is no key/, right: /one of/ },
  ],
  'missing-key': [
    {
      from: '  fill: 0.6 s\n',
      to: '',
      key: 'leak hold.fill',
      wrong: /"fill" is missing/,
      right: /fill: 0.6 s/,
      on: 'leak hold:',
    },
    {
      from: 'load: 51 kOhm to ground\n',
      to: '',
      key: 'load',
      wrong: /missing/,
      right: /load: 51 kOhm to ground/,
      on: '#',
    },
    {
      from: ', dwell: 0.6 s, aperture: 0.1 s }\n  80',
      to: ', dwell: 0.6 s }\n  80',
      key: 'points.ambient.aperture',
      wrong: /missing/,
      right: /aperture: 0.1 s/,
      on: '  ambient: { at',
    },
    {
      from: 'kind: ratiometric, ',
      to: '',
      key: 'transfer.kind',
      wrong: /missing/,
      right: /ratiometric or regulated/,
      on: 'transfer:',
    },
    {
      from: '  study: simple\n',
      to: '',
      key: 'decision rules.study',
      wrong: /missing/,
      right: /study: /,
      on: 'decision rules',
    },
    {
      from: 'point method: simultaneous-reference 1\n',
      to: '',
      key: 'point method',
      wrong: /missing/,
      right: /simultaneous-reference 1/,
      on: '#',
    },
  ],
  'duplicate-key': [
    {
      from: '  fill: 0.6 s\n',
      to: '  fill: 0.6 s\n  fill: 0.7 s\n',
      key: 'fill',
      wrong: /twice/,
      right: /once/,
      on: '  fill: 0.7 s',
    },
    { from: '  60-kpa: {', to: '  80-kpa: {', key: '80-kpa', wrong: /twice/, right: /once/, on: '  80-kpa: { at: 60' },
  ],
  number: [
    { from: 'fill: 0.6 s', to: 'fill: 0,6 s', key: 'leak hold.fill', wrong: /comma/, right: /0.6 s/ },
    {
      from: 'current: 3 mA to 10 mA',
      to: 'current: 10 mA',
      key: 'supply.current',
      wrong: /no range/,
      right: /each with its unit/,
    },
    { from: 'nominal: 5 V', to: 'nominal:', key: 'supply.nominal', wrong: /no value/, right: /5 V/ },
    {
      from: 'line: guard band 1.645',
      to: 'line: guard band wide',
      key: 'decision rules.line',
      wrong: /"wide"/,
      right: /1.645/,
    },
    { from: 'load: 51 kOhm to ground', to: 'load: high to ground', key: 'load', wrong: /"high"/, right: /51 kOhm/ },
  ],
  unit: [
    { from: 'nominal: 5 V', to: 'nominal: 5', key: 'supply.nominal', wrong: /"5" has no unit/, right: /5 V, 5 mV/ },
    {
      from: 'pressure: 150 kPa',
      to: 'pressure: 150 V',
      key: 'leak hold.pressure',
      wrong: /"V" is no unit/,
      right: /150 kPa, 150 bar/,
    },
    { from: '    0 °C: 1\n', to: '    0: 1\n', key: 'error band.factors.0', wrong: /no unit/, right: /0 °C/ },
    { from: 'at: 80 kPa', to: 'at: 80', key: 'points.80-kpa.at', wrong: /no unit/, right: /80 kPa/ },
    {
      from: 'limit: 0.5 std cm3/min',
      to: 'limit: 0.5 sccm',
      key: 'leak hold.limit',
      wrong: /standard conditions/,
      right: /std cm3\/min/,
    },
    { from: 'slope: 0.009 /kPa', to: 'slope: 45 mV/kPa', key: 'transfer.slope', wrong: /"mV\/kPa"/, right: /\/kPa/ },
    { from: 'clamps: 0.02 to 0.98', to: 'clamps: 0.1 V to 4.9', key: 'clamps', wrong: /no unit/, right: /4.9 V/ },
  ],
  'gauge-pressure': [
    {
      from: 'pressure: 150 kPa',
      to: 'pressure: 50 kPa gauge',
      key: 'leak hold.pressure',
      wrong: /absolute/,
      right: /151.325 kPa/,
    },
    { from: 'at: 20 kPa', to: 'at: 24 inHg vacuum', key: 'points.20-kpa.at', wrong: /absolute/, right: /20.0517 kPa/ },
  ],
  word: [
    { from: 'format: 1', to: 'format: 2', key: 'format', wrong: /"2"/, right: /1/ },
    {
      from: 'pressure class: 1 bar',
      to: 'pressure class: 2.5 bar',
      key: 'pressure class',
      wrong: /"2.5 bar"/,
      right: /1 bar, 2 bar, 3 bar/,
    },
    {
      from: 'part number: AQ-1105',
      to: 'part number: 1105',
      key: 'part number',
      wrong: /"1105"/,
      right: /AQ- and four digits/,
    },
    {
      from: 'kind: ratiometric',
      to: 'kind: ratio',
      key: 'transfer.kind',
      wrong: /"ratio"/,
      right: /ratiometric or regulated/,
    },
    {
      from: 'at: 80 kPa, branch: falling',
      to: 'at: 80 kPa, branch: down',
      key: 'points.80-kpa.branch',
      wrong: /"down"/,
      right: /falling, rising/,
    },
    {
      from: 'at: barometer',
      to: 'at: ambient',
      key: 'points.ambient.at',
      wrong: /"ambient"/,
      right: /barometer, or a pressure/,
    },
    {
      from: 'load: 51 kOhm to ground',
      to: 'load: 51 kOhm',
      key: 'load',
      wrong: /where the load goes/,
      right: /51 kOhm to ground, or to supply/,
    },
    {
      from: 'audit: simple',
      to: 'audit: strict',
      key: 'decision rules.audit',
      wrong: /"strict"/,
      right: /simple, or guard band 1.645/,
    },
    { from: 'lag-by-areas 1', to: 'lag-by-eye 1', key: 'lag.method', wrong: /"lag-by-eye 1"/, right: /lag-by-areas 1/ },
    {
      from: 'lag-by-areas 1',
      to: 'lag-by-areas',
      key: 'lag.method',
      wrong: /no method with its version/,
      right: /lag-by-areas 1/,
    },
    {
      from: 'simultaneous-reference 1',
      to: 'simultaneous-reference 2',
      key: 'point method',
      wrong: /"simultaneous-reference 2"/,
      right: /simultaneous-reference 1/,
    },
    { from: '  80-kpa: {', to: '  80 kPa: {', key: 'points.80 kPa', wrong: /"80 kPa"/, right: /small letters/ },
    { from: '  hot: {', to: '  warm: {', key: 'conditions.warm', wrong: /"warm"/, right: /cold, ambient, hot/ },
  ],
  'out-of-range': [
    {
      from: 'stabilise: 2.8 s',
      to: 'stabilise: 2.75 s',
      key: 'leak hold.stabilise',
      wrong: /"2.75 s" is no whole number of steps/,
      right: /a multiple of 20 ms/,
    },
    {
      from: 'present above: 1 mA',
      to: 'present above: 0 mA',
      key: 'supply.present above',
      wrong: /"0 mA" is too small/,
      right: /more than 0 mA/,
    },
    { from: 'revision: 3\n', to: 'revision: 0\n', key: 'revision', wrong: /too small/, right: /at least 1/ },
    { from: 'revision: 3\n', to: 'revision: 1.5\n', key: 'revision', wrong: /whole number/, right: /whole number/ },
    {
      from: 'settle: 60 ms',
      to: 'settle: 0.5 ms',
      key: 'supply.settle',
      wrong: /whole number/,
      right: /whole milliseconds/,
    },
    {
      from: 'fill: 0.6 s',
      to: 'fill: 0.01 s',
      key: 'leak hold.fill',
      wrong: /"0.01 s" is too small/,
      right: /at least 40 ms/,
    },
    {
      from: 'fill: 0.6 s',
      to: 'fill: 1 h',
      key: 'leak hold.fill',
      wrong: /"1 h" is too large/,
      right: /at most 600000 ms/,
    },
    {
      from: 'error: 1.5 kPa',
      to: 'error: 0 kPa',
      key: 'error band.error',
      wrong: /"0 kPa" is too small/,
      right: /at least 0.01 kPa/,
    },
    {
      from: 'slope: 0.009 /kPa',
      to: 'slope: -0.009 /kPa',
      key: 'transfer.slope',
      wrong: /too small/,
      right: /at least 0.0001 \/kPa/,
    },
    {
      from: 'guard band 1.645\n  audit',
      to: 'guard band 9\n  audit',
      key: 'decision rules.line',
      wrong: /"guard band 9" is too large/,
      right: /at most 4/,
      on: 'line: guard band 9',
    },
    {
      from: 'title: Manifold absolute pressure sensor, 1 bar, 5 V ratiometric',
      to: "title: ''",
      key: 'title',
      wrong: /too small/,
      right: /at least 1 letter/,
    },
  ],
  'limits-cross': [
    {
      from: 'allowed: 4.75 V to 5.25 V',
      to: 'allowed: 5.25 V to 4.75 V',
      key: 'supply.allowed',
      wrong: /5.25 V is not below 4.75 V/,
      right: /4.75 V to 5.25 V/,
    },
    {
      from: 'current: 3 mA to 10 mA',
      to: 'current: 10 mA to 3 mA',
      key: 'supply.current',
      wrong: /10 mA is not below 3 mA/,
      right: /3 mA to 10 mA/,
    },
    {
      from: 'rated pressure: 15 kPa to 115 kPa',
      to: 'rated pressure: 115 kPa to 15 kPa',
      key: 'rated pressure',
      wrong: /115 kPa/,
      right: /15 kPa to 115 kPa/,
    },
    { from: 'clamps: 0.02 to 0.98', to: 'clamps: 0.98 to 0.02', key: 'clamps', wrong: /0.98/, right: /0.02 to 0.98/ },
  ],
  'class-mismatch': [
    {
      from: 'pressure class: 1 bar',
      to: 'pressure class: 2 bar',
      key: 'pressure class',
      wrong: /115 kPa is not of the 2 bar class/,
      right: /170 to 250 kPa/,
    },
  ],
  'serial-pattern': [
    {
      from: 'pattern: "AQ1105-[A-Z0-9-]{4,13}"',
      to: "pattern: '[A-Z'",
      key: 'serial.pattern',
      wrong: /no regular expression/,
      right: /such as/,
    },
    {
      from: 'pattern: "AQ1105-[A-Z0-9-]{4,13}"',
      to: "pattern: 'A)|(B'",
      key: 'serial.pattern',
      wrong: /no regular expression/,
      right: /such as/,
    },
    {
      from: 'pattern: "AQ1105-[A-Z0-9-]{4,13}"',
      to: "pattern: '.*'",
      key: 'serial.pattern',
      wrong: /no serial at all/,
      right: /such as/,
    },
  ],
  'supply-outside-allowed': [
    {
      from: 'nominal: 5 V',
      to: 'nominal: 5.5 V',
      key: 'supply.nominal',
      wrong: /5.5 V is outside/,
      right: /4.75 V to 5.25 V/,
    },
  ],
  'presence-not-below-current': [
    {
      from: 'present above: 1 mA',
      to: 'present above: 3 mA',
      key: 'supply.present above',
      wrong: /3 mA is not below/,
      right: /below 3 mA/,
    },
  ],
  'clamp-unit': [
    {
      from: 'clamps: 0.02 to 0.98',
      to: 'clamps: 0.1 V to 4.9 V',
      key: 'clamps',
      wrong: /written as volts/,
      right: /0.02 to 0.98/,
    },
  ],
  'rated-output-outside-clamps': [
    {
      from: 'slope: 0.009 /kPa',
      to: 'slope: 0.09 /kPa',
      key: 'transfer',
      wrong: /6.275 V at 15 kPa and 51.275 V at 115 kPa, 450 mV\/kPa/,
      right: /0.1 V and 4.9 V/,
    },
    {
      from: 'offset: -0.095',
      to: 'offset: -0.95',
      key: 'transfer',
      wrong: /-4.075 V at 15 kPa/,
      right: /0.1 V and 4.9 V/,
    },
  ],
  'rated-range-without-ambient': [
    {
      from: '15 kPa to 115 kPa',
      to: '15 kPa to 101 kPa',
      key: 'rated pressure',
      wrong: /85 to 105 kPa/,
      right: /85 to 105 kPa/,
    },
  ],
  'factors-unsorted': [
    {
      from: '    -40 °C: 3\n    0 °C: 1\n',
      to: '    0 °C: 1\n    -40 °C: 3\n',
      key: 'error band.factors.-40 °C',
      wrong: /-40 °C comes after 0 °C/,
      right: /coldest first/,
      on: '    -40 °C: 3',
    },
    {
      from: '    0 °C: 1\n',
      to: '    0 °C: 1\n    0 C: 1\n',
      key: 'error band.factors.0 C',
      wrong: /0 °C comes after 0 °C/,
      right: /once/,
      on: '    0 C: 1',
    },
  ],
  'factors-do-not-cover': [
    {
      from: '    -42 °C: 3\n',
      to: '',
      key: 'error band.factors',
      wrong: /from -40 °C .* cold .* from -42 °C to -38 °C/,
      right: /from -42 °C/,
      on: '  factors:',
    },
    { from: '    127 °C: 3\n', to: '', key: 'error band.factors', wrong: /hot/, right: /to 127 °C/, on: '  factors:' },
  ],
  'condition-missing': [
    {
      from: '  ambient: { target: 23 °C, tolerance: 10 K, soak: 0 min }\n',
      to: '',
      key: 'conditions',
      wrong: /no ambient/,
      right: /ambient: \{ target: 23 °C/,
      on: 'conditions:',
    },
  ],
  'condition-duplicate': [],
  'conditions-overlap': [
    {
      from: 'target: 23 °C, tolerance: 10 K',
      to: 'target: 23 °C, tolerance: 70 K',
      key: 'conditions.ambient',
      wrong: /ambient reaches down to -47 °C and cold up to -38 °C/,
      right: /above -38 °C/,
    },
  ],
  'over-pressure': [
    {
      from: 'over-pressure: 400 kPa',
      to: 'over-pressure: 110 kPa',
      key: 'over-pressure',
      wrong: /110 kPa is not above the rated 115 kPa/,
      right: /above 115 kPa/,
    },
  ],
  'leak-pressure': [
    {
      from: 'pressure: 150 kPa',
      to: 'pressure: 400 kPa',
      on: '  pressure: 400 kPa',
      key: 'leak hold.pressure',
      wrong: /not below the over-pressure of 400 kPa/,
      right: /below 400 kPa/,
    },
    {
      from: 'pressure: 150 kPa',
      to: 'pressure: 100 kPa',
      key: 'leak hold.pressure',
      wrong: /not above every barometer/,
      right: /above 105 kPa/,
    },
  ],
  'gross-not-above-limit': [
    {
      from: 'gross from: 5 std cm3/min',
      to: 'gross from: 0.5 std cm3/min',
      key: 'leak hold.gross from',
      wrong: /not above the limit of 0.5/,
      right: /more than 0.5/,
    },
  ],
  'plausibility-too-narrow': [
    {
      from: 'within: 10 kPa',
      to: 'within: 4 kPa',
      key: 'ambient check.within',
      wrong: /widest band, 4.5 kPa/,
      right: /more than 4.5 kPa/,
    },
  ],
  'point-duplicate': [],
  'point-reserved': [
    { from: '  20-kpa: {', to: '  noise: {', key: 'points.noise', wrong: /step of every cycle/, right: /noise-point/ },
  ],
  'point-outside-rating': [
    {
      from: 'at: 20 kPa',
      to: 'at: 14 kPa',
      key: 'points.20-kpa.at',
      wrong: /outside the rated 15 to 115 kPa/,
      right: /15 to 115 kPa/,
    },
  ],
  'point-beyond-clamps': [
    {
      from: 'at: 20 kPa',
      to: 'at: 17 kPa',
      key: 'points.20-kpa.at',
      wrong: /0.0875 V to 0.4925 V .* 0.1 V/,
      right: /between 17.2778 kPa and 114.944 kPa/,
    },
  ],
  'point-branch': [
    {
      from: 'at: 80 kPa, branch: falling',
      to: 'at: 80 kPa, branch: rising',
      key: 'points.80-kpa.branch',
      wrong: /80-kpa at 80 kPa is marked rising, and comes after ambient at 85 to 105 kPa/,
      right: /falling/,
    },
    {
      from: 'at: 80 kPa',
      to: 'at: 90 kPa',
      key: 'points.80-kpa.branch',
      wrong: /ambient at 85 to 105 kPa/,
      right: /below 85 kPa \(falling\) or above 105 kPa \(rising\)/,
    },
    {
      from: '  ambient: { at: barometer, branch: falling',
      to: '  ambient: { at: barometer, branch: rising',
      key: 'points.ambient.branch',
      wrong: /after the leak hold at 135 to 150 kPa/,
      right: /falling/,
    },
  ],
  'audit-points-none': [
    {
      from: `audit points:\n${wayBack}\n${supplySteps}\n`,
      to: 'audit points: {}\n',
      key: 'audit points',
      wrong: /nothing is asked for/,
      right: /way back, or supply/,
    },
  ],
  'audit-point-unknown': [
    {
      from: 'over: 40-kpa 60-kpa 80-kpa',
      to: 'over: 40-kpa 60-kpa 85-kpa',
      key: 'audit points.way back.over',
      wrong: /"85-kpa" is no point of this profile/,
      right: /some of 40-kpa 60-kpa 80-kpa$/,
    },
  ],
  'audit-point-duplicate': [
    {
      from: 'over: 40-kpa 60-kpa 80-kpa',
      to: 'over: 40-kpa 60-kpa 60-kpa',
      key: 'audit points.way back.over',
      wrong: /"60-kpa" is taken twice/,
      right: /each point once/,
    },
  ],
  'audit-point-first': [
    {
      from: 'over: 40-kpa 60-kpa 80-kpa',
      to: 'over: 40-kpa 60-kpa 80-kpa ambient',
      key: 'audit points.way back.over',
      wrong: /ambient is where an audit in a chamber begins, without a leak hold/,
      right: /some of 40-kpa 60-kpa 80-kpa$/,
    },
  ],
  'audit-point-branch': [
    {
      from: 'over: 40-kpa 60-kpa 80-kpa',
      to: 'over: 60-kpa 40-kpa 80-kpa',
      key: 'audit points.way back.over',
      wrong: /40-kpa at 40 kPa is falling on the line, and is not met rising after 60-kpa at 60 kPa/,
      right: /a point above 60 kPa, the lowest first/,
    },
    {
      from: 'over: 40-kpa 60-kpa 80-kpa',
      to: 'over: 20-kpa 40-kpa 60-kpa 80-kpa',
      key: 'audit points.way back.over',
      wrong: /20-kpa at 20 kPa is falling on the line, and is not met rising after 20-kpa at 20 kPa/,
      right: /a point above 20 kPa, the lowest first/,
    },
  ],
  'audit-supply-place': [
    {
      from: 'over: 40-kpa 60-kpa 80-kpa',
      to: 'over: 40-kpa 80-kpa',
      key: 'audit points.supply.at',
      wrong: /after the line's points no audit stands at 60-kpa/,
      right: /one of 20-kpa, 40-kpa, 80-kpa/,
      on: 'supply: { method: supply-step 1',
    },
    {
      from: 'supply-step 1, at: 60-kpa',
      to: 'supply-step 1, at: 61-kpa',
      key: 'audit points.supply.at',
      wrong: /"61-kpa" is no point of this profile/,
      right: /one of 20-kpa, 40-kpa, 60-kpa, 80-kpa/,
    },
  ],
  'audit-supply-outside-allowed': [
    {
      from: 'low: 4.85 V',
      to: 'low: 4.6 V',
      key: 'audit points.supply.low',
      wrong: /set to 4.6 V may be 1 % off, beyond the allowed 4.75 V to 5.25 V/,
      right: /4.798 V to 4.9 V/,
    },
    {
      from: 'high: 5.15 V',
      to: 'high: 5.25 V',
      key: 'audit points.supply.high',
      wrong: /set to 5.25 V may be 1 % off/,
      right: /5.1 V to 5.198 V/,
    },
  ],
  'audit-supply-too-near': [
    {
      from: 'high: 5.15 V',
      to: 'high: 4.9 V',
      key: 'audit points.supply.high',
      wrong: /4.9 V is not above the nominal 5 V by 2 %/,
      right: /5.1 V to 5.198 V/,
    },
    {
      from: 'low: 4.85 V',
      to: 'low: 4.95 V',
      key: 'audit points.supply.low',
      wrong: /4.95 V is not below the nominal 5 V by 2 %/,
      right: /4.798 V to 4.9 V/,
    },
  ],
  'lag-point': [
    {
      from: 'on point: 60-kpa',
      to: 'on point: 50-kpa',
      key: 'lag.on point',
      wrong: /"50-kpa" is no point/,
      right: /one of 60-kpa, 40-kpa, 20-kpa/,
    },
    {
      from: 'on point: 60-kpa',
      to: 'on point: ambient',
      key: 'lag.on point',
      wrong: /after the leak hold/,
      right: /one of 60-kpa, 40-kpa, 20-kpa/,
    },
  ],
  'lag-travel': [
    {
      from: 'on point: 60-kpa',
      to: 'on point: 80-kpa',
      key: 'lag.on point',
      wrong: /as little as 5 kPa/,
      right: /one of 60-kpa, 40-kpa, 20-kpa/,
    },
  ],
  'lag-dwell': [
    {
      from: 'at: 60 kPa, branch: falling, dwell: 0.6 s',
      to: 'at: 60 kPa, branch: falling, dwell: 90 ms',
      key: 'points.60-kpa.dwell',
      wrong: /90 ms is too short for a lag of up to 20 ms/,
      right: /at least 100 ms/,
    },
  ],
  'noise-limit': [
    {
      from: 'limit: 5 mV',
      to: 'limit: 70 mV',
      key: 'noise.limit',
      wrong: /0.07 V is as large as the error band, 0.0675 V/,
      right: /below 0.0675 V/,
    },
  ],
};

const rows = Object.entries(wrongProfiles).flatMap(([code, list]) =>
  list.map((row) => ({ ...row, code, shown: row.to.trim().slice(0, 60) })),
);

function problemsOf(wrong: string): readonly ProfileProblem[] {
  const file = readProfileFile(wrong, 'AQ-1105.yaml');
  return file.ok ? [] : file.problems;
}

describe('a wrong profile is refused with line, key, what is wrong and what would be right', () => {
  test.each(rows)('$code: $shown', (row) => {
    const wrong = rewritten(text, row.from, row.to);
    const problem = problemsOf(wrong).find(({ code, key }) => code === row.code && key === row.key);
    expect(problem, problemsOf(wrong).map(problemLine).join('\n')).toBeDefined();
    expect(problem?.wrong).toMatch(row.wrong);
    expect(problem?.right).toMatch(row.right);
    if (row.on !== '')
      expect(problem?.line).toBe(row.on === '#' ? 1 : lineOf(wrong, row.on ?? row.to.split('\n')[0] ?? ''));
  });

  test('and with nothing else when one thing is wrong', () => {
    const alone = rows.filter(({ from, to }) => problemsOf(rewritten(text, from, to)).length === 1);
    expect(rows.length - alone.length).toBeLessThanOrEqual(5);
  });

  test('the column points at the value', () => {
    const [problem] = problemsOf(rewritten(text, 'nominal: 5 V', 'nominal: 5'));
    expect(problem).toMatchObject({ file: 'AQ-1105.yaml', line: lineOf(text, 'nominal: 5 V'), column: 12 });
    expect(problem && problemLine(problem)).toMatch(
      /^AQ-1105\.yaml:\d+:12: supply\.nominal: "5" has no unit; right: one of 5 V, 5 mV$/,
    );
  });
});

describe('a file with several mistakes', () => {
  test('is refused with all of them, in the order of the file', () => {
    let wrong = rewritten(text, 'nominal: 5 V', 'nominal: 5');
    wrong = rewritten(wrong, 'stabilise: 2.8 s', 'stabilize: 2.8 s');
    wrong = rewritten(
      wrong,
      'branch: falling, dwell: 0.6 s, aperture: 0.1 s }\n  40',
      'branch: down, dwell: 600, aperture: 0.1 s }\n  40',
    );
    wrong = rewritten(wrong, 'audit: simple', 'audit: guard band 9');
    const problems = problemsOf(wrong);
    expect(problems.map(({ code, key }) => `${code} ${key}`)).toEqual([
      'unit supply.nominal',
      'unknown-key leak hold.stabilize',
      'word points.60-kpa.branch',
      'unit points.60-kpa.dwell',
      'out-of-range decision rules.audit',
    ]);
  });

  test('is refused with all that contradict one another', () => {
    let wrong = rewritten(text, 'nominal: 5 V', 'nominal: 5.5 V');
    wrong = rewritten(wrong, 'gross from: 5 std', 'gross from: 0.5 std');
    wrong = rewritten(wrong, 'on point: 60-kpa', 'on point: 80-kpa');
    expect(problemsOf(wrong).map(({ code }) => code)).toEqual([
      'supply-outside-allowed',
      'gross-not-above-limit',
      'lag-travel',
    ]);
  });
});

test('a decimal comma between braces is named as what it is', () => {
  const problems = problemsOf(rewritten(text, 'target: 23 °C, tolerance: 10 K', 'target: 23 °C, tolerance: 7,5 K'));
  expect(problems.map(({ code, right }) => `${code}: ${right}`)).toEqual([
    'unit: one of 7 K',
    'unknown-key: a point in place of the comma before it',
  ]);
});

describe('a file that is no profile at all', () => {
  test.each([
    ['nothing', ''],
    ['a comment', '# soon\n'],
    ['a list', '- a\n- b\n'],
    ['one word', 'profile'],
  ])('%s lacks its keys', (_, wrong) => {
    const [problem] = problemsOf(wrong);
    expect(problem).toMatchObject({ code: 'not-a-group', line: 1, column: 1 });
    expect(problem?.right).toMatch(/part number/);
  });

  test('two documents are refused', () => {
    expect(problemsOf(`${text}---\n${text}`)[0]).toMatchObject({ code: 'not-yaml' });
  });

  test.each([
    ['nothing but brackets', '['.repeat(30_000)],
    ['nothing but brackets, a line each', '[\n'.repeat(15_000)],
    ['a list in a list in a list', `${'- '.repeat(15_000)}a`],
    ['a group in a group in a group', '{a: '.repeat(9_000)],
    ['more text than a profile has', `# ${'x'.repeat(100)}\n`.repeat(500)],
  ])('%s is too large, and is not even tried', (_, wrong) => {
    const [problem] = problemsOf(wrong);
    expect(problem).toMatchObject({ code: 'too-large', line: 1 });
    expect(problem?.right).toMatch(/at most/);
  });

  test('the deepest nesting that its bounds allow is refused without harm', () => {
    const steps = Array.from({ length: 200 }, (_, depth) => `${' '.repeat(depth)}a:`).join('\n');
    for (const wrong of ['['.repeat(200), '- '.repeat(199), '? '.repeat(199), steps]) {
      expect(problemsOf(wrong).length).toBeGreaterThan(0);
    }
  });
});

test('a file from another system, with a byte-order mark and its own line ends, is the same profile', () => {
  const plain = readProfileFile(text, 'AQ-1105.yaml');
  const other = readProfileFile(`\ufeff${text.replaceAll('\n', '\r\n')}`, 'AQ-1105.yaml');
  expect(other.ok && plain.ok && other.content).toEqual(plain.ok && plain.content);
});

describe('whatever the text', () => {
  const wellSaid = (problems: readonly ProfileProblem[]): boolean =>
    problems.length > 0 &&
    problems.every(
      ({ line, column, wrong, right, code }) =>
        line >= 1 && column >= 1 && wrong !== '' && right !== '' && code.length > 0,
    );

  const isReadOrRefused = (given: string): boolean => {
    const file = readProfileFile(given, 'AQ-1105.yaml');
    return file.ok || wellSaid(file.problems);
  };

  test('it is read or refused, never thrown on', () => {
    fc.assert(fc.property(fc.string({ unit: 'binary', maxLength: 400 }), isReadOrRefused), { numRuns: 500 });
  });

  test('a profile with a piece cut out, doubled or put elsewhere is read or refused, never thrown on', () => {
    const spot = fc.nat({ max: text.length });
    const length = fc.integer({ min: 1, max: 60 });
    fc.assert(
      fc.property(spot, length, spot, fc.constantFrom('cut', 'double', 'move'), (from, count, to, kind) => {
        const piece = text.slice(from, from + count);
        const without = kind === 'double' ? text : text.slice(0, from) + text.slice(from + count);
        return isReadOrRefused(kind === 'cut' ? without : without.slice(0, to) + piece + without.slice(to));
      }),
      { numRuns: 300 },
    );
  });

  const signs = '{ } [ ] : , - ? & * ! | > \' " % @ # 0 °'.split(' ').concat('\t', '\n', ' ');

  test('a profile with a few characters exchanged is read or refused, never thrown on', () => {
    const change = fc.tuple(fc.nat({ max: text.length }), fc.constantFrom(...signs));
    fc.assert(
      fc.property(fc.array(change, { minLength: 1, maxLength: 4 }), (changes) => {
        const given = changes.reduce((so, [spot, sign]) => so.slice(0, spot) + sign + so.slice(spot + 1), text);
        return isReadOrRefused(given);
      }),
      { numRuns: 500 },
    );
  });
});
