import { get } from 'node:http';
import type { IncomingMessage } from 'node:http';
import { setTimeout as pause } from 'node:timers/promises';
import type { LineCommand, LineView, Snapshot } from '../../server/line/contract.ts';
import { openReader } from '../../server/store/reader.ts';
import { verify } from '../../server/store/verify.ts';
import { stream } from '../../station/random.ts';
import { EventStreamParser } from '../support/event-stream.ts';
import type { StreamEvent } from '../support/event-stream.ts';
import { Product } from '../support/product.ts';
import type { Built } from '../support/product.ts';

const STATION = 'EOL-1';
const LINE = `/api/stations/${STATION}/line`;

/** A verdict as the screen's own stream carried it. */
interface Shown {
  readonly cycle: string;
  readonly nest: number;
  readonly serial: string;
  readonly verdict: string;
}

/** What came of a series of kills. */
export interface KillReport {
  readonly kills: { readonly server: number; readonly station: number };
  readonly shown: number;
  readonly shownPasses: number;
  readonly records: number;
  readonly interrupted: number;
  /** Everything that is not as it has to be; empty when all is well. */
  readonly faults: readonly string[];
}

/** Follows a station's stream from outside the program and notes every verdict that was shown, through every restart. */
class Witness {
  readonly shown = new Map<string, Shown>();
  readonly #product: Product;
  #isOver = false;
  #reply: IncomingMessage | null = null;

  constructor(product: Product) {
    this.#product = product;
  }

  async follow(): Promise<void> {
    while (!this.#isOver) {
      await this.#once().catch(() => undefined);
      await pause(20);
    }
  }

  end(): void {
    this.#isOver = true;
    this.#reply?.destroy();
  }

  #once(): Promise<void> {
    return new Promise((resolve, reject) => {
      get(`${this.#product.address}${LINE}/live`, { agent: false }, (reply) => {
        this.#reply = reply;
        const parser = new EventStreamParser();
        let seen = 0;
        reply.setEncoding('utf8').on('data', (text: string) => {
          parser.push(text);
          for (; seen < parser.events.length; seen += 1) this.#note(parser.events[seen]!);
        });
        reply.on('close', resolve).on('error', reject);
      }).on('error', reject);
    });
  }

  #note({ event, data }: StreamEvent): void {
    // Only these two carry a screen; pressures and the signs of life between them carry no verdict.
    if (event !== 'snapshot' && event !== 'view') return;
    const view = event === 'snapshot' ? (JSON.parse(data) as Snapshot).view : (JSON.parse(data) as LineView);
    for (const { nest, serial, verdict } of view.outcome?.nests ?? []) {
      const cycle = view.outcome?.cycle ?? '';
      this.shown.set(`${cycle} ${nest} ${verdict}`, { cycle, nest, serial, verdict });
    }
  }
}

/** Does at the station whatever the band asks for, as fast as it may, until told to stop. */
class Operator {
  readonly #product: Product;
  #isOver = false;
  #running = 0;

  constructor(product: Product) {
    this.#product = product;
  }

  async work(): Promise<void> {
    while (!this.#isOver) {
      // A server that is gone does not answer; it comes back.
      await this.#step().catch(() => undefined);
      await pause(10);
    }
  }

  end(): void {
    this.#isOver = true;
  }

  async #step(): Promise<void> {
    const { view } = (await (await fetch(`${this.#product.address}${LINE}`)).json()) as Snapshot;
    const command = this.#answer(view);
    if (command === null) return;
    await fetch(`${this.#product.address}${LINE}/commands`, {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify(command),
    });
  }

  #answer({ prompt }: LineView): LineCommand | null {
    if (prompt.code === 'choose-work')
      return { type: 'setup', operator: 'R. Tamm', partNumber: 'AQ-1105' as never, lot: 'K24-3' };
    if (prompt.code === 'scan') {
      this.#running += 1;
      return { type: 'scan', text: `AQ1105-26K24-${String(this.#running).padStart(5, '0')}`, typed: false };
    }
    return prompt.tone === 'act' ? (prompt.key?.command ?? null) : null;
  }
}

/**
 * Lets a product work without a pause and kills its server or its station at random instants, so many times. `seed`
 * repeats the instants (not what the machine was doing at them).
 */
export async function killAtRandom(built: Built, options: { kills: number; seed: number }): Promise<KillReport> {
  const { kills, seed } = options;
  const chance = stream(seed, 'kills', 0);
  const product = await Product.start(built, [{ station: STATION, nests: 2, pace: 10 }], { log: 'silent' });
  const witness = new Witness(product);
  const operator = new Operator(product);
  const following = witness.follow();
  const working = operator.work();
  const done = { server: 0, station: 0 };
  try {
    // The first load is set up and learnt before anybody is killed.
    while (witness.shown.size === 0) await pause(50);
    for (let kill = 0; kill < kills; kill += 1) {
      await pause(50 + 2600 * chance.uniform());
      if (chance.uniform() < 0.5) {
        await product.kill();
        done.server += 1;
        await product.restart();
      } else {
        product.killStation(STATION);
        done.station += 1;
      }
    }
    await pause(2500);
  } finally {
    operator.end();
    await working;
    await product.stop();
    witness.end();
    await following;
  }
  try {
    return { ...reportOf(product.ledger, [...witness.shown.values()]), kills: done };
  } finally {
    await product.remove();
  }
}

function reportOf(ledger: string, shown: readonly Shown[]): Omit<KillReport, 'kills'> {
  const reader = openReader(ledger);
  try {
    const records = reader.latest(100_000).map(({ record }) => record);
    const kept = new Map(
      records.flatMap(({ measurement, circumstances }) =>
        measurement.results.map(({ nest, serial, verdict }) => [
          `${circumstances.cycle} ${nest + 1}`,
          { serial, verdict },
        ]),
      ),
    );
    const unkept = shown.filter(({ cycle, nest, serial, verdict }) => {
      const record = kept.get(`${cycle} ${nest}`);
      return record?.serial !== serial || record.verdict !== verdict;
    });
    const passes = new Map<string, number>();
    for (const { serial, verdict } of kept.values())
      if (verdict === 'pass') passes.set(serial, (passes.get(serial) ?? 0) + 1);
    const isInterrupted = (codes: readonly { readonly code: string }[]): boolean =>
      codes.some(({ code }) => code === 'interrupted');
    return {
      shown: shown.length,
      shownPasses: shown.filter(({ verdict }) => verdict === 'pass').length,
      records: records.length,
      interrupted: records.filter(({ measurement }) => isInterrupted(measurement.faults)).length,
      faults: [
        ...unkept.map((each) => `shown and not kept so: ${JSON.stringify(each)}`),
        ...[...passes].filter(([, times]) => times > 1).map(([serial, times]) => `${serial} passed ${times} times`),
        ...reader.unfinished().map(({ opening }) => `left open: ${opening.cycle}`),
        ...verify(ledger).problems.map(({ what }) => `the ledger: ${what}`),
      ],
    };
  } finally {
    reader.close();
  }
}
