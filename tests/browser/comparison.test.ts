import { mkdtempSync, rmSync } from 'node:fs';
import type { AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { FastifyInstance } from 'fastify';
import { pino } from 'pino';
import type { Browser, Page } from 'playwright-core';
import { build } from 'vite';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import { buildApp } from '../../server/app.ts';
import { systemClock } from '../../station/clock.ts';
import { accessibilityFaults, openBrowser, openPage } from '../support/browser.ts';
import { clerkHere } from '../support/clerk.ts';
import { comparedAudits } from '../support/compared-audits.ts';
import type { ComparedAudits } from '../support/compared-audits.ts';

/** Two audits held against one another in a real browser, over audits that the product ran: by keyboard, and for everybody. */

let made: ComparedAudits;
let app: FastifyInstance;
let browser: Browser;
let address: string;
let folder: string;

beforeAll(async () => {
  made = await comparedAudits();
  folder = mkdtempSync(join(tmpdir(), 'barolot-comparison-'));
  const web = join(folder, 'web');
  // As it is delivered: the test runner's own mode would build the screens for development.
  vi.stubEnv('NODE_ENV', 'production');
  await build({ configFile: '.config/vite.config.js', logLevel: 'error', build: { outDir: web, emptyOutDir: true } });
  vi.unstubAllEnvs();
  app = await buildApp({
    ...{ lines: [], labs: [], profiles: [], history: () => null, clerk: clerkHere(made.store) },
    ...{ store: made.store, reader: made.store, clock: systemClock, log: pino({ level: 'silent' }), life: 'test' },
    ...{ web, isLoopback: true },
  });
  await app.listen({ host: '127.0.0.1', port: 0 });
  address = `http://127.0.0.1:${(app.server.address() as AddressInfo).port}`;
  browser = await openBrowser();
}, 240_000);

afterAll(async () => {
  await browser.close();
  await app.close();
  made.end();
  rmSync(folder, { recursive: true, force: true });
});

async function on(path: string, wish: object, steps: (page: Page) => Promise<void>): Promise<void> {
  const { page, complaints } = await openPage(browser);
  await page.addInitScript((kept) => localStorage.setItem('barolot.preferences', kept), JSON.stringify(wish));
  await page.goto(`${address}${path}`);
  await page.locator('h1').waitFor();
  await steps(page);
  expect(complaints).toEqual([]);
  await page.context().close();
}

const focusIsOn = (page: Page, selector: string): Promise<boolean> =>
  page.evaluate((wanted) => document.activeElement?.matches(wanted) ?? false, selector);

/** Goes on with Tab until what is meant has the focus. */
async function tabTo(page: Page, selector: string): Promise<void> {
  for (let steps = 0; steps < 120; steps += 1) {
    if (await focusIsOn(page, selector)) return;
    await page.keyboard.press('Tab');
  }
  throw new Error(`the keyboard does not reach ${selector}`);
}

const against = (): string => `/audits/${made.drifting}/against/${made.good}`;

test('by keyboard from an audit to the comparison with the last accepted one, and what it says', async () => {
  await on(`/audits/${made.drifting}`, {}, async (page) => {
    await page.locator('.compare select').waitFor();
    await tabTo(page, '.compare select');
    // The last that was accepted is chosen; it is another choice that is offered below.
    expect(await page.locator('.compare option:checked').innerText()).toMatch(/^Lot K23-2, .*: Accepted$/);
    expect(await page.locator('.compare option').allInnerTexts()).toHaveLength(2);
    await page.keyboard.press('Tab');
    await page.keyboard.press('Enter');
    await page.locator('.compared-answer h1').waitFor();
    expect(new URL(page.url()).pathname).toBe(against());
    expect(await focusIsOn(page, 'main')).toBe(true);
    expect(await page.locator('h1').innerText()).toMatch(
      /^K24-3 against K23-2: mean at hot lower at \d of 5 points, most at \d+ kPa: by \d\.\d kPa \(\d\.\d to \d\.\d\)/,
    );
    expect(await page.locator('.compared-answer').innerText()).toContain('Nothing else differs beyond chance.');
    expect(await page.locator('.compared-answer').innerText()).toContain('With 5 and 5 parts');
    expect(await page.locator('.caveats').innerText()).toContain('K23-2 has points that the other has not: 5.');
    expect(await page.locator('.errors svg[role="img"]').count()).toBe(1);
    // Fifteen points in three groups, each with a word for whether it differs.
    expect(await page.locator('.compared tbody tr:has(td)').count()).toBe(15);
    const words = await page.locator('.compared tbody td:nth-child(11)').allInnerTexts();
    expect(words.every((word) => /^(yes|no), p /.test(word))).toBe(true);
    expect(words.filter((word) => word.startsWith('yes')).length).toBeGreaterThan(4);
    // The table is wider than some screens: the keyboard reaches and scrolls it.
    await tabTo(page, '.compared .wide');
  });
});

test('its address can be kept, turned round and left; the file has the same rows', async () => {
  await on(against(), {}, async (page) => {
    await page.locator('.compared-answer').waitFor();
    const csv = await page.getByRole('link', { name: 'Comparison, CSV' }).getAttribute('href');
    const text = await (await fetch(`${address}${csv ?? ''}`)).text();
    expect(text.trimEnd().split('\r\n')).toHaveLength(16);
    await page.getByRole('link', { name: 'The other way round' }).focus();
    await page.keyboard.press('Enter');
    await expect.poll(() => page.locator('h1').innerText()).toMatch(/^K23-2 against K24-3: mean at hot higher/);
    await page.goBack();
    await expect.poll(() => page.locator('h1').innerText()).toMatch(/^K24-3 against K23-2/);
    await page.getByRole('link', { name: 'To the audit of lot K23-2' }).focus();
    await page.keyboard.press('Enter');
    await page.locator('.audit .answers').waitFor();
  });
});

test('the trend leads to the same page', async () => {
  await on(`/audits/${made.drifting}`, {}, async (page) => {
    await page.locator('.trend-links a').waitFor();
    await tabTo(page, '.trend-links a');
    await page.keyboard.press('Enter');
    await page.locator('.compared-answer').waitFor();
    expect(new URL(page.url()).pathname).toBe(against());
  });
});

test('drift stands in numbers: each condition, the part that changed most, and the return to ambient by its name', async () => {
  await on(`/audits/${made.good}`, {}, async (page) => {
    const table = page.locator('.drifts');
    await table.waitFor();
    expect(await table.locator('tbody').count()).toBe(3);
    expect(await table.locator('tbody tr:has(td)').count()).toBe(15);
    expect(await table.locator('.group').allInnerTexts()).toEqual([
      'Cold −40 °C',
      'Hot +125 °C',
      'Ambient again 23 °C: difference to before, after hot (hysteresis)',
    ]);
    expect(await table.locator('tbody td .code').first().innerText()).toMatch(/^AQ1105-K232-\d{5}$/);
  });
});

test('audits of two part numbers, and an audit against itself, say what to do instead', async () => {
  for (const [other, says] of [
    [made.foreign, /Choose an audit of AQ-1105/],
    [made.drifting, /Choose another one/],
  ] as const) {
    const { page } = await openPage(browser);
    await page.goto(`${address}/audits/${made.drifting}/against/${other}`);
    await page.getByRole('alert').waitFor();
    expect(await page.getByRole('alert').innerText()).toMatch(says);
    await page.context().close();
  }
});

test('Spanish has its own words', async () => {
  await on(against(), { language: 'es' }, async (page) => {
    await page.locator('.compared-answer').waitFor();
    expect(await page.locator('h1').innerText()).toMatch(
      /^K24-3 frente a K23-2: media en caliente más baja .* \d,\d kPa/,
    );
  });
});

describe.each([
  ['light', 1280],
  ['dark', 1920],
  ['light', 640],
] as const)('%s, %d px wide', (theme, width) => {
  test('the comparison is readable for everybody, says that the rig is simulated, and does not scroll sideways', async () => {
    await on(against(), { theme }, async (page) => {
      await page.setViewportSize({ width, height: 800 });
      await page.locator('.errors svg[role="img"]').waitFor();
      expect(await accessibilityFaults(page)).toEqual([]);
      expect(await page.evaluate(() => document.documentElement.scrollWidth - innerWidth)).toBeLessThanOrEqual(0);
      expect(await page.locator('.sim').count()).toBe(1);
    });
  });

  test('so is the page of an audit with its drift', async () => {
    await on(`/audits/${made.good}`, { theme }, async (page) => {
      await page.setViewportSize({ width, height: 800 });
      await page.locator('.drifts').waitFor();
      await page.locator('.compare select').waitFor();
      expect(await accessibilityFaults(page)).toEqual([]);
      expect(await page.evaluate(() => document.documentElement.scrollWidth - innerWidth)).toBeLessThanOrEqual(0);
    });
  });
});
