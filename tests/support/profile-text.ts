import { readFileSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import { readProfileFile } from '../../station/profile/file.ts';
import { problemLine } from '../../station/profile/problem.ts';
import type { ProfileContent } from '../../station/profile/schema.ts';

export const profileFolder = join(import.meta.dirname, '../../profiles');

export const shippedPartNumbers: readonly string[] = readdirSync(profileFolder)
  .filter((name) => name.endsWith('.yaml'))
  .map((name) => name.replace('.yaml', ''));

/** The text of a profile that ships with the program. */
export const shippedText = (partNumber: string): string =>
  readFileSync(join(profileFolder, `${partNumber}.yaml`), 'utf8');

/** The content of a profile that ships with the program. Throws with every problem when it has any. */
export function shippedContent(partNumber: string): ProfileContent {
  const file = readProfileFile(shippedText(partNumber), `${partNumber}.yaml`);
  if (!file.ok) throw new Error(file.problems.map(problemLine).join('\n'));
  return file.content;
}

/** A text with one piece of it, which must occur exactly once, written differently. */
export function rewritten(text: string, from: string, to: string): string {
  const pieces = text.split(from);
  if (pieces.length !== 2) throw new Error(`"${from}" occurs ${pieces.length - 1} times`);
  return pieces.join(to);
}

/** The line, from 1, on which a piece first stands. */
export function lineOf(text: string, piece: string): number {
  const index = text.indexOf(piece);
  if (index < 0) throw new Error(`"${piece}" does not occur`);
  return text.slice(0, index).split('\n').length;
}
