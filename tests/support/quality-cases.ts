import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { answer } from '../../server/cli/calc/answer.ts';
import type { Topic } from '../../server/cli/calc/topic.ts';

/** One case of the quality reference set; how to compare is said in tests/reference/README.md. */
export interface QualityCase {
  readonly id: string;
  readonly input: Readonly<Record<string, unknown>>;
  readonly expected: unknown;
  readonly tolerance: Readonly<Record<string, number>>;
  readonly source: string;
}

/** The files of the reference set; each is answered by the topic of its name. */
export const QUALITY_SETS: readonly string[] = [
  ...['distributions', 'summary', 'capability', 'tolerance', 'normality', 'chart-constants', 'control-rules', 'gauge'],
  ...['sampling', 'acceptance-tables', 'risk', 'agreement', 'sensor-fit'],
];

/** The cases of a topic as the reference set has them. */
export function qualityCases(topic: string): readonly QualityCase[] {
  const path = join(import.meta.dirname, '../reference/quality', `${topic}.json`);
  return (JSON.parse(readFileSync(path, 'utf8')) as { cases: QualityCase[] }).cases;
}

/** What the comparison of one case found. */
export interface Comparison {
  /** One text for each value that is not as expected; empty when all are. */
  readonly misses: readonly string[];
  /** Numbers compared by a tolerance (printed values, which are rounded, not among them). */
  readonly compared: number;
  /** Largest |got - expected| / |expected| among them; numbers below 1000 times an absolute tolerance are left out. */
  readonly worst: number;
}

/** Answers a case as `barolot calc` does and compares every expected value with what comes back. */
export function compareCase(topic: Topic, given: QualityCase): Comparison {
  const answered = answer(topic, given.input);
  if ('problem' in answered) return { misses: [answered.problem.detail], compared: 0, worst: 0 };
  const misses: string[] = [];
  let compared = 0;
  let worst = 0;

  const number = (path: string, key: string, expected: number, got: unknown): void => {
    if (typeof got !== 'number') {
      misses.push(`${path}: ${JSON.stringify(got)}, expected ${expected}`);
      return;
    }
    const error = Math.abs(got - expected);
    const { relative, absolute } = allowed(given.tolerance, key, expected);
    // Exactly as the set says: relative, or absolute where one is given.
    if (error > relative * Math.abs(expected) && !(absolute !== null && error <= absolute)) {
      misses.push(`${path}: ${got}, expected ${expected}`);
    }
    compared += 1;
    // Beside an absolute tolerance, a value near zero has no relative error worth the name.
    if (Math.abs(expected) > 1000 * (absolute ?? 0)) worst = Math.max(worst, error / Math.abs(expected));
  };

  const walk = (path: string, key: string, expected: unknown, got: unknown): void => {
    if (typeof expected === 'number') number(path, key, expected, got);
    else if (Array.isArray(expected)) {
      if (!Array.isArray(got) || got.length !== expected.length) {
        misses.push(`${path}: ${JSON.stringify(got)}, expected ${expected.length} values`);
      } else {
        for (const [i, each] of expected.entries()) walk(`${path}[${i}]`, key, each, got[i]);
      }
    } else if (typeof expected === 'object' && expected !== null) {
      for (const [name, each] of Object.entries(expected)) {
        if (isPrinted(name)) continue;
        walk(path === '' ? name : `${path}.${name}`, name, each, (got as Record<string, unknown> | null)?.[name]);
      }
    } else if (got !== expected) {
      misses.push(`${path}: ${JSON.stringify(got)}, expected ${JSON.stringify(expected)}`);
    }
  };
  walk('', '', given.expected, answered.result);
  return { misses, compared, worst };
}

/** Values as printed in a source, rounded: tests compare them by name, at their printed precision. */
const isPrinted = (name: string): boolean => name.startsWith('published_') || name.startsWith('certified_');

function allowed(
  tolerance: Readonly<Record<string, number>>,
  key: string,
  expected: number,
): { relative: number; absolute: number | null } {
  const own = (kind: string): number | undefined =>
    tolerance[`${key}_${kind}`] ?? (key === 'lag1_autocorrelation' ? tolerance[`lag1_${kind}`] : undefined);
  const absolute = own('absolute') ?? tolerance['absolute'] ?? null;
  const relative = own('relative') ?? tolerance['relative'] ?? 0;
  return { relative, absolute: absolute ?? (expected === 0 && relative > 0 ? 1e-12 : null) };
}
