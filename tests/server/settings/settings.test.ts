import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { SettingsError, readSettings } from '../../../server/settings/read.ts';

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'barolot-settings-'));
});
afterEach(() => {
  rmSync(folder, { recursive: true, force: true });
});

const written = (text: string): string => {
  const file = join(folder, 'barolot.yaml');
  writeFileSync(file, text);
  return file;
};

const problemsOf = (text: string, environment: Record<string, string> = {}) => {
  try {
    readSettings(written(text), environment);
  } catch (cause) {
    if (cause instanceof SettingsError)
      return cause.problems.map(({ where, key }) => [where.replace(`${folder}/`, ''), key]);
    throw cause;
  }
  return [];
};

test('without a word everything has its default: two stations, this machine only, a demo', () => {
  const { settings } = readSettings(null, {});
  expect(settings).toMatchObject({
    listen: { host: '127.0.0.1', port: 8080 },
    stations: [
      { station: 'EOL-1', nests: 2 },
      { station: 'LAB-1', nests: 8, chamber: true },
    ],
    scanner: { suffixes: ['Enter', 'Tab'] },
    demo: true,
  });
});

test('the file over the defaults, the environment over the file, and each says where it was said', () => {
  const file = written('listen: { port: 9000 }\nplant: Alder Quay North\n');
  const { settings, origins } = readSettings(file, { BAROLOT_PORT: '9001' });
  expect(settings).toMatchObject({ plant: 'Alder Quay North', listen: { port: 9001, host: '127.0.0.1' } });
  expect(Object.fromEntries(origins)).toEqual({ 'listen.port': 'environment', plant: 'file' });
});

describe('what is wrong is named with its line and column', () => {
  test.each([
    ['listen: { port: 70000 }\n', 'barolot.yaml:1:17', 'listen.port'],
    ['plant: Alder Quay\nlisten:\n  prot: 80\n', 'barolot.yaml:3:9', 'listen.prot'],
    ['shifts:\n  starts: ["6 am"]\n', 'barolot.yaml:2:12', 'shifts.starts.0'],
    ['shifts: { zone: Middle/Earth }\n', 'barolot.yaml:1:17', 'shifts.zone'],
    ['scanner: { suffixes: [" "] }\n', 'barolot.yaml:1:23', 'scanner.suffixes.0'],
    ['scanner: { separators: "-" }\n', 'barolot.yaml:1:24', 'scanner.separators'],
    ['stations: [{ station: EOL-1, nests: 0 }]\n', 'barolot.yaml:1:37', 'stations.0.nests'],
    ['stations: [{ station: A, nests: 1 }, { station: A, nests: 1 }]\n', 'barolot.yaml:1:11', 'stations'],
    ['a: [1\n', 'barolot.yaml:2:1', ''],
    ['- 1\n', 'barolot.yaml', ''],
    ['listen: { host: 0.0.0.0 }\n', 'barolot.yaml:1:17', 'listen.host'],
  ])('%j', (text, where, key) => {
    expect(problemsOf(text)).toContainEqual([where, key]);
  });

  test('a variable that is wrong is named, not a line', () => {
    expect(problemsOf('', { BAROLOT_PORT: 'eighty' })).toEqual([['BAROLOT_PORT', 'listen.port']]);
  });

  test('a file that was named and is not there', () => {
    expect(() => readSettings(join(folder, 'none.yaml'), {})).toThrow(/cannot be read/);
  });

  test('other machines are let in only when that is said', () => {
    expect(problemsOf('listen: { host: 0.0.0.0, public: true }\n')).toEqual([]);
  });
});
