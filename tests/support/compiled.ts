import { mkdirSync, readFileSync, readdirSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import ts from 'typescript';

const root = join(import.meta.dirname, '../..');

/** The program and its tests as JavaScript in a temporary folder: a process of it starts in a third of the time. */
export interface Compiled {
  /** The JavaScript file of a source file, named from the top of the house. */
  fileOf(source: string): string;
  remove(): void;
}

/** Translates file by file without checking types: the type check is another step. */
export function compile(folders: readonly string[]): Compiled {
  const out = mkdtempSync(join(tmpdir(), 'barolot-compiled-'));
  for (const folder of folders)
    for (const name of readdirSync(join(root, folder), { recursive: true, encoding: 'utf8' }))
      if (name.endsWith('.ts')) translate(join(folder, name), out);
  writeFileSync(join(out, 'package.json'), '{ "type": "module" }\n');
  symlinkSync(join(root, 'node_modules'), join(out, 'node_modules'));
  return {
    fileOf: (source) => join(out, source.replace(/\.ts$/, '.js')),
    remove: () => rmSync(out, { recursive: true, force: true }),
  };
}

function translate(source: string, out: string): void {
  const { outputText } = ts.transpileModule(readFileSync(join(root, source), 'utf8'), {
    compilerOptions: {
      target: ts.ScriptTarget.ES2022,
      module: ts.ModuleKind.ESNext,
      verbatimModuleSyntax: true,
      rewriteRelativeImportExtensions: true,
    },
  });
  const file = join(out, source.replace(/\.ts$/, '.js'));
  mkdirSync(dirname(file), { recursive: true });
  writeFileSync(file, outputText);
}
