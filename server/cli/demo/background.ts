import { type ChildProcess, fork } from 'node:child_process';
import { extname } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { HistoryProgress } from '../../audit/contract.ts';
import type { LineLog } from '../../line/rig-given.ts';
import type { Store } from '../../store/store.ts';
import { LedgerKeeper } from './past-keeper.ts';
import type { PastKeeper } from './past-keeper.ts';

/** What the process that makes a past asks of the server, and what it is answered. */
export interface Asked {
  readonly type: 'ask';
  readonly id: number;
  readonly method: keyof PastKeeper;
  readonly args: readonly unknown[];
}
export interface Answered {
  readonly id: number;
  readonly value: unknown;
  readonly error: string | null;
}
export type Told = { readonly type: 'progress' } & HistoryProgress;

export const ASKED = [
  'issueProfile',
  'issueRig',
  'cycle',
  'study',
  'draw',
  'act',
  'decide',
  'pause',
] as const satisfies readonly (keyof PastKeeper)[];

const MAIN = fileURLToPath(new URL(`./main${extname(import.meta.url)}`, import.meta.url));

/** A made past on its way into a running server's ledger. It ends by itself; what was kept of it stays. */
export class BackgroundHistory {
  readonly #child: ChildProcess;
  readonly #log: LineLog;
  #progress: HistoryProgress | null = { done: 0, of: 0, lot: '' };

  constructor(store: Store, log: LineLog) {
    this.#log = log;
    const keeper = new LedgerKeeper(store);
    this.#child = fork(MAIN, [], { serialization: 'advanced', stdio: ['ignore', 'ignore', 'inherit', 'ipc'] });
    this.#child.on('message', (message: Asked | Told) => {
      if (message.type === 'progress') this.#progress = { done: message.done, of: message.of, lot: message.lot };
      else void this.#answer(keeper, message);
    });
    this.#child.on('error', (error) => {
      this.#progress = null;
      log.error({ err: error }, 'the demo history is not made');
    });
    this.#child.once('exit', (code) => {
      this.#progress = null;
      if (code !== 0) log.warn({ code }, 'the demo history was not finished');
    });
  }

  /** How far it is; null when it is over. */
  get progress(): HistoryProgress | null {
    return this.#progress;
  }

  end(): void {
    this.#child.kill('SIGTERM');
    if (this.#child.connected) this.#child.disconnect();
  }

  async #answer(keeper: LedgerKeeper, { id, method, args }: Asked): Promise<void> {
    let answer: Answered;
    try {
      const call = keeper[method].bind(keeper) as (...given: readonly unknown[]) => Promise<unknown>;
      answer = { id, value: await call(...args), error: null };
    } catch (cause) {
      this.#log.error({ err: cause }, 'the demo history could not be kept');
      answer = { id, value: null, error: String(cause) };
    }
    if (this.#child.connected) this.#child.send(answer);
  }
}
