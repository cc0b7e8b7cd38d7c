import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { cruise } from 'dependency-cruiser';
import type { ICruiseOptions, ICruiseResult } from 'dependency-cruiser';
import extractDepcruiseOptions from 'dependency-cruiser/config-utl/extract-depcruise-options';
import extractTSConfig from 'dependency-cruiser/config-utl/extract-ts-config';
import { expect, test } from 'vitest';

const root = join(import.meta.dirname, '../..');
const fixture = join(import.meta.dirname, 'fixture');
const options = await extractDepcruiseOptions(join(root, '.config/dependency-cruiser.cjs'));
const forbidden = options.ruleSet?.forbidden ?? [];
const ruleNames = forbidden.map((rule) => rule.name ?? 'unnamed').sort();

test('no import goes against an arrow', async () => {
  const { summary } = await check(root, ['station', 'server', 'web', 'tests']);
  expect(found(summary)).toEqual([]);
  // A checker that cannot read TypeScript sees nothing and finds nothing: it must have seen the tree.
  const sources = ['station', 'server', 'tests'].flatMap((folder) => sourcesBelow(join(root, folder)));
  const ours = sources.filter((file) => !file.startsWith(fixture)).length;
  expect(ours).toBeGreaterThan(10);
  expect(summary.totalCruised).toBeGreaterThanOrEqual(ours);
  expect(summary.totalDependenciesCruised ?? 0).toBeGreaterThan(ours);
});

test('every rule finds its planted breach, and nothing else is found', async () => {
  const { summary } = await check(fixture, ['station', 'server', 'web', 'tests']);
  const planted = sourcesBelow(fixture).flatMap((file) =>
    plantedIn(file).map((rule) => `${rule}: ${file.slice(fixture.length + 1)}`),
  );
  expect(found(summary)).toEqual(planted.sort());
  expect(ruleNames.length).toBeGreaterThan(20);
  expect([...new Set(planted.map((line) => line.split(':')[0]))].sort()).toEqual(ruleNames);
});

async function check(baseDir: string, folders: string[]): Promise<ICruiseResult> {
  const all: ICruiseOptions = { ...options, baseDir, validate: true };
  const { output } = await cruise(folders, all, undefined, { tsConfig: extractTSConfig(join(root, 'tsconfig.json')) });
  if (typeof output === 'string') throw new Error(`The checker answered with text: ${output}`);
  return output;
}

function found(summary: ICruiseResult['summary']): string[] {
  return [...new Set(summary.violations.map(({ rule, from }) => `${rule.name}: ${from}`))].sort();
}

function plantedIn(file: string): string[] {
  const [, names = ''] = /^\/\/ breaks (.+)/.exec(readFileSync(file, 'utf8')) ?? [];
  return names.split(', ').filter((name) => name !== '');
}

function sourcesBelow(folder: string): string[] {
  return readdirSync(folder, { recursive: true, encoding: 'utf8' })
    .filter((name) => name.endsWith('.ts'))
    .map((name) => join(folder, name));
}
