import { existsSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { ProfileContent, ProfileRevision } from '../../station/profile/schema.ts';
import { problemLine } from '../../station/profile/problem.ts';
import { readProfiles } from '../profiles/folder.ts';
import { WrongUse } from './exit.ts';

/** The ledger's file in a data folder. */
export const ledgerIn = (data: string): string => join(data, 'ledger.db');

/** The profiles that ship with the program: beside its sources, or beside what was built of them. */
export function shippedProfiles(): string {
  let folder = dirname(fileURLToPath(import.meta.url));
  while (!existsSync(join(folder, 'package.json'))) {
    const above = dirname(folder);
    if (above === folder) throw new WrongUse('no folder of profiles was found; name one with --profiles');
    folder = above;
  }
  return join(folder, 'profiles');
}

/**
 * The profile of a part number and all contents of its plant. A folder in which any profile is wrong is not tested
 * with. Throws WrongUse with what is wrong, or with the part numbers that there are.
 */
export function profileOf(partNumber: string, folder: string): { profile: ProfileRevision; plant: ProfileContent[] } {
  const { revisions, problems } = readProfiles(folder);
  if (problems.length > 0) throw new WrongUse(problems.map(problemLine).join('\n'));
  const profile = revisions.find(({ content }) => content.partNumber === partNumber);
  if (profile === undefined) {
    const known = revisions.map(({ content }) => content.partNumber).join(', ');
    throw new WrongUse(`there is no profile of ${partNumber}; known are ${known}`);
  }
  return { profile, plant: revisions.map(({ content }) => content) };
}
