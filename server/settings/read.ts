import { existsSync, readFileSync } from 'node:fs';
import { LineCounter, parseDocument } from 'yaml';
import type { Document } from 'yaml';
import type { z } from 'zod';
import { Settings, isLoopback } from './schema.ts';

/** Where a setting came from. */
export type Origin = 'default' | 'file' | 'environment';

/** What is set, and where each key (`listen.port`) was said. */
export interface ReadSettings {
  readonly settings: Settings;
  readonly origins: ReadonlyMap<string, Origin>;
  readonly file: string | null;
}

/** One thing that is wrong with the settings; `where` is file:line:column or the name of the variable. */
export interface SettingsProblem {
  readonly where: string;
  readonly key: string;
  readonly message: string;
}

export class SettingsError extends Error {
  override readonly name = 'SettingsError';
  readonly problems: readonly SettingsProblem[];

  constructor(problems: readonly SettingsProblem[]) {
    super(problems.map(({ where, key, message }) => `${where}${key === '' ? '' : `: ${key}`}: ${message}`).join('\n'));
    this.problems = problems;
  }
}

type Tree = { [key: string]: unknown };

/** Variables of the environment, the key each sets, and what its text becomes. */
const VARIABLES: Readonly<
  Record<string, { readonly key: readonly string[]; readonly read: (text: string) => unknown }>
> = {
  BAROLOT_PLANT: { key: ['plant'], read: (text) => text },
  BAROLOT_DATA: { key: ['data'], read: (text) => text },
  BAROLOT_PROFILES: { key: ['profiles'], read: (text) => text },
  BAROLOT_HOST: { key: ['listen', 'host'], read: (text) => text },
  BAROLOT_PORT: { key: ['listen', 'port'], read: numberOr },
  BAROLOT_PUBLIC: { key: ['listen', 'public'], read: flagOr },
  BAROLOT_DEMO: { key: ['demo'], read: flagOr },
  BAROLOT_LOG: { key: ['log'], read: (text) => text },
};

/** Without `--config` this is read from the working folder, when it is there. */
export const USUAL_FILE = 'barolot.yaml';

/**
 * Reads the settings: what the file says, over it the environment. `file` is one that was named and has to be there;
 * null takes the usual one if there is one. Throws SettingsError with everything that is wrong, by line and column.
 */
export function readSettings(
  file: string | null,
  environment: Readonly<Record<string, string | undefined>>,
): ReadSettings {
  const path = file ?? (existsSync(USUAL_FILE) ? USUAL_FILE : null);
  const source = path === null ? null : new FileSource(path);
  const said = source === null ? {} : source.tree();
  const origins = new Map<string, Origin>(leavesOf(said).map((key) => [key, 'file']));
  const byVariable = new Map<string, string>();
  for (const [name, { key, read }] of Object.entries(VARIABLES)) {
    const text = environment[name];
    if (text === undefined || text === '') continue;
    put(said, key, read(text));
    origins.set(key.join('.'), 'environment');
    byVariable.set(key.join('.'), name);
  }
  const outcome = Settings.safeParse(said);
  const whereOf = (key: readonly PropertyKey[]): string =>
    byVariable.get(key.join('.')) ?? source?.placeOf(key) ?? 'settings';
  if (!outcome.success) throw new SettingsError(outcome.error.issues.map((issue) => problemOf(issue, whereOf)));
  const settings = outcome.data;
  if (!isLoopback(settings) && !settings.listen.public)
    throw new SettingsError([
      {
        where: whereOf(['listen', 'host']),
        key: 'listen.host',
        message: `${settings.listen.host} lets other machines in, and nobody signs in yet; say listen.public: true if that is meant`,
      },
    ]);
  return { settings, origins, file: path };
}

/** A settings file with the places of its keys. */
class FileSource {
  readonly #path: string;
  readonly #document: Document.Parsed;
  readonly #lines = new LineCounter();

  constructor(path: string) {
    this.#path = path;
    let text: string;
    try {
      text = readFileSync(path, 'utf8');
    } catch {
      throw new SettingsError([{ where: path, key: '', message: 'this file cannot be read' }]);
    }
    this.#document = parseDocument(text, { lineCounter: this.#lines });
    if (this.#document.errors.length > 0)
      throw new SettingsError(
        this.#document.errors.map(({ pos, message }) => ({
          where: this.#at(pos[0]),
          key: '',
          message: message.split('\n')[0]?.replace(/ at line.*$/, '') ?? 'not YAML',
        })),
      );
  }

  tree(): Tree {
    const said: unknown = this.#document.toJS();
    if (said === null) return {};
    if (typeof said !== 'object' || Array.isArray(said))
      throw new SettingsError([{ where: this.#path, key: '', message: 'settings are keys with values' }]);
    return said as Tree;
  }

  /** The nearest place in the file of a key that may not be there. */
  placeOf(key: readonly PropertyKey[]): string {
    for (let length = key.length; length > 0; length -= 1) {
      const node: unknown = this.#document.getIn(key.slice(0, length), true);
      if (typeof node === 'object' && node !== null && 'range' in node && Array.isArray(node.range))
        return this.#at(Number(node.range[0]));
    }
    return this.#path;
  }

  #at(offset: number): string {
    const { line, col } = this.#lines.linePos(offset);
    return `${this.#path}:${line}:${col}`;
  }
}

function problemOf(issue: z.core.$ZodIssue, whereOf: (key: readonly PropertyKey[]) => string): SettingsProblem {
  const unknown = issue.code === 'unrecognized_keys' ? issue.keys : [];
  const key = [...issue.path, ...unknown.slice(0, 1)];
  const message = unknown.length === 0 ? issue.message : 'there is no such setting; barolot config shows all';
  return { where: whereOf(key), key: key.join('.'), message };
}

/** The keys of everything that a tree says, lists as a whole. */
function leavesOf(tree: Tree, above: readonly string[] = []): string[] {
  return Object.entries(tree).flatMap(([key, value]) =>
    typeof value === 'object' && value !== null && !Array.isArray(value)
      ? leavesOf(value as Tree, [...above, key])
      : [[...above, key].join('.')],
  );
}

function put(tree: Tree, [first, ...rest]: readonly string[], value: unknown): void {
  if (first === undefined) return;
  if (rest.length === 0) {
    tree[first] = value;
    return;
  }
  const below = tree[first];
  const next: Tree = typeof below === 'object' && below !== null ? (below as Tree) : {};
  tree[first] = next;
  put(next, rest, value);
}

/** A text that is no number stays one: the schema says what is wrong with it. */
function numberOr(text: string): unknown {
  return /^[0-9]+$/.test(text) ? Number(text) : text;
}

function flagOr(text: string): unknown {
  return text === 'true' ? true : text === 'false' ? false : text;
}
