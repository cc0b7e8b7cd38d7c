import { getDocument } from 'pdfjs-dist/legacy/build/pdf.mjs';
import { expect, test } from 'vitest';
import { Sheet } from '../../../server/report/pdf/sheet.ts';
import type { SheetOptions } from '../../../server/report/pdf/sheet.ts';
import { table } from '../../../server/report/pdf/table.ts';

const made: SheetOptions = {
  ...{ title: 't', author: 'a', subject: 's', madeAt: new Date('2026-11-26T00:00:00.000Z') },
  paper: 'A4',
  language: 'en',
  running: { head: 'head', foot: 'foot', warning: null, page: (page: number, pages: number) => `${page}/${pages}` },
};

/** Height on the page of each line of text, in points from the foot. */
async function linesOf(bytes: Uint8Array): Promise<{ readonly text: string; readonly y: number }[]> {
  const task = getDocument({ data: bytes.slice(), useSystemFonts: false, disableFontFace: true, verbosity: 0 });
  const page = await (await task.promise).getPage(1);
  const { items } = await page.getTextContent();
  const lines = items.flatMap((item) =>
    'str' in item && item.str.trim() !== '' ? [{ text: item.str, y: Number(item.transform[5]) }] : [],
  );
  await task.destroy();
  return lines;
}

test('a row is as high as its heavy letters need: the next one is not written over it', async () => {
  const sheet = new Sheet(made);
  const width = 60;
  const size = { size: 7.6 } as const;
  // Words that fill three lines in light letters and need four in heavy ones.
  const word = 'Output changes too little with pressure';
  const says = [word, `${word} at`, `${word} at hot`, `${word} at hot, nest`].find(
    (text) =>
      sheet.heightOf(text, width, { ...size, face: 'bold' }) > sheet.heightOf(text, width, { ...size, face: 'text' }),
  );
  expect(says).toBeDefined();
  const share = (100 * (width + 6)) / sheet.width;
  table(
    sheet,
    [
      { head: 'a', share, text: (row: string) => row, isStrong: (row) => row !== 'next' },
      { head: 'b', share: 100 - share, text: () => '.' },
    ],
    [says ?? '', 'next'],
  );
  const lines = await linesOf(await sheet.bytes());
  const heavy = lines.filter(
    ({ text }) => text !== '.' && (says ?? '').includes(text.trim()) && text.trim().length > 2,
  );
  const next = lines.find(({ text }) => text === 'next');
  expect(heavy.length).toBeGreaterThan(2);
  expect(Math.min(...heavy.map(({ y }) => y)) - (next?.y ?? Infinity)).toBeGreaterThan(size.size);
});
