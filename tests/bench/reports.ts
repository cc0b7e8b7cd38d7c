import { fork } from 'node:child_process';
import { once } from 'node:events';
import { setTimeout as pause } from 'node:timers/promises';
import { auditedLedger } from '../support/audited-ledger.ts';
import { compile } from '../support/compiled.ts';
import type { Compiled } from '../support/compiled.ts';
import { median } from './timing.ts';

const REPORTS = Number(process.env['REPORTS'] ?? 8);
const IDLE_MS = 3000;

interface Held {
  readonly p50Ms: number;
  readonly p99Ms: number;
  readonly mostMs: number;
}

/** How long the server's own thread is held while reports are made, over the same server idle: by threads, and without. */
export async function reportsBench(): Promise<void> {
  const ledger = await auditedLedger(['K90-1'], { parts: 40, audited: 13 });
  const { audit } = ledger.store.audits.drawn({ partNumber: null, lot: null }, 1)[0]!;
  ledger.store.close();
  const compiled = compile(['station', 'server', 'tests']);
  try {
    for (const which of ['threads', 'here'] as const) {
      const { idle, busy, tookMs } = await heldBy(compiled, [ledger.path, which], audit);
      const ratio = (of: keyof Held): string => `${(busy[of] / idle[of]).toFixed(1)} x`;
      console.log(
        `reports, ${which === 'here' ? "made on the server's own thread" : 'made by threads beside it'}: its thread held at most ${busy.mostMs.toFixed(0)} ms ` +
          `(idle ${idle.mostMs.toFixed(0)} ms: ${ratio('mostMs')}), 99 % of turns within ${busy.p99Ms.toFixed(1)} ms (${ratio('p99Ms')}); ` +
          `a report takes ${tookMs.toFixed(0)} ms, median of ${REPORTS}`,
      );
    }
  } finally {
    compiled.remove();
    ledger.remove();
  }
}

async function heldBy(
  compiled: Compiled,
  args: readonly string[],
  audit: string,
): Promise<{ readonly idle: Held; readonly busy: Held; readonly tookMs: number }> {
  const child = fork(compiled.fileOf('tests/bench/report-server.ts'), args);
  const asked = async <T>(say: 'reset' | 'delay' | null): Promise<T> => {
    if (say !== null) child.send(say);
    const [said] = (await once(child, 'message')) as [T];
    return said;
  };
  try {
    const { port } = await asked<{ port: number }>(null);
    const report = async (): Promise<number> => {
      const fromMs = performance.now();
      await (await fetch(`http://127.0.0.1:${port}/api/audits/${audit}/report.pdf`)).arrayBuffer();
      return performance.now() - fromMs;
    };
    // Fonts and code are loaded once.
    await report();
    await asked('reset');
    await pause(IDLE_MS);
    const idle = await asked<Held>('delay');
    await asked('reset');
    const took: number[] = [];
    for (let made = 0; made < REPORTS; made += 1) took.push(await report());
    const busy = await asked<Held>('delay');
    return { idle, busy, tookMs: median(took) };
  } finally {
    child.disconnect();
    await once(child, 'exit');
  }
}
