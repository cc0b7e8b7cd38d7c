import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { AddressInfo } from 'node:net';
import { pino } from 'pino';
import type { Browser, Page } from 'playwright-core';
import { build } from 'vite';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import { systemClock } from '../../station/clock.ts';
import { simulatedProofs } from '../../station/host/simulated-station.ts';
import type { PartTruth } from '../../station/rig/simulated/part.ts';
import { buildApp } from '../../server/app.ts';
import type { StationView } from '../../server/line/contract.ts';
import { runAndKeep } from '../../server/records/keep.ts';
import { openReader } from '../../server/store/reader.ts';
import { openStore } from '../../server/store/store.ts';
import { accessibilityFaults, openBrowser, openPage, scan } from '../support/browser.ts';
import { clerkHere } from '../support/clerk.ts';
import { ACTOR, PROGRAM } from '../support/ledger-content.ts';
import { steppingClock } from '../support/ledger-use.ts';
import { goodPart, never, stationFor } from '../support/simulated-plant.ts';

/**
 * The pages of the desk in a real browser, as they are delivered, over a ledger of cycles that the product ran: found,
 * read and walked through with the keyboard alone.
 */

const RETURNED = 'AQ1105-26K22-00518';
const GOOD = 'AQ1105-26K22-00519';
const UNJUDGED = 'AQ1105-26K22-00520';

const STATION: StationView = {
  station: 'EOL-1',
  nests: 2,
  chamber: false,
  origin: 'simulated',
  link: 'up',
  prompt: 'scan',
  partNumber: 'AQ-1105',
  lot: 'K22-5',
};

let browser: Browser;
let address: string;
let end: () => Promise<void>;

beforeAll(async () => {
  const folder = mkdtempSync(join(tmpdir(), 'barolot-desk-'));
  const web = join(folder, 'web');
  // As it is delivered: the test runner's own mode would build the screens for development.
  vi.stubEnv('NODE_ENV', 'production');
  await build({ configFile: '.config/vite.config.js', logLevel: 'error', build: { outDir: web, emptyOutDir: true } });
  vi.unstubAllEnvs();
  const ledger = join(folder, 'ledger.db');
  await keepCycles(ledger);
  const store = openStore(ledger, { clock: systemClock, program: PROGRAM });
  const reader = openReader(ledger);
  const app = await buildApp({
    lines: [],
    labs: [],
    store,
    profiles: [],
    history: () => null,
    reader,
    clerk: clerkHere(reader),
    clock: systemClock,
    log: pino({ level: 'silent' }),
    life: 'test',
    web,
    isLoopback: true,
  });
  await app.listen({ host: '127.0.0.1', port: 0 });
  address = `http://127.0.0.1:${(app.server.address() as AddressInfo).port}`;
  browser = await openBrowser();
  end = async () => {
    await browser.close();
    await app.close();
    reader.close();
    store.close();
    rmSync(folder, { recursive: true, force: true });
  };
}, 120_000);

afterAll(async () => {
  await end();
});

/** Three cycles: two good parts; one that the station did not judge; one of the good ones back with a leak. */
async function keepCycles(ledger: string): Promise<void> {
  const clock = steppingClock();
  const store = openStore(ledger, { clock, program: PROGRAM });
  const { rig, plan, profile, revision } = await stationFor('AQ-1105');
  store.issueProfile(profile, ACTOR);
  store.issueRigRevision(revision, ACTOR);
  const run = async (
    at: string,
    parts: readonly (PartTruth | null)[],
    load: readonly (string | null)[],
    due: Parameters<typeof simulatedProofs>[0] = [],
  ): Promise<void> => {
    clock.set(at);
    rig.loadParts(parts, 7);
    const occasion = { lot: 'K22-5', program: PROGRAM, actor: ACTOR, seed: 7 };
    await runAndKeep(rig, { plan, load, proofs: simulatedProofs(due) }, occasion, { clock, store, stop: never });
  };
  const [one, two] = [goodPart(profile, 518), goodPart(profile, 519)];
  await run('2026-11-10T09:43:00.000Z', [one, two], [RETURNED, GOOD]);
  await run('2026-11-10T09:44:00.000Z', [two, null], [UNJUDGED, null], ['master-check']);
  await run('2028-06-02T13:31:00.000Z', [null, { ...one, leakStdCm3PerMin: 2.4 }], [null, RETURNED]);
  store.checkpoint();
  store.close();
}

/** Opens an address with a person's preferences; ends with what the page complained about. */
async function on(path: string, wish: object, steps: (page: Page) => Promise<void>): Promise<void> {
  const { page, complaints } = await openPage(browser);
  await page.addInitScript((kept) => localStorage.setItem('barolot.preferences', kept), JSON.stringify(wish));
  await page.route('**/api/stations', (route) => route.fulfill({ json: [STATION] }));
  await page.goto(`${address}${path}`);
  await page.locator('h1').waitFor();
  await steps(page);
  expect(complaints).toEqual([]);
  await page.context().close();
}

const answerOf = (page: Page) => page.locator('.answer');

test('a scan finds a serial, and the next one the next', async () => {
  await on('/records', {}, async (page) => {
    await page.locator('.cycles').waitFor();
    await scan(page, RETURNED);
    await expect.poll(() => answerOf(page).textContent()).toContain('FAIL');
    expect(await answerOf(page).textContent()).toContain('Leaks');
    expect(await answerOf(page).textContent()).toMatch(/2\.\d+ std cm³\/min, at most 0\.50 allowed/);
    await scan(page, GOOD);
    await expect.poll(() => answerOf(page).textContent()).toContain('PASS');
    await scan(page, 'AQ1105-00000');
    await expect.poll(() => page.locator('h1').textContent()).toBe('No cycle of AQ1105-00000 is kept here');
    await scan(page, GOOD);
    await expect.poll(() => answerOf(page).textContent()).toContain('PASS');
  });
});

test('a link takes the keyboard along, to the content or to the field that waits for a scan', async () => {
  const focused = (page: Page) => page.evaluate(() => document.activeElement?.tagName);
  await on('/', {}, async (page) => {
    await page.locator('.latest .nests-of').first().waitFor();
    expect(await focused(page)).toBe('BODY');
    await page.getByRole('link', { name: `Open the record of ${GOOD}` }).focus();
    await page.keyboard.press('Enter');
    await answerOf(page).waitFor();
    expect(await focused(page)).toBe('MAIN');
    await page.getByRole('link', { name: 'Records', exact: true }).focus();
    await page.keyboard.press('Enter');
    await page.locator('.cycles').waitFor();
    expect(await focused(page)).toBe('INPUT');
  });
});

test('the life of a serial is walked with the keyboard, down to the sum behind a reading', async () => {
  await on(`/records/${RETURNED}`, {}, async (page) => {
    await page.locator('.life .gap').waitFor();
    expect(await page.locator('.life .gap').textContent()).toBe('18 months');
    await page.locator('.life a').first().focus();
    await page.keyboard.press('Enter');
    await expect.poll(() => answerOf(page).textContent()).toContain('PASS');
    await page.goBack();
    await expect.poll(() => answerOf(page).textContent()).toContain('FAIL');
    const sum = page.locator('.sum');
    expect(await sum.textContent()).toContain('fall of the sealed nest');
    await page.getByRole('button', { name: 'Show the sum behind 80 kPa' }).focus();
    await page.keyboard.press('Space');
    expect(await sum.textContent()).toMatch(/expected output3\.125V/);
    expect(await page.locator('main').textContent()).toContain('yes: what is stored is what was written');
  });
});

test('a part that was not judged is called neither good nor bad, and the fault is the station’s', async () => {
  await on(`/records/${UNJUDGED}`, {}, async (page) => {
    await page.locator('.faults').waitFor();
    expect(await answerOf(page).textContent()).toContain('NOT JUDGED');
    expect(await page.locator('.faults').textContent()).toContain('Master check');
    expect(await page.locator('main').textContent()).not.toMatch(/PASS|FAIL/);
  });
});

test('Spanish has its own words and decimal comma', async () => {
  await on(`/records/${RETURNED}`, { language: 'es' }, async (page) => {
    await answerOf(page).waitFor();
    expect(await answerOf(page).textContent()).toMatch(/FALLA.*2,\d+ std cm³\/min, máximo 0,50/s);
    expect(await page.locator('html').getAttribute('lang')).toBe('es');
  });
});

test('by keyboard to a lot: how its parts did, and what the line read', async () => {
  await on('/lots', {}, async (page) => {
    await page.getByRole('link', { name: 'Open lot K22-5 of AQ-1105' }).focus();
    await page.keyboard.press('Enter');
    await page.locator('table.points').waitFor();
    // One passed and was back with a leak, one passed, one was never judged.
    expect(await page.locator('h1').innerText()).toBe('1 of 3 parts passed, 100.0 % at their first test');
    expect(await page.locator('.lot-facts').innerText()).toMatch(/not judged\s+1\s+tested again\s+1/);
    expect(await page.locator('table.points tbody tr').count()).toBe(9);
  });
});

test('a page that cannot be drawn says so and leads on', async () => {
  const { page } = await openPage(browser);
  await page.route('**/api/lots', (route) => route.fulfill({ json: [null] }));
  await page.goto(`${address}/lots`);
  await page.getByRole('heading', { name: 'This page could not be shown' }).waitFor();
  await page.getByRole('link', { name: 'Records', exact: true }).press('Enter');
  await page.locator('.cycles').waitFor();
  await page.context().close();
});

describe.each([
  ['light', 1280],
  ['dark', 1920],
  ['light', 640],
] as const)('%s, %d px wide', (theme, width) => {
  test.each([
    ['/', '.station'],
    ['/records', '.cycles'],
    [`/records/${RETURNED}`, '.picture'],
    [`/records/${UNJUDGED}`, '.faults'],
    ['/lots', 'table.lots'],
    ['/lots/AQ-1105/K22-5', 'table.points'],
    ['/records/none-such', '[role="alert"]'],
    ['/no-such-page', 'main'],
  ])(
    '%s is readable for everybody, says that the rig is simulated, and does not scroll sideways',
    async (path, part) => {
      await on(path, { theme }, async (page) => {
        await page.setViewportSize({ width, height: 800 });
        await page.locator(part).first().waitFor();
        expect(await accessibilityFaults(page)).toEqual([]);
        expect(await page.evaluate(() => document.documentElement.scrollWidth - innerWidth)).toBeLessThanOrEqual(0);
        expect(await page.locator('.sim').count()).toBe(path.includes('such') ? 0 : 1);
      });
    },
  );
});
