import { readFileSync, readdirSync, statSync } from 'node:fs';
import { basename, join } from 'node:path';
import { readProfileFile } from '../../station/profile/file.ts';
import type { ProfileProblem } from '../../station/profile/problem.ts';
import { issueOf } from '../../station/profile/revision.ts';
import type { ProfileRevision } from '../../station/profile/schema.ts';

/** What a folder of profiles gave. A file with problems gives no revision; the others are not held back by it. */
export interface ReadProfiles {
  readonly revisions: readonly ProfileRevision[];
  readonly problems: readonly ProfileProblem[];
}

/** Far beyond any profile, and small enough to be read at once. */
const MOST_BYTES = 200_000;

/**
 * Reads a profile file, or every `.yaml` file of a folder in the order of their names. Never throws on what it finds
 * there: a path that cannot be read is a problem like any other. Each part number has one file, named after it.
 */
export function readProfiles(path: string): ReadProfiles {
  const files = filesAt(path);
  if ('problem' in files) return { revisions: [], problems: [files.problem] };
  const revisions: ProfileRevision[] = [];
  const problems: ProfileProblem[] = [];
  for (const file of files.paths) {
    const read = readOne(file);
    if (read.ok) revisions.push(read.revision);
    else problems.push(...read.problems);
  }
  return { revisions, problems };
}

function filesAt(path: string): { paths: string[] } | { problem: ProfileProblem } {
  try {
    if (!statSync(path).isDirectory()) return { paths: [path] };
    const names = readdirSync(path).filter((name) => /\.ya?ml$/i.test(name));
    if (names.length === 0)
      return { problem: fileProblem(path, 'unreadable', 'no profile is in this folder', 'AQ-1105.yaml') };
    return { paths: names.sort().map((name) => join(path, name)) };
  } catch (error) {
    return { problem: unreadable(path, error) };
  }
}

function readOne(
  path: string,
): { ok: true; revision: ProfileRevision } | { ok: false; problems: readonly ProfileProblem[] } {
  const text = textOf(path);
  if (typeof text !== 'string') return { ok: false, problems: [text] };
  const file = readProfileFile(text, basename(path));
  if (!file.ok) return file;
  const wanted = `${file.content.partNumber}.yaml`;
  if (basename(path) !== wanted) {
    const wrong = `the file of ${file.content.partNumber} is named ${basename(path)}`;
    return { ok: false, problems: [{ ...file.placeOf(['partNumber']), code: 'file-name', wrong, right: wanted }] };
  }
  return { ok: true, revision: issueOf(file.revision, file.content) };
}

/** The text of a file, or why there is none. A wrong encoding is refused, for it would change units without a word. */
function textOf(path: string): string | ProfileProblem {
  try {
    const { size } = statSync(path);
    if (size > MOST_BYTES)
      return fileProblem(path, 'too-large', `the file has ${size} bytes`, `at most ${MOST_BYTES} bytes`);
    return new TextDecoder('utf-8', { fatal: true }).decode(readFileSync(path));
  } catch (error) {
    if (error instanceof TypeError) return fileProblem(path, 'unreadable', 'the file is not UTF-8 text', 'UTF-8');
    return unreadable(path, error);
  }
}

function unreadable(path: string, error: unknown): ProfileProblem {
  const code = error instanceof Error && 'code' in error ? String(error.code) : 'unknown';
  return fileProblem(path, 'unreadable', `the file cannot be read (${code})`, 'a profile file, or a folder of them');
}

function fileProblem(path: string, code: 'unreadable' | 'too-large', wrong: string, right: string): ProfileProblem {
  return { file: basename(path), line: 1, column: 1, key: '', code, wrong, right };
}
