import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { checkContent } from '../../../station/profile/checks.ts';
import { outputLimits } from '../../../station/profile/limit.ts';
import { checkAgainstRig } from '../../../station/profile/rig-fit.ts';
import { ProfileContent } from '../../../station/profile/schema.ts';
import { shippedContent, shippedPartNumbers } from '../../support/profile-text.ts';

const content = shippedContent('AQ-1105');
const { auditPoints: _, ...lineOnly } = content;

type Path = readonly (string | number)[];

function numbersIn(value: unknown, path: Path = []): Path[] {
  if (typeof value === 'number') return [path];
  if (typeof value !== 'object' || value === null) return [];
  return Object.entries(value).flatMap(([key, inner]) =>
    numbersIn(inner, [...path, Array.isArray(value) ? Number(key) : key]),
  );
}

function withValue(value: unknown, path: Path, put: number): unknown {
  const [key, ...rest] = path;
  if (key === undefined) return put;
  if (Array.isArray(value)) {
    return value.map((inner: unknown, index) => (index === key ? withValue(inner, rest, put) : inner));
  }
  const group = value as Record<string, unknown>;
  return { ...group, [key]: withValue(group[key], rest, put) };
}

const at = (value: unknown, path: Path): unknown =>
  path.reduce<unknown>((inner, key) => (inner as Record<string | number, unknown>)[key], value);

describe('a content that did not come from a file', () => {
  test('may not have a condition twice', () => {
    const [cold, ambient] = content.conditions;
    const twice = { ...content, conditions: [cold, ambient, ambient].filter((one) => one !== undefined) };
    expect(checkContent(twice)).toMatchObject([
      { code: 'condition-duplicate', path: ['conditions', 2], wrong: '"ambient" stands twice' },
    ]);
  });

  test('may not have two points of one name', () => {
    const points = content.points.map((point) => (point.id === '20-kpa' ? { ...point, id: '40-kpa' } : point));
    expect(checkContent({ ...content, points })).toMatchObject([
      { code: 'point-duplicate', path: ['points', 4, 'id'], right: 'a name of its own, such as 40-kpa-2' },
    ]);
  });

  test('may have a part without a serial', () => {
    expect(checkContent({ ...content, serial: { rule: 'unserialised' } })).toEqual([]);
  });

  test('may return to ambient on the other branch', () => {
    const [ambient] = content.points;
    const points = [...content.points, ambient && { ...ambient, id: 'ambient-again', branch: 'rising' as const }];
    expect(checkContent({ ...lineOnly, points: points.filter((point) => point !== undefined) })).toEqual([]);
  });

  test('may not have the same pressure twice running: it would be neither falling nor rising', () => {
    const last = content.points.at(-1);
    const points = [...content.points, last && { ...last, id: 'once-more' }];
    expect(checkContent({ ...content, points: points.filter((point) => point !== undefined) })).toMatchObject([
      { code: 'point-branch' },
    ]);
  });

  test('is told when no point is fit for the lag', () => {
    const [ambient] = content.points;
    const only = { ...lineOnly, points: ambient ? [ambient] : [], lag: { ...content.lag, onPoint: 'ambient' } };
    expect(checkContent(only)).toMatchObject([
      { code: 'lag-point', right: 'a point 10 kPa or more from the one before it' },
    ]);
  });
});

test('any numbers that the schema takes are checked without a throw, and each problem is at a place that exists', () => {
  const paths = shippedPartNumbers.flatMap((partNumber) =>
    numbersIn(shippedContent(partNumber)).map((path) => ({ partNumber, path })),
  );
  const number = fc.oneof(
    fc.double({ min: -50, max: 500, noNaN: true }),
    fc.integer({ min: 0, max: 5000 }),
    fc.constantFrom(0, 1, 1e-6),
  );
  fc.assert(
    fc.property(
      fc.array(fc.record({ pick: fc.constantFrom(...paths), put: number }), { minLength: 1, maxLength: 3 }),
      (changes) => {
        const partNumber = changes[0]?.pick.partNumber ?? 'AQ-1105';
        const raw = changes
          .filter(({ pick }) => pick.partNumber === partNumber)
          .reduce<unknown>((so, { pick, put }) => withValue(so, pick.path, put), shippedContent(partNumber));
        const changed = ProfileContent.safeParse(raw);
        if (!changed.success) return;
        const problems = checkContent(changed.data);
        for (const { path, wrong, right } of problems) {
          expect(at(changed.data, path)).toBeDefined();
          expect(`${wrong} ${right}`).not.toMatch(/NaN|undefined|Infinity/);
        }
        if (problems.length > 0) return;
        for (const { targetC, toleranceC } of changed.data.conditions) {
          const { lowV, highV } = outputLimits(changed.data, 80, targetC + toleranceC);
          expect(lowV).toBeLessThan(highV);
        }
      },
    ),
    { numRuns: 800 },
  );
});

describe('a profile against a rig', () => {
  const rig = {
    pressureKpaAbs: { low: 6, high: 350 },
    transducerKpaAbs: 360,
    loads: [{ ohm: 51_000, to: 'ground' }],
  } as const;

  test('fits when the rig can make and read its pressures and has its load', () => {
    expect(checkAgainstRig(content, rig)).toEqual([]);
  });

  test('does not fit when a pressure cannot be set', () => {
    const problems = checkAgainstRig(content, { ...rig, pressureKpaAbs: { low: 25, high: 140 } });
    expect(problems).toEqual([
      {
        code: 'rig-pressure',
        path: ['leakHold', 'testKpaAbs'],
        wrong: 'this rig cannot set 150 kPa',
        right: '25 to 140 kPa',
      },
      {
        code: 'rig-pressure',
        path: ['points', 4, 'at', 'kPaAbs'],
        wrong: 'this rig cannot set 20 kPa',
        right: '25 to 140 kPa',
      },
    ]);
  });

  test('does not fit when a transducer cannot read the leak hold', () => {
    expect(checkAgainstRig(content, { ...rig, transducerKpaAbs: 150 })).toMatchObject([
      { code: 'rig-transducer', path: ['leakHold', 'testKpaAbs'], right: 'below 150 kPa' },
    ]);
  });

  test('does not fit when the rig could hurt the part', () => {
    expect(checkAgainstRig(content, { ...rig, pressureKpaAbs: { low: 6, high: 450 } })).toMatchObject([
      {
        code: 'rig-over-pressure',
        path: ['overPressureKpaAbs'],
        wrong: 'this rig can make 450 kPa and the part bears 400 kPa',
      },
    ]);
  });

  test.each([
    { loads: [{ ohm: 51_000, to: 'supply' }] as const, right: 'one of 51000 Ω to supply' },
    { loads: [{ ohm: 10_000, to: 'ground' }] as const, right: 'one of 10000 Ω to ground' },
    { loads: [], right: 'a rig with loads' },
  ])('does not fit without its load: $right', ({ loads, right }) => {
    expect(checkAgainstRig(content, { ...rig, loads })).toMatchObject([{ code: 'rig-load', path: ['load'], right }]);
  });
});
