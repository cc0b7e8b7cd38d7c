import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';

const root = join(import.meta.dirname, '../..');
const topLevel = [
  ...['README.md', 'DEVELOPERS.md', 'package.json', 'package-lock.json', 'tsconfig.json'],
  ...['profiles', 'server', 'station', 'tests', 'web'],
];
const mostLines = 400;
const folders = ['station', 'server', 'web', 'tests'];

test('the top level holds what the house has rooms for', () => {
  const names = readdirSync(root).filter((name) => !name.startsWith('.') && name !== 'node_modules');
  expect(names.filter((name) => !topLevel.includes(name))).toEqual([]);
});

test('files and folders are named after a thing of the trade', () => {
  const paths = folders.flatMap((folder) => below(folder));
  expect(paths.length).toBeGreaterThan(20);
  expect(paths.filter(isBadlyNamed)).toEqual([]);
});

test.each([
  'station/index.ts',
  'server/utils/round.ts',
  'web/src/helpers/a.ts',
  'server/common/b.ts',
  'station/types.ts',
  'station/Rig.ts',
])('%s would be badly named', (path) => {
  expect(isBadlyNamed(path)).toBe(true);
});

test(`no source file is longer than ${mostLines} lines`, () => {
  const sources = ['station', 'server', 'web']
    .flatMap((folder) => below(folder))
    .filter((path) => /\.tsx?$/.test(path));
  expect(sources.length).toBeGreaterThan(10);
  expect(sources.filter((path) => linesOf(readFileSync(join(root, path), 'utf8')) > mostLines)).toEqual([]);
});

test('a file of one line too many would be too long', () => {
  expect(linesOf('x\n'.repeat(mostLines))).toBe(mostLines);
  expect(linesOf('x\n'.repeat(mostLines + 1))).toBeGreaterThan(mostLines);
});

test('the lock file names no registry', () => {
  const lock = readFileSync(join(root, 'package-lock.json'), 'utf8');
  expect(lock).toContain('"integrity"');
  expect(lock).not.toContain('"resolved"');
});

function isBadlyNamed(path: string): boolean {
  const parts = path.split('/');
  const file = parts.at(-1) ?? '';
  const nounless = parts.some((part) => /^(utils?|helpers?|common|misc|lib)$/.test(part));
  const barrel = /^(index|types|utils?|helpers?|common)\.tsx?$/.test(file);
  const notKebab = /\.tsx?$/.test(file) && !/^[a-z0-9]+(-[a-z0-9]+)*(\.test)?\.tsx?$/.test(file);
  return nounless || barrel || notKebab;
}

function linesOf(text: string): number {
  return text.replace(/\n$/, '').split('\n').length;
}

function below(folder: string): string[] {
  return readdirSync(join(root, folder), { recursive: true, encoding: 'utf8' }).map((name) => `${folder}/${name}`);
}
