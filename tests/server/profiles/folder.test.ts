import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { test as base, describe, expect } from 'vitest';
import { readProfiles } from '../../../server/profiles/folder.ts';
import { hashOf } from '../../../station/hash.ts';
import { profileFolder, rewritten, shippedPartNumbers, shippedText } from '../../support/profile-text.ts';

const test = base.extend<{ folder: string }>({
  folder: async ({}, use) => {
    const folder = mkdtempSync(join(tmpdir(), 'profiles-'));
    await use(folder);
    rmSync(folder, { recursive: true });
  },
});

describe('the profiles that ship', () => {
  test('are all read, in the order of their part numbers', () => {
    const { revisions, problems } = readProfiles(profileFolder);
    expect(problems).toEqual([]);
    expect(revisions.map(({ content }) => content.partNumber)).toEqual(shippedPartNumbers);
    expect(revisions.map(({ revision }) => revision)).toEqual([3, 2, 2, 2, 2]);
    for (const { content, hash } of revisions) {
      expect(hash).toBe(hashOf(content));
      expect(Object.isFrozen(content.leakHold)).toBe(true);
    }
  });

  test('can be read one at a time', () => {
    const { revisions } = readProfiles(join(profileFolder, 'AQ-2105.yaml'));
    expect(revisions.map(({ content }) => content.title)).toEqual([
      'Manifold absolute pressure sensor, 2 bar, 5 V ratiometric',
    ]);
  });
});

describe('a folder with a wrong profile in it', () => {
  test('gives the right ones and the problems of the wrong one', ({ folder }) => {
    writeFileSync(join(folder, 'AQ-1105.yaml'), rewritten(shippedText('AQ-1105'), 'nominal: 5 V', 'nominal: 5'));
    writeFileSync(join(folder, 'AQ-1107.yaml'), shippedText('AQ-1107'));
    writeFileSync(join(folder, 'README.md'), 'not a profile');
    const { revisions, problems } = readProfiles(folder);
    expect(revisions.map(({ content }) => content.partNumber)).toEqual(['AQ-1107']);
    expect(problems).toMatchObject([{ file: 'AQ-1105.yaml', code: 'unit', key: 'supply.nominal' }]);
  });

  test.for(['AQ-1106.yaml', 'AQ-1105.yml'])('refuses the profile of AQ-1105 under the name %s', (name, { folder }) => {
    writeFileSync(join(folder, name), shippedText('AQ-1105'));
    const { revisions, problems } = readProfiles(folder);
    expect(revisions).toEqual([]);
    expect(problems).toMatchObject([
      { file: name, line: 4, column: 14, key: 'part number', code: 'file-name', right: 'AQ-1105.yaml' },
    ]);
  });

  test('refuses what is not UTF-8 text', ({ folder }) => {
    writeFileSync(join(folder, 'AQ-1105.yaml'), Buffer.from(shippedText('AQ-1105'), 'latin1'));
    expect(readProfiles(folder).problems).toMatchObject([{ code: 'unreadable', wrong: 'the file is not UTF-8 text' }]);
  });

  test('refuses a file far larger than any profile without reading it', ({ folder }) => {
    writeFileSync(join(folder, 'AQ-1105.yaml'), '#'.repeat(300_000));
    expect(readProfiles(folder).problems).toMatchObject([{ code: 'too-large', right: 'at most 200000 bytes' }]);
  });

  test('refuses a folder that is named like a profile', ({ folder }) => {
    mkdirSync(join(folder, 'AQ-1105.yaml'));
    expect(readProfiles(folder).problems).toMatchObject([{ code: 'unreadable', file: 'AQ-1105.yaml' }]);
  });

  test('says that nothing is there rather than nothing', ({ folder }) => {
    expect(readProfiles(folder).problems).toMatchObject([
      { code: 'unreadable', wrong: 'no profile is in this folder' },
    ]);
    expect(readProfiles(join(folder, 'missing')).problems).toMatchObject(
      [{ code: 'unreadable', wrong: /ENOENT/ }].map(({ code }) => ({ code })),
    );
  });
});
