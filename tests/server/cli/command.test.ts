import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { PROGRAM } from '../../../server/program.ts';
import { type Compiled, compile } from '../../support/compiled.ts';

let compiled: Compiled;
let data: string;
beforeAll(() => {
  compiled = compile(['station', 'server']);
  data = mkdtempSync(join(tmpdir(), 'barolot-command-'));
});
afterAll(() => {
  compiled.remove();
  rmSync(data, { recursive: true, force: true });
});

/** Runs the command as a person would, in a process of its own. */
function barolot(...words: string[]): { status: number | null; out: string; err: string } {
  const { status, stdout, stderr } = spawnSync(process.execPath, [compiled.fileOf('server/cli/main.ts'), ...words], {
    encoding: 'utf8',
    env: { ...process.env, BAROLOT_DATA: join(data, 'ledger') },
  });
  return { status, out: stdout, err: stderr };
}

/** What the JSON of a cycle promises; see DEVELOPERS.md. */
interface Exported {
  readonly format: number;
  readonly hashes: Readonly<Record<string, string | null>>;
  readonly nests: readonly {
    nest: number;
    serial: string;
    verdict: string;
    why: readonly { by: string; code: string; says: string; next: string }[];
  }[];
  readonly readings: readonly Record<string, unknown>[];
  readonly leaks: readonly { nest: number; ended: string }[];
  readonly faults: readonly { code: string; phase: string }[];
  readonly phases: readonly { phase: string; ms: number }[];
}

const cycle = (...words: string[]) => barolot('cycle', 'AQ-1105', '--profiles', 'profiles', ...words);
const json = (text: string): Exported => JSON.parse(text) as Exported;

describe('barolot cycle', () => {
  test('two good parts: an account for a person, exit 0', () => {
    const { status, out } = cycle('--seed', '7');
    expect(status).toBe(0);
    expect(out).toContain('SIMULATED RIG');
    expect(out.match(/PASS/g)).toHaveLength(2);
    expect(out).toMatch(/Leak .*std cm³\/min/);
    expect(out).toContain('Vented: every nest was measured at ambient.');
  });

  test('a leak in nest 2: said in words with its number and limit, exit 1', () => {
    const { status, out } = cycle('--nest', '2:leak=2.5');
    expect(status).toBe(1);
    expect(out).toMatch(
      /Nest 2 {2}\S+ {2}FAIL\n {2}Leaks: 2\.\d+ std cm³\/min, at most 0\.5 std cm³\/min allowed\n {2}Put the part in the reject bin/,
    );
  });

  test('a supply lost in the leak hold: nobody is judged, the fault is named, exit 2', () => {
    const { status, out } = cycle('--rig', 'supply-lost@leak-hold');
    expect(status).toBe(2);
    expect(out.match(/NOT JUDGED/g)).toHaveLength(2);
    expect(out).toContain('Station: The supply voltage is not what was set');
  });

  test('JSON is what DEVELOPERS.md says, and the same seed gives the same measurement', () => {
    const [one, two] = [1, 2].map(() => json(cycle('--json', '--seed', '5', '--nest', '1:offset=3').out));
    expect(one?.hashes['measurement']).toBe(two?.hashes['measurement']);
    expect(one?.format).toBe(1);
    expect(one?.nests[0]).toMatchObject({
      nest: 1,
      verdict: 'fail',
      why: [{ by: 'part', code: 'reads-high', says: 'Reads high' }],
    });
    expect(one?.nests[1]).toMatchObject({ nest: 2, verdict: 'pass', why: [] });
    const keys = [
      'nest',
      'step',
      'quantity',
      'value',
      'u',
      'unit',
      'low',
      'high',
      'guard',
      'margin',
      'verdict',
      'inGuardBand',
      'arithmetic',
    ];
    for (const reading of one?.readings ?? []) expect(Object.keys(reading).sort()).toEqual([...keys].sort());
    expect(one?.leaks.map(({ nest, ended }) => [nest, ended])).toEqual([
      [1, 'measured'],
      [2, 'measured'],
    ]);
    expect(one?.phases.map(({ phase }) => phase)).toContain('point:60-kpa');
    const documented = readFileSync('DEVELOPERS.md', 'utf8');
    for (const key of Object.keys(one ?? {})) expect(documented).toContain(`\`${key}`);
  });

  test.each([
    [['cycle', 'AQ-9999', '--profiles', 'profiles'], /no profile of AQ-9999; known are AQ-1105/],
    [['cycle', 'AQ-1105', '--nests', '17'], /whole number from 1 to 16/],
    [['cycle', 'AQ-1105', '--nest', '3:leak=1', '--profiles', 'profiles'], /no nest 3; nests are 1 to 2/],
    [['cycle', 'AQ-1105', '--nest', '1:leak'], /leak needs a size in std cm3\/min/],
    [['cycle', 'AQ-1105', '--nest', '1:rust=1'], /cannot suffer from "rust"; known are leak/],
    [['cycle', 'AQ-1105', '--rig', 'guard-open'], /FAULT\[:NEST\]\[=SIZE\]@PHASE/],
    [['cycle', 'AQ-1105', '--rig', 'gremlins@fill'], /known are guard-open/],
    [['cycle', 'AQ-1105', '--rig', 'guard-open@tea', '--profiles', 'profiles'], /there is no phase tea/],
    [['cycle', 'AQ-1105', '--rig', 'output-offset:7=1@fill', '--profiles', 'profiles'], /no nest 7/],
    [['cycle', 'AQ-1105', '--barometer', '20'], /kPa absolute, from 60 to 110/],
    [['cycle', 'AQ-1105', '--altitude', '15000'], /m, from -400 to 4000/],
    [['show', 'X-1'], /cannot|no ledger|nothing/i],
    [['frobnicate'], /unknown command/],
  ])('wrong use %j is exit 3 with what would be right', (words, says) => {
    const { status, err } = barolot(...words);
    expect(err).toMatch(says);
    expect(status).toBe(3);
  });

  test('a proof that is due stops the cycle, exit 2', () => {
    const { status, out } = cycle('--due', 'master-check');
    expect(status).toBe(2);
    expect(out).toMatch(/The station has not proved itself.*master-check/);
  });

  test('the help says the units', () => {
    const { status, out } = barolot('cycle', '--help');
    expect(status).toBe(0);
    for (const text of ['leak=<std cm3/min>', 'offset=<kPa>', 'reference-drift[:nest]=<Pa/s>', 'leak-hold'])
      expect(out).toContain(text);
  });

  test.each([
    { words: ['--nest', '1:leak=-2'], says: 'leak=-2: sizes from 0 to 100000 std cm3/min can be simulated' },
    { words: ['--nest', '1:stuck=7'], says: 'sizes from 0 to 1 fraction of supply' },
    { words: ['--rig', 'reference-offset:1=1e9@measure'], says: 'sizes from -500 to 500 kPa' },
    { words: ['--due', 'nix'], says: 'one of master-check, calibration' },
  ])('$words is refused with what would be right', ({ words, says }) => {
    const { status, err } = cycle(...words);
    expect(status).toBe(3);
    expect(err).toContain(says);
  });

  test('a refusal is a problem document where JSON was asked for', () => {
    const { status, out, err } = cycle('--json', '--nest', '1:leak=-2');
    expect(status).toBe(3);
    expect(JSON.parse(out)).toMatchObject({ problem: { type: '/problems/wrong-use', code: 'wrong-use' } });
    expect(err).toContain('can be simulated');
  });

  test('a proof that is due: refused before anything moved, and no vent is claimed', () => {
    const { status, out } = cycle('--due', 'calibration', '--nest', '2:empty');
    expect(status).toBe(2);
    expect(out).toContain('Nest 2: empty, no part was to be tested there.');
    expect(out).toContain('Refused before anything moved');
    expect(out).not.toContain('Vented');
    expect(out).toContain('Not kept: add --keep');
    expect(JSON.parse(cycle('--due', 'calibration', '--json').out)).toMatchObject({ vented: null, phases: [] });
  });

  test('at 3,000 m a falling point of 80 kPa would be met from below: not testable there', () => {
    const { status, err, out } = cycle('--altitude', '3000');
    expect(status).toBe(2);
    expect(out + err).toContain('80-kpa at 80 kPa is marked falling');
  });

  test('without --keep the station that the ledger knows is used, and nothing is written', () => {
    expect(barolot('characterise', 'AQ-1107', '--profiles', 'profiles').status).toBe(0);
    const before = barolot('show').out;
    const { status, out, err } = barolot('cycle', 'AQ-1107', '--profiles', 'profiles');
    expect(status).toBe(0);
    expect(err).not.toContain('does not know');
    expect(out).toContain('Not kept');
    expect(barolot('show').out).toBe(before);
  });
});

describe('the ledger at the command line', () => {
  test('characterise, cycle --keep, show, verify', () => {
    expect(barolot('characterise', 'AQ-1105', '--profiles', 'profiles').out).toMatch(/Nest 2: volume .* cm³/);
    const kept = cycle('--keep', '--seed', '9', '--nest', '1:leak=2.5');
    expect(kept.err).not.toContain('does not know');
    const serial = /Nest 1 {2}(\S+)/.exec(kept.out)?.[1] ?? '';
    const shown = barolot('show', serial);
    expect(shown.status).toBe(1);
    expect(shown.out).toContain('Leaks: ');
    const again = cycle('--keep', '--seed', '9');
    expect(again.status).toBe(0);
    const life = barolot('show', serial);
    expect(life.out.split('\n').filter((line) => line.includes(serial) && /pass|fail/.test(line))).toHaveLength(2);
    const verified = barolot('verify', '--json');
    expect(verified.status).toBe(0);
    expect(JSON.parse(verified.out)).toMatchObject({ ok: true, problems: [] });
  });

  test('a profile changed without a new revision is refused with the number that would be right, exit 3', () => {
    const file = join(data, 'AQ-1105.yaml');
    const changed = readFileSync('profiles/AQ-1105.yaml', 'utf8').replace('title: Manifold', 'title: Inlet manifold');
    const kept = (revision: number) => {
      writeFileSync(file, changed.replace('revision: 3\n', `revision: ${revision}\n`));
      return barolot('cycle', 'AQ-1105', '--profiles', file, '--keep');
    };
    const { status, err } = kept(3);
    expect(err).toMatch(/revision 3 of AQ-1105 .* raise `revision` to 4/);
    expect(status).toBe(3);
    expect(kept(5).status).toBe(0);
    expect(kept(6).err).toContain('set `revision` to 5');
    expect(barolot('verify').status).toBe(0);
  });

  test('one flipped byte is named and gives exit 1', () => {
    const file = join(data, 'ledger', 'ledger.db');
    const bytes = readFileSync(file);
    const at = bytes.indexOf('"verdict":"fail"');
    expect(at).toBeGreaterThan(0);
    bytes.write('p', at + '"verdict":"'.length);
    writeFileSync(file, bytes);
    const { status, out } = barolot('verify');
    expect(status).toBe(1);
    expect(out).toMatch(/^entry \d+: /m);
    expect(out).toContain('NOT as it was written');
  });
});

describe('barolot check', () => {
  test('the shipped profiles are in order', () => {
    const { status, out } = barolot('check', 'profiles');
    expect(status).toBe(0);
    expect(out).toContain('5 in order');
  });

  test('a wrong profile is named with file, line, column, key, wrong and right; exit 1', () => {
    const file = join(data, 'AQ-1105.yaml');
    writeFileSync(
      file,
      readFileSync('profiles/AQ-1105.yaml', 'utf8').replace('pressure: 150 kPa', 'pressure: 450 kPa'),
    );
    const { status, out } = barolot('check', file);
    expect(status).toBe(1);
    expect(out).toMatch(/^AQ-1105\.yaml:\d+:\d+: leak hold\.pressure: .*; right: .*400 kPa/m);
  });
});

test('the program that is written into records is that of package.json', () => {
  const { name, version } = JSON.parse(readFileSync('package.json', 'utf8')) as { name: string; version: string };
  expect(PROGRAM).toBe(`${name} ${version}`);
});
