import { isAlias, isMap, isNode, isScalar } from 'yaml';
import type { Pair, YAMLMap } from 'yaml';
import type { ChoiceShape, GroupShape, Keys, Shape, TableShape, ValueShape } from './layout.ts';
import { exampleOf } from './layout.ts';
import { nearest } from './nearest.ts';
import type { ContentPath, ProblemCode } from './problem.ts';
import type { Dimension } from './quantity.ts';

/** Where a part of the content was written: offset into the text, keys from the top, and for a value what it said. */
export interface Spot {
  readonly offset: number;
  readonly key: string;
  readonly written: { readonly text: string; readonly example: string; readonly dimension: Dimension | null } | null;
}

export interface TreeProblem {
  readonly code: ProblemCode;
  readonly offset: number;
  readonly key: string;
  readonly wrong: string;
  readonly right: string;
}

/** What reading a tree gave. Paths in `unread` could not be read and are undefined in the content. */
export interface TreeReading {
  readonly content: unknown;
  readonly problems: readonly TreeProblem[];
  readonly spots: ReadonlyMap<string, Spot>;
  readonly unread: ReadonlySet<string>;
}

export const pathText = (path: ContentPath): string => path.join('.');

/** Reads a YAML tree, all of whose scalars are text, by a layout. Collects every problem and throws none. */
export function readTree(root: unknown, layout: GroupShape): TreeReading {
  const reader = new TreeReader();
  const content = reader.read(root, layout, { path: [], key: '', offset: 0 });
  return { content, problems: reader.problems, spots: reader.spots, unread: reader.unread };
}

interface Here {
  readonly path: ContentPath;
  readonly key: string;
  /** Of the key: what to point at when nothing stands behind it. */
  readonly offset: number;
}

type Mistake = Pick<TreeProblem, 'code' | 'wrong' | 'right'>;

/** Gathers problems and places while the tree is walked. */
class TreeReader {
  readonly problems: TreeProblem[] = [];
  readonly spots = new Map<string, Spot>();
  readonly unread = new Set<string>();

  read(node: unknown, shape: Shape, here: Here): unknown {
    switch (shape.shape) {
      case 'value':
        return this.#value(node, shape, here);
      case 'group':
        return this.#group(node, shape.keys, here);
      case 'choice':
        return this.#choice(node, shape, here);
      case 'table':
        return this.#table(node, shape, here);
    }
  }

  #value(node: unknown, shape: ValueShape, here: Here): unknown {
    if (isNode(node) && !isScalar(node)) {
      const wrong = isAlias(node) ? 'a reference stands where a value belongs' : 'a group stands where a value belongs';
      this.#refuse(node, here, { code: 'not-a-value', wrong, right: `a value such as ${shape.example}` });
      return undefined;
    }
    const text = textOf(node);
    const written = { text, example: shape.example, dimension: shape.dimension };
    this.spots.set(pathText(here.path), { offset: offsetOf(node, here), key: here.key, written });
    const read = shape.read(text);
    if (read.ok) return read.value;
    this.#refuse(node, here, read);
    return undefined;
  }

  #group(node: unknown, keys: Keys, here: Here): Record<string, unknown> | undefined {
    const map = this.#map(node, here, `the keys ${Object.keys(keys).join(', ')}`);
    if (map === undefined) return undefined;
    const found: Record<string, unknown> = {};
    const seen = new Set<string>();
    for (const pair of map.items) {
      const name = textOf(pair.key);
      const place = below(here, name, pair.key);
      const entry = Object.hasOwn(keys, name) ? keys[name] : undefined;
      if (entry === undefined) {
        const meant = this.#unknownKey(name, Object.keys(keys), place);
        const lost = meant === null || seen.has(meant) ? undefined : keys[meant];
        if (meant !== null && lost !== undefined && !map.has(meant)) {
          // One mistyped key is one problem, and not a missing one besides.
          seen.add(meant);
          this.unread.add(pathText([...here.path, lost.to]));
        }
        continue;
      }
      seen.add(name);
      found[entry.to] = this.read(pair.value, entry.shape, { ...place, path: [...here.path, entry.to] });
    }
    for (const [name, entry] of Object.entries(keys)) {
      if (!seen.has(name) && entry.optional !== true)
        this.#missing(name, entry.shape, { ...below(here, name, null), path: [...here.path, entry.to] });
    }
    return found;
  }

  #choice(node: unknown, shape: ChoiceShape, here: Here): unknown {
    const words = Object.keys(shape.of);
    const map = this.#map(node, here, exampleOf(shape));
    if (map === undefined) return undefined;
    const by = wordShape(words);
    const pair = map.items.find((item) => textOf(item.key) === shape.by);
    const word = textOf(pair?.value);
    const keys = Object.hasOwn(shape.of, word) ? shape.of[word] : undefined;
    if (keys !== undefined) return this.#group(node, { [shape.by]: { to: shape.by, shape: by }, ...keys }, here);
    // Which keys belong here is not known, so the others are left alone.
    const place = { ...below(here, shape.by, pair?.key), path: here.path };
    if (pair === undefined) this.#missing(shape.by, by, place);
    else this.read(pair.value, by, place);
    return undefined;
  }

  #table(node: unknown, shape: TableShape, here: Here): unknown[] | undefined {
    const map = this.#map(node, here, exampleOf(shape));
    return map?.items.map((pair, index) => this.#row(pair, shape, here, index));
  }

  #row(pair: Pair, shape: TableShape, here: Here, index: number): unknown {
    const path = [...here.path, index];
    const place = { ...below(here, textOf(pair.key), pair.key), path };
    this.spots.set(pathText(path), { offset: place.offset, key: place.key, written: null });
    const { key, entry } = shape;
    const name = this.read(pair.key, key.value, { ...place, path: [...path, key.to] });
    if ('value' in entry) {
      return {
        [key.to]: name,
        [entry.to]: this.read(pair.value, entry.value, { ...place, path: [...path, entry.to] }),
      };
    }
    const rest = this.#group(pair.value, entry.keys, place);
    return rest === undefined ? undefined : { [key.to]: name, ...rest };
  }

  #map(node: unknown, here: Here, right: string): YAMLMap | undefined {
    this.spots.set(pathText(here.path), { offset: here.offset, key: here.key, written: null });
    if (isMap(node)) return node;
    this.#refuse(node, here, { code: 'not-a-group', wrong: 'keys and values belong here', right });
    return undefined;
  }

  #refuse(node: unknown, here: Here, { code, wrong, right }: Mistake): void {
    this.unread.add(pathText(here.path));
    this.problems.push({ code, offset: offsetOf(node, here), key: here.key, wrong, right });
  }

  #missing(name: string, shape: Shape, here: Here): void {
    this.#refuse(null, here, {
      code: 'missing-key',
      wrong: `"${name}" is missing`,
      right: `${name}: ${exampleOf(shape)}`,
    });
  }

  /** Returns the key that was probably meant, or null. */
  #unknownKey(name: string, known: readonly string[], here: Here): string | null {
    const near = nearest(name, known);
    const right = /^\d/.test(name) ? 'a point in place of the comma before it' : (near ?? `one of ${known.join(', ')}`);
    const wrong = `"${name}" is no key here`;
    this.problems.push({ code: 'unknown-key', offset: here.offset, key: here.key, wrong, right });
    return near;
  }
}

const wordShape = (words: readonly string[]): ValueShape => ({
  shape: 'value',
  example: words.join(' or '),
  dimension: null,
  read: (text) =>
    words.includes(text)
      ? { ok: true, value: text }
      : { ok: false, code: 'word', wrong: `"${text}" is not known here`, right: words.join(' or ') },
});

/** Scalars are text because the document is read without YAML's guesses at numbers, dates and truth values. */
function textOf(node: unknown): string {
  return isScalar(node) && typeof node.value === 'string' ? node.value.trim() : '';
}

function offsetOf(node: unknown, here: Here): number {
  return isNode(node) && node.range && textOf(node) !== '' ? node.range[0] : here.offset;
}

function below(here: Here, name: string, node: unknown): Here {
  const offset = isNode(node) && node.range ? node.range[0] : here.offset;
  return { path: here.path, key: here.key === '' ? name : `${here.key}.${name}`, offset };
}
