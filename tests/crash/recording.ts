import { execFileSync, spawnSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';

/** One thing that a program did to the files below a folder, in the order in which it did them. */
export type StorageEvent =
  | { readonly did: 'create' | 'sync' | 'unlink' | 'make folder'; readonly path: string }
  | { readonly did: 'write'; readonly path: string; readonly offset: number; readonly data: Buffer }
  | { readonly did: 'truncate'; readonly path: string; readonly bytes: number }
  | { readonly did: 'rename'; readonly path: string; readonly to: string };

const compiler = process.env['CC'] ?? 'cc';

/** Whether this machine can compile the recorder. */
export function hasCompiler(): boolean {
  return spawnSync(compiler, ['--version'], { stdio: 'ignore' }).status === 0;
}

/** Compiles the recorder into a folder; returns the file to load in front of a program. */
export function compileRecorder(folder: string): string {
  const library = join(folder, 'write-recorder.so');
  const source = join(import.meta.dirname, 'write-recorder.c');
  execFileSync(compiler, ['-shared', '-fPIC', '-O2', '-Wall', '-Werror', '-o', library, source, '-ldl']);
  return library;
}

/** What a program's environment must say to be recorded. `failAt` is the write or sync that fails, counted from 1. */
export function recordedEnvironment(given: {
  library: string;
  folder: string;
  log: string;
  failAt?: number;
}): NodeJS.ProcessEnv {
  const { library, folder, log, failAt } = given;
  return {
    ...process.env,
    LD_PRELOAD: library,
    RECORD_FOLDER: folder,
    RECORD_LOG: log,
    ...(failAt === undefined ? {} : { RECORD_FAIL: String(failAt) }),
  };
}

const HEAD_BYTES = 20;

/** The events of a log, see write-recorder.c for its layout. */
export function eventsOf(log: string): StorageEvent[] {
  const bytes = readFileSync(log);
  const events: StorageEvent[] = [];
  for (let at = 0; at < bytes.length; ) {
    const [operation, pathBytes, dataBytes] = [0, 4, 8].map((field) => bytes.readUInt32LE(at + field)) as [
      number,
      number,
      number,
    ];
    const offset = Number(bytes.readBigUInt64LE(at + 12));
    const path = bytes.toString('utf8', at + HEAD_BYTES, at + HEAD_BYTES + pathBytes);
    const data = bytes.subarray(at + HEAD_BYTES + pathBytes, at + HEAD_BYTES + pathBytes + dataBytes);
    events.push(eventOf(operation, path, offset, data));
    at += HEAD_BYTES + pathBytes + dataBytes;
  }
  return events;
}

function eventOf(operation: number, path: string, offset: number, data: Buffer): StorageEvent {
  switch (operation) {
    case 1:
      return { did: 'create', path };
    case 2:
      return { did: 'write', path, offset, data };
    case 3:
      return { did: 'truncate', path, bytes: offset };
    case 4:
      return { did: 'sync', path };
    case 5:
      return { did: 'unlink', path };
    case 6:
      return { did: 'rename', path, to: data.toString('utf8') };
    case 7:
      return { did: 'make folder', path };
    default:
      throw new Error(`operation ${operation} in a recording`);
  }
}
