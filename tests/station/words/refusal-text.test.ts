import { readFileSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import ts from 'typescript';
import { describe, expect, test } from 'vitest';
import type { NotDrawn } from '../../../server/audit/contract.ts';
import { deskEnglish } from '../../../station/words/desk-en.ts';
import { deskSpanish } from '../../../station/words/desk-es.ts';
import { english } from '../../../station/words/en.ts';
import { spanish } from '../../../station/words/es.ts';
import { placesOf } from '../../../station/words/fill.ts';
import { refusalText } from '../../../station/words/refusal-text.ts';

const EN = { desk: deskEnglish, words: english };
const ES = { desk: deskSpanish, words: spanish };

/** A refusal as a source throws it: the key of its words, and the names of its facts. */
interface Thrown {
  readonly key: string;
  readonly facts: readonly string[];
  readonly at: string;
}

/** Thrown by the code of what is not drawn, a union that TypeScript holds to be whole here; facts as its type has them. */
const NOT_DRAWN: Readonly<Record<NotDrawn['code'], true>> = {
  'sampling-discontinued': true,
  'no-tightened-plan': true,
};
const NOT_DRAWN_FACTS: readonly (keyof NotDrawn['facts'])[] = ['partNumber', 'n', 'c'];

/** What the server says whatever it was asked; thrown beside the audit lab. */
const OF_THE_SERVER = ['too-busy', 'work-lost', 'took-too-long', 'not-ready', 'program'];

const root = join(import.meta.dirname, '../../..');
const sourcesOf = (folder: string): string[] =>
  readdirSync(join(root, folder), { recursive: true, encoding: 'utf8' })
    .filter((path) => path.endsWith('.ts'))
    .map((path) => `${folder}/${path}`);

const literalOf = (node: ts.Node | undefined): string | null =>
  node !== undefined && ts.isStringLiteral(node) ? node.text : null;

const propertiesOf = (node: ts.Node | undefined): readonly ts.ObjectLiteralElementLike[] =>
  node !== undefined && ts.isObjectLiteralExpression(node) ? node.properties : [];

const namesOf = (node: ts.Node | undefined): string[] =>
  propertiesOf(node).flatMap(({ name }) => (name !== undefined && ts.isIdentifier(name) ? [name.text] : []));

function whyOf(facts: ts.Node | undefined): string | null {
  const why = propertiesOf(facts).find(
    ({ name }) => name !== undefined && ts.isIdentifier(name) && name.text === 'why',
  );
  return why !== undefined && ts.isPropertyAssignment(why) ? literalOf(why.initializer) : null;
}

/** Every refusal in the text of a source. */
function thrownIn(path: string, text: string): Thrown[] {
  const source = ts.createSourceFile(path, text, ts.ScriptTarget.Latest);
  const found: Thrown[] = [];
  const look = (node: ts.Node): void => {
    if (ts.isNewExpression(node) && ts.isIdentifier(node.expression) && node.expression.text === 'HttpProblem') {
      const [, codeNode, , facts] = node.arguments ?? [];
      const code = literalOf(codeNode) ?? `not a literal: ${codeNode?.getText(source) ?? ''}`;
      const why = whyOf(facts);
      found.push({ key: why === null ? code : `${code}/${why}`, facts: namesOf(facts), at: path });
    }
    if (ts.isCallExpression(node) && ts.isIdentifier(node.expression) && node.expression.text === 'against') {
      const [why, , facts] = node.arguments;
      found.push({ key: `against-the-rule/${literalOf(why) ?? 'not a literal'}`, facts: namesOf(facts), at: path });
    }
    ts.forEachChild(node, look);
  };
  look(source);
  return found;
}

/** What the audit lab throws. Its one code without words is the one of which every way has its own. */
const thrown = ['server/audit', 'server/lab']
  .flatMap((folder) => sourcesOf(folder))
  .flatMap((path) => thrownIn(path, readFileSync(join(root, path), 'utf8')))
  .filter(({ key }) => key !== 'against-the-rule')
  .flatMap((each) =>
    each.key === 'not a literal: notDrawn.code'
      ? Object.keys(NOT_DRAWN).map((key) => ({ ...each, key, facts: NOT_DRAWN_FACTS }))
      : [each],
  );

test('a source is read for what it throws, also by a code that is no literal', () => {
  const text = `
    throw new HttpProblem(409, 'one', 'd', { lot, serial: x, why: 'late' });
    const f = () => new HttpProblem(404, 'two', 'd');
    throw new HttpProblem(409, code, 'd', {});
    throw against('three', 'd', { bad });`;
  expect(thrownIn('a.ts', text).map(({ key, facts }) => [key, facts])).toEqual([
    ['one/late', ['lot', 'serial', 'why']],
    ['two', []],
    ['not a literal: code', []],
    ['against-the-rule/three', ['bad']],
  ]);
});

describe.each([
  ['English', EN],
  ['Spanish', ES],
])('%s', (_name, voice) => {
  const says: Readonly<Record<string, string>> = voice.desk.refusals.says;

  test('every refusal of the audit lab has its words, and there are no others', () => {
    expect(thrown.length).toBeGreaterThan(35);
    const codes = new Set([...thrown.map(({ key }) => key), ...OF_THE_SERVER]);
    expect(Object.keys(says).sort()).toEqual([...codes].sort());
  });

  test('no words ask for a fact that a refusal does not tell', () => {
    for (const { key, facts, at } of thrown)
      for (const place of placesOf(says[key] ?? '')) expect(facts, `${at}: ${key}`).toContain(place);
  });

  test('a refusal is said by its words, with nothing left open', () => {
    for (const { key, facts } of thrown) {
      const [code = '', why] = key.split('/');
      const told = Object.fromEntries(facts.map((name) => [name, 'AQ-7']));
      const text = refusalText(voice, {
        code,
        detail: 'as it was',
        facts: why === undefined ? told : { ...told, why },
      });
      expect(text, key).not.toMatch(/[{}]|as it was/);
    }
  });
});

test('codes among the facts are said as a person knows them', () => {
  const say = (code: string, facts: Record<string, string | number>) => refusalText(ES, { code, detail: 'd', facts });
  expect(say('lot-not-open', { lot: 'K24-3', state: 'on-hold' })).toBe(
    'El lote K24-3 ya está retenido. No se cambió nada.',
  );
  expect(say('proof-due', { proof: 'calibration', state: 'due' })).toBe(
    'La estación debe demostrar primero: Calibración.',
  );
  expect(say('condition-twice', { condition: 'hot' })).toContain('La condición caliente se eligió');
  expect(say('concession-over', { until: '2026-11-24T12:00:00.000Z' })).toContain('terminó el 2026-11-24.');
});

test('what the rig refuses is said by the words of the line', () => {
  expect(refusalText(ES, { code: 'guard-open', detail: 'The guard is open.', facts: {} })).toBe(
    spanish.line.refusals['guard-open'],
  );
});

test('what has no words, or tells less than they ask for, is said as the server said it', () => {
  const detail = 'There is no station L9; there are L1.';
  expect(refusalText(ES, { code: 'toString', detail, facts: {} })).toBe(detail);
  expect(refusalText(ES, { code: 'no-such-station', detail, facts: { known: 'L1' } })).toBe(detail);
});
