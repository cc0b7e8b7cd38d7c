import { LineCounter, parseDocument } from 'yaml';
import { z } from 'zod';
import { checkContent } from './checks.ts';
import { LAYOUT } from './layout.ts';
import type { ContentPath, ContentProblem, Place, ProfileProblem } from './problem.ts';
import { inHouseUnit } from './quantity.ts';
import { ProfileContent } from './schema.ts';
import { pathText, readTree } from './tree.ts';
import type { Spot, TreeProblem, TreeReading } from './tree.ts';

/** A profile file as read: its revision and content, or everything that is wrong with it, in the order of the file. */
export type ProfileFile =
  | {
      readonly ok: true;
      readonly revision: number;
      readonly content: ProfileContent;
      /** Where a part of the content was written; the nearest group around it when it has no place of its own. */
      readonly placeOf: (path: ContentPath) => Place;
    }
  | { readonly ok: false; readonly problems: readonly ProfileProblem[] };

/**
 * Bounds on a file, far beyond what a profile needs. They also bound how deep a text can nest: the YAML package
 * recurses, and a text of nothing but brackets would take the process with it.
 */
const MOST = { characters: 40_000, lineCharacters: 400, brackets: 200 } as const;

const Revision = z.number().int().min(1).max(1_000_000);

/**
 * Reads the text of a profile file. `fileName` is only for messages. Nothing is assumed: what the file does not say is
 * a problem. First come all problems of writing and of single values; once every value stands, those between values.
 */
export function readProfileFile(text: string, fileName: string): ProfileFile {
  const lines = new LineCounter();
  const place = (offset: number, key: string): Place => {
    const { line, col } = lines.linePos(offset);
    return { file: fileName, line: Math.max(line, 1), column: Math.max(col, 1), key };
  };
  const refuse = (problems: readonly TreeProblem[]): ProfileFile => ({
    ok: false,
    problems: [...problems]
      .sort((one, other) => one.offset - other.offset)
      .map(({ code, offset, key, wrong, right }) => ({ ...place(offset, key), code, wrong, right })),
  });

  const size = sizeProblem(text);
  if (size !== null) return { ok: false, problems: [{ file: fileName, line: 1, column: 1, key: '', ...size }] };
  const document = parseDocument(text, {
    lineCounter: lines,
    schema: 'failsafe',
    prettyErrors: false,
  });
  const writing = [...document.errors, ...document.warnings].map((error) => writingProblem(error, text));
  // What follows the first mistake of writing is mostly its consequence.
  const [broken] = writing.filter(({ code }) => code === 'not-yaml');
  if (broken !== undefined) return refuse([broken]);

  const tree = readTree(document.contents, LAYOUT);
  const { revision, content, issues } = validated(tree);
  const problems = [...writing, ...tree.problems, ...issues];
  if (revision === null || content === null || problems.length > 0) return refuse(problems);
  const placeOf = (path: ContentPath): Place => {
    const spot = spotOf(tree, path);
    return place(spot.offset, spot.key);
  };
  const between = checkContent(content);
  if (between.length > 0) return { ok: false, problems: locate(between, placeOf) };
  return { ok: true, revision, content, placeOf };
}

/** Gives problems of a content their places in the file that it was read from, in the order of the file. */
export function locate(problems: readonly ContentProblem[], placeOf: (path: ContentPath) => Place): ProfileProblem[] {
  return problems
    .map(({ path, code, wrong, right }) => ({ ...placeOf(path), code, wrong, right }))
    .sort((one, other) => one.line - other.line || one.column - other.column);
}

function sizeProblem(text: string): { code: 'too-large'; wrong: string; right: string } | null {
  const longestLine = text.split('\n').reduce((longest, line) => Math.max(longest, line.length), 0);
  const found = { characters: text.length, lineCharacters: longestLine, brackets: text.split(/[[{]/).length - 1 };
  if (found.characters > MOST.characters)
    return tooLarge(`${found.characters} characters`, `${MOST.characters} characters`);
  if (found.lineCharacters > MOST.lineCharacters) {
    return tooLarge(`a line of ${longestLine} characters`, `${MOST.lineCharacters} characters in a line`);
  }
  if (found.brackets > MOST.brackets) return tooLarge(`${found.brackets} opening brackets`, `${MOST.brackets} of them`);
  return null;
}

function tooLarge(found: string, most: string): { code: 'too-large'; wrong: string; right: string } {
  return { code: 'too-large', wrong: `the file has ${found}`, right: `at most ${most}` };
}

/** What the YAML package found, as a problem. A key that stands twice leaves a tree that can still be read. */
function writingProblem(error: { code: string; message: string; pos: [number, number] }, text: string): TreeProblem {
  const offset = error.pos[0];
  if (error.code === 'DUPLICATE_KEY') {
    const key = /^[^:\n]*/.exec(text.slice(offset))?.[0].trim() ?? '';
    return {
      code: 'duplicate-key',
      offset,
      key,
      wrong: 'this key stands twice in its group',
      right: 'the key once',
    };
  }
  const [message = error.message] = error.message.split('\n');
  return {
    code: 'not-yaml',
    offset,
    key: '',
    wrong: message,
    right: 'YAML 1.2: keys and values as in the other profiles',
  };
}

/** The content held against the schema: its own problems left out where the tree could not be read anyway. */
function validated(tree: TreeReading): {
  revision: number | null;
  content: ProfileContent | null;
  issues: TreeProblem[];
} {
  const { revision, pointMethod, ...rest } = Object(tree.content) as Record<string, unknown>;
  const points = Array.isArray(rest['points']) ? rest['points'] : [];
  const withMethod = points.map((point: object | undefined) => point && { ...point, method: pointMethod });
  const content = ProfileContent.safeParse({ ...rest, points: withMethod });
  const number = Revision.safeParse(revision);
  const issues = [
    ...(content.error?.issues ?? []),
    ...(number.error?.issues ?? []).map((issue) => ({ ...issue, path: ['revision', ...issue.path] })),
  ].sort((one, other) => Number(isAboutSteps(one)) - Number(isAboutSteps(other)));
  const seen = new Set<string>();
  const problems: TreeProblem[] = [];
  for (const issue of issues) {
    const path = pathInTree(issue.path as (string | number)[]);
    const spot = spotOf(tree, path);
    // A value that is out of range is one mistake, whether its steps are whole as well or not.
    const once = `${spot.offset} ${isAboutSteps(issue) ? 'too_small' : issue.code}`;
    if (isUnread(tree, path) || seen.has(once)) continue;
    seen.add(once);
    problems.push({ ...issueProblem(issue, spot), offset: spot.offset, key: spot.key });
  }
  return { revision: number.data ?? null, content: content.data ?? null, issues: problems };
}

const isAboutSteps = (issue: { code?: string | undefined }): boolean => issue.code === 'not_multiple_of';

/** The method of the points is written once for all of them. */
function pathInTree(path: ContentPath): ContentPath {
  return path[0] === 'points' && path[2] === 'method' ? ['pointMethod', ...path.slice(3)] : path;
}

function spotOf(tree: TreeReading, path: ContentPath): Spot {
  const inTree = pathInTree(path);
  for (let length = inTree.length; length >= 0; length--) {
    const spot = tree.spots.get(pathText(inTree.slice(0, length)));
    if (spot !== undefined) return spot;
  }
  return { offset: 0, key: '', written: null };
}

function isUnread(tree: TreeReading, path: ContentPath): boolean {
  return path.some((_, index) => tree.unread.has(pathText(path.slice(0, index + 1)))) || tree.unread.has('');
}

/** A refusal by the schema in words, with sizes in the unit of the value. */
function issueProblem(issue: z.core.$ZodIssue, { written }: Spot): Pick<TreeProblem, 'code' | 'wrong' | 'right'> {
  const said = written === null ? 'this' : `"${written.text}"`;
  const example = written?.example ?? 'as in the other profiles';
  const sized = (size: number | bigint, origin: string): string => {
    if (written?.dimension) return inHouseUnit(Number(size), written.dimension);
    const counted = origin === 'string' ? ' letters' : origin === 'array' ? ' entries' : '';
    return `${size}${counted}`;
  };
  if (issue.code === 'too_small') {
    const least = issue.inclusive === true ? 'at least' : 'more than';
    return {
      code: 'out-of-range',
      wrong: `${said} is too small`,
      right: `${least} ${sized(issue.minimum, issue.origin)}`,
    };
  }
  if (issue.code === 'too_big') {
    return {
      code: 'out-of-range',
      wrong: `${said} is too large`,
      right: `at most ${sized(issue.maximum, issue.origin)}`,
    };
  }
  if (issue.code === 'not_multiple_of') {
    return {
      code: 'out-of-range',
      wrong: `${said} is no whole number of steps`,
      right: `a multiple of ${sized(issue.divisor, 'number')}`,
    };
  }
  if (issue.code === 'invalid_type') {
    const right = written?.dimension === 'time' ? 'whole milliseconds' : 'a whole number';
    return { code: 'out-of-range', wrong: `${said} is no whole number`, right };
  }
  if (issue.code === 'invalid_value') {
    const right = issue.values.length > 1 ? `one of ${issue.values.join(', ')}` : example;
    return { code: 'word', wrong: `${said} is not known here`, right };
  }
  return {
    code: 'word',
    wrong: `${said} is not written as it should be`,
    right: `${issue.message}, such as ${example}`,
  };
}
