import { extname } from 'node:path';
import { Worker } from 'node:worker_threads';
import { unreachable } from '../../station/assert.ts';
import type { Clock } from '../../station/clock.ts';
import { HttpProblem } from '../http/problem.ts';
import type { LineLog } from '../line/rig-given.ts';
import type { Answer, Asked, Clerk, ClerkGiven, ClerkStart, Question, Said } from './question.ts';

/** Threads at most: one may be at work on a report while the other answers the screens. */
const MOST_CLERKS = 2;
/** Questions that may wait; a person who asks for more is told when to come back. */
const MOST_WAITING = 40;
const COME_BACK_S = 2;
/** A report of many parts takes a few seconds on a slow machine: after this long a thread hangs. */
export const LONGEST_MS = 30_000;
/** How long a thread may take to notice that nobody waits any more. */
const LONGEST_STOP_MS = 2000;

const PROGRAM = new URL(`./main${extname(import.meta.url)}`, import.meta.url);

/** A question on its way. */
interface Job {
  readonly id: number;
  readonly question: Question;
  readonly resolve: (answer: Answer) => void;
  readonly reject: (cause: Error) => void;
}

/** One thread and what it is at work on; null when it waits. */
interface Desk {
  readonly worker: Worker;
  readonly stop: Int32Array<SharedArrayBuffer>;
  job: Job | null;
  /** Aborted when the thread has said something: it does not hang. */
  watch: AbortController;
  /** Why the thread was ended; null while it was not. */
  endedFor: HttpProblem | null;
}

export interface ClerksGiven extends ClerkGiven {
  readonly clock: Clock;
  readonly log: Pick<LineLog, 'error'>;
  /** The thread's program, where it is another than that beside this file. */
  readonly program?: URL;
}

/**
 * Threads that read the ledger beside the server, so that nothing long is done on its own. They are started when there is
 * something to do for them; one that dies or hangs is replaced by the next question. What nobody waits for any more is not
 * begun, or ended.
 */
export class Clerks implements Clerk {
  readonly #given: ClerksGiven;
  readonly #desks = new Set<Desk>();
  readonly #waiting: Job[] = [];
  #lastId = 0;
  #isOver = false;

  constructor(given: ClerksGiven) {
    this.#given = given;
  }

  /** Threads that are there now. */
  get threads(): number {
    return this.#desks.size;
  }

  ask(question: Question, signal: AbortSignal): Promise<Answer> {
    return new Promise((resolve, reject) => {
      if (this.#isOver) throw ends();
      signal.throwIfAborted();
      if (this.#waiting.length >= MOST_WAITING) throw busy();
      this.#lastId += 1;
      const cancel = (): void => this.#cancel(job, signal.reason as Error);
      const over = (): void => signal.removeEventListener('abort', cancel);
      const job: Job = {
        id: this.#lastId,
        question,
        resolve: (answer) => {
          over();
          resolve(answer);
        },
        reject: (cause) => {
          over();
          reject(cause);
        },
      };
      signal.addEventListener('abort', cancel);
      this.#waiting.push(job);
      this.#goOn();
    });
  }

  /** Ends every thread, whatever it is at work on; nothing is asked any more. */
  async end(): Promise<void> {
    this.#isOver = true;
    for (const job of this.#waiting.splice(0)) job.reject(ends());
    await Promise.all([...this.#desks].map((desk) => this.#dismiss(desk, ends())));
  }

  /** Gives out what waits, as far as somebody has time for it. */
  #goOn(): void {
    for (;;) {
      const at = this.#waiting.findIndex(({ question }) => question.kind !== 'report' || this.#mayReport());
      const job = this.#waiting[at];
      if (job === undefined) return;
      const desk = this.#freeDesk();
      if (desk === null) return;
      this.#waiting.splice(at, 1);
      this.#give(desk, job);
    }
  }

  /** Reports leave one thread to the screens. */
  #mayReport(): boolean {
    const reports = [...this.#desks].filter(({ job }) => job?.question.kind === 'report').length;
    return reports < MOST_CLERKS - 1;
  }

  #freeDesk(): Desk | null {
    const free = [...this.#desks].find(({ job, endedFor }) => job === null && endedFor === null);
    return free ?? (this.#desks.size < MOST_CLERKS ? this.#open() : null);
  }

  #open(): Desk {
    const { ledger, plant, timeZone, program = PROGRAM, log } = this.#given;
    const stop = new Int32Array(new SharedArrayBuffer(Int32Array.BYTES_PER_ELEMENT));
    const workerData: ClerkStart = { ledger, plant, timeZone, stop };
    const desk: Desk = {
      worker: new Worker(program, { workerData }),
      stop,
      job: null,
      watch: new AbortController(),
      endedFor: null,
    };
    desk.worker.on('message', (said: Said) => this.#hear(desk, said));
    desk.worker.on('error', (error) => log.error({ err: error }, 'a thread that reads the ledger failed'));
    desk.worker.once('exit', () => this.#lose(desk));
    this.#desks.add(desk);
    return desk;
  }

  #give(desk: Desk, job: Job): void {
    desk.job = job;
    desk.worker.postMessage({ id: job.id, question: job.question } satisfies Asked);
    this.#watch(desk, LONGEST_MS, tooLong());
  }

  /** Ends a thread that says nothing for so long. */
  #watch(desk: Desk, ms: number, why: HttpProblem): void {
    desk.watch.abort();
    const watch = new AbortController();
    desk.watch = watch;
    void this.#given.clock.sleep(ms, watch.signal).then(
      () => {
        this.#given.log.error({ question: desk.job?.question, ms }, 'a thread that reads the ledger hangs');
        return this.#dismiss(desk, why);
      },
      () => undefined,
    );
  }

  #hear(desk: Desk, said: Said): void {
    const { job } = desk;
    if (job === null || said.id !== job.id) return;
    desk.watch.abort();
    desk.job = null;
    switch (said.is) {
      case 'answer':
        job.resolve(said.answer);
        break;
      case 'refused':
        job.reject(new HttpProblem(said.status, said.code, said.detail, said.facts));
        break;
      case 'failed':
        job.reject(said.error);
        break;
      case 'stopped':
        break;
      default:
        unreachable(said);
    }
    this.#goOn();
  }

  /** Nobody waits any more: what was not begun is not, what runs is told to stop. */
  #cancel(job: Job, cause: Error): void {
    job.reject(cause);
    const at = this.#waiting.indexOf(job);
    if (at >= 0) this.#waiting.splice(at, 1);
    const desk = [...this.#desks].find((each) => each.job === job);
    if (desk === undefined) return;
    Atomics.store(desk.stop, 0, job.id);
    this.#watch(desk, LONGEST_STOP_MS, lost());
  }

  /** The thread is gone, by itself or because it was ended. */
  #lose(desk: Desk): void {
    desk.watch.abort();
    this.#desks.delete(desk);
    desk.job?.reject(desk.endedFor ?? lost());
    this.#goOn();
  }

  async #dismiss(desk: Desk, why: HttpProblem): Promise<void> {
    desk.watch.abort();
    desk.endedFor ??= why;
    await desk.worker.terminate();
  }
}

const again = { retryAfterS: COME_BACK_S };
const busy = (): HttpProblem =>
  new HttpProblem(503, 'too-busy', `${MOST_WAITING} questions wait already. Ask again in a moment.`, again);
const lost = (): HttpProblem =>
  new HttpProblem(503, 'work-lost', 'The work on this was cut off. Nothing is lost: ask again.', again);
const tooLong = (): HttpProblem =>
  new HttpProblem(503, 'took-too-long', 'The work on this took too long and was ended. Ask again.', again);
const ends = (): HttpProblem => new HttpProblem(503, 'not-ready', 'The server ends. Ask again when it is back.', again);
