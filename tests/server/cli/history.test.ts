import { afterAll, beforeAll, expect, test } from 'vitest';
import { SCENARIO } from '../../../server/cli/demo/script.ts';
import type { HistoryProgress, LotLine } from '../../../server/audit/contract.ts';
import { verify } from '../../../server/store/verify.ts';
import { Product, buildProduct } from '../../support/product.ts';
import type { Built } from '../../support/product.ts';

let built: Built;
let product: Product;
beforeAll(async () => {
  built = await buildProduct({ screens: false });
  product = await Product.start(built, [{ station: 'EOL-1', nests: 2, pace: 20 }], {}, ['--history']);
}, 120_000);
afterAll(async () => {
  await product.remove();
  built.remove();
});

const json = async <T>(path: string): Promise<T> => (await (await fetch(`${product.address}${path}`)).json()) as T;

test('the first start fills an empty ledger beside the work, and a later start does not', async () => {
  const seen = new Set<number>();
  for (;;) {
    const { history } = await json<{ history: HistoryProgress | null }>('/api/demo-history');
    if (history === null) break;
    seen.add(history.done);
    // The stations answer meanwhile.
    expect(await json<readonly object[]>('/api/stations')).toHaveLength(1);
    await new Promise((resolve) => setTimeout(resolve, 100));
  }
  expect(seen.size).toBeGreaterThan(2);
  const lots = await json<readonly LotLine[]>('/api/lots?limit=100');
  expect(lots.map(({ lot }) => lot).sort()).toEqual(SCENARIO.map(({ lot }) => lot).sort());
  expect(new Set(lots.map(({ state }) => state))).toEqual(new Set(['open', 'accepted', 'on-hold']));
  await product.stop();
  expect(verify(product.ledger)).toMatchObject({ ok: true, problems: [] });
  await product.restart();
  expect(await json<object>('/api/demo-history')).toEqual({ history: null });
}, 180_000);
