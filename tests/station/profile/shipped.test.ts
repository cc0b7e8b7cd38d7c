import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { readProfileFile } from '../../../station/profile/file.ts';
import { LAYOUT } from '../../../station/profile/layout.ts';
import type { Shape } from '../../../station/profile/layout.ts';
import { largestFactor, outputLimits } from '../../../station/profile/limit.ts';
import { problemLine } from '../../../station/profile/problem.ts';
import { DIMENSIONS } from '../../../station/profile/quantity.ts';
import { checkAgainstRig } from '../../../station/profile/rig-fit.ts';
import type { ProfileContent } from '../../../station/profile/schema.ts';
import { clampsV, endPoints, outputAt, pressureFrom } from '../../../station/profile/transfer.ts';
import { defaultRig } from '../../../station/rig/simulated/truth.ts';
import {
  profileFolder,
  rewritten,
  shippedContent,
  shippedPartNumbers,
  shippedText,
} from '../../support/profile-text.ts';

const all = shippedPartNumbers.map(shippedContent);
const fiveVolt = all.filter(({ supply, load }) => supply.nominalV === 5 && load.ohm === 51_000);

test('five part numbers ship: 1, 2 and 3 bar, and the 1 bar also for 12 V and for heat', () => {
  expect(shippedPartNumbers).toEqual(['AQ-1105', 'AQ-1107', 'AQ-1112', 'AQ-2105', 'AQ-3105']);
  expect(all.map(({ pressureClass }) => pressureClass)).toEqual(['1 bar', '1 bar', '1 bar', '2 bar', '3 bar']);
});

test.each(shippedPartNumbers)('%s spells its units the one way that messages spell them', (partNumber) => {
  const written = shippedText(partNumber).replaceAll(/#.*|cm3\/min/g, '');
  expect(written).not.toMatch(
    /\d\s*(?:C|uA|ohm|kohm|psia|bara|degC|[kM]?Ω)\b|\d[a-zA-Z°%/]|abs\b|[³\u2126\u2212\u00a0]/,
  );
});

test.each(all)('$partNumber reads in volts what its print would say', (content) => {
  const { transfer, ratedKpaAbs, supply } = content;
  const ends = endPoints(transfer, ratedKpaAbs, supply.nominalV);
  const expected = {
    'AQ-1105': { lowV: 0.2, highV: 4.7, slopeVPerKpa: 0.045 },
    'AQ-1107': { lowV: 0.2, highV: 4.7, slopeVPerKpa: 0.045 },
    'AQ-1112': { lowV: 0.5, highV: 4.5, slopeVPerKpa: 0.04 },
    'AQ-2105': { lowV: 0.2, highV: 4.7, slopeVPerKpa: 0.025 },
    'AQ-3105': { lowV: 0.2, highV: 4.68, slopeVPerKpa: 0.016 },
  }[String(content.partNumber)];
  expect(ends.lowV).toBeCloseTo(expected?.lowV ?? NaN, 9);
  expect(ends.highV).toBeCloseTo(expected?.highV ?? NaN, 9);
  expect(ends.slopeVPerKpa).toBeCloseTo(expected?.slopeVPerKpa ?? NaN, 9);
});

test('at sea level a 1 bar part reads 4.08 V, within the 4.0 to 4.8 V of engine off (common practice, no source)', () => {
  const outputV = (partNumber: string): number => outputAt(shippedContent(partNumber).transfer, 101.325, 5);
  expect(outputV('AQ-1105')).toBeCloseTo(4.084625, 6);
  expect(outputV('AQ-2105')).toBeCloseTo(2.233125, 6);
  expect(outputV('AQ-3105')).toBeCloseTo(1.5012, 6);
});

test('AQ-1107 is allowed 1.75 times the error in the heat where AQ-1105 is allowed 3 times', () => {
  const band = (partNumber: string): number => outputLimits(shippedContent(partNumber), 60, 125).bandKpa;
  expect(band('AQ-1105')).toBeCloseTo(4.5, 9);
  expect(band('AQ-1107')).toBeCloseTo(2.625, 9);
});

test.each(all)('$partNumber is judged at any temperature that a condition lets through', (content) => {
  for (const { targetC, toleranceC } of content.conditions) {
    for (const partC of [targetC - toleranceC, targetC, targetC + toleranceC]) {
      expect(outputLimits(content, 80, partC).bandKpa).toBeGreaterThanOrEqual(content.errorBand.kPa);
    }
  }
});

test.each(all)('$partNumber can be tested on the rig that is simulated', (content) => {
  const { loads } = defaultRig({ nests: 2 });
  expect(checkAgainstRig(content, { pressureKpaAbs: { low: 6, high: 350 }, transducerKpaAbs: 390, loads })).toEqual([]);
});

describe('the README beside the profiles', () => {
  const readme = readFileSync(join(profileFolder, 'README.md'), 'utf8');

  test('explains every key and every unit', () => {
    const words = [...keysOf(LAYOUT), ...Object.values(DIMENSIONS).flatMap(({ units }) => Object.keys(units))];
    expect(words.filter((word) => word !== '' && !readme.includes(word))).toEqual([]);
    expect(Object.keys(LAYOUT.keys).filter((key) => !readme.includes(`\`${key}\``))).toEqual([]);
  });

  test('shows a refusal as it is given', () => {
    const file = readProfileFile(rewritten(shippedText('AQ-1105'), 'nominal: 5 V', 'nominal: 5'), 'AQ-1105.yaml');
    expect(file.ok ? '' : file.problems.map(problemLine).join()).toBe(/^AQ-1105\.yaml:.*$/m.exec(readme)?.[0]);
  });
});

describe('a part in the wrong nest', () => {
  const pairs = fiveVolt.flatMap((tested) =>
    fiveVolt
      .filter(({ transfer }) => JSON.stringify(transfer) !== JSON.stringify(tested.transfer))
      .map((loaded) => ({ tested, loaded, of: String(tested.partNumber), is: String(loaded.partNumber) })),
  );

  test.each(pairs)(
    '$is tested as $of is stopped before any fill, at any barometer and condition',
    ({ tested, loaded }) => {
      for (const kPaAbs of [85, 95, 105]) {
        for (const errorKpa of [-widestBand(loaded), 0, widestBand(loaded)]) {
          const { lowV, highV } = clampsV(loaded.clamps, 5);
          const outputV = Math.min(highV, Math.max(lowV, outputAt(loaded.transfer, kPaAbs + errorKpa, 5)));
          const offKpa = Math.abs(pressureFrom(tested.transfer, outputV, 5) - kPaAbs);
          expect(offKpa).toBeGreaterThan(tested.ambientPlausibility.withinKpa);
        }
      }
    },
  );

  test.each(all)(
    'a $partNumber whose offset is 5 kPa off at room temperature is measured and named, not stopped',
    (content) => {
      expect(content.ambientPlausibility.withinKpa).toBeGreaterThan(content.errorBand.kPa + 5);
    },
  );
});

function widestBand({ errorBand, conditions }: ProfileContent): number {
  const factors = conditions.map(({ targetC, toleranceC }) =>
    largestFactor(errorBand.factors, targetC - toleranceC, targetC + toleranceC),
  );
  return errorBand.kPa * Math.max(...factors);
}

function keysOf(shape: Shape): string[] {
  if (shape.shape === 'value') return [];
  if (shape.shape === 'table') return 'value' in shape.entry ? [] : keysOf(shape.entry);
  const groups = shape.shape === 'choice' ? Object.values(shape.of) : [shape.keys];
  return groups.flatMap((keys) => Object.entries(keys).flatMap(([key, { shape: inner }]) => [key, ...keysOf(inner)]));
}
