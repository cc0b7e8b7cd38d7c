import { getDocument } from 'pdfjs-dist/legacy/build/pdf.mjs';

/** A PDF as a reader sees it: the text of each page, and what the file says of itself. */
export interface ReadPdf {
  readonly pages: readonly string[];
  /** Each run of text with its font's name in the file and its base line, points from the top of its page (from 0). */
  readonly runs: readonly {
    readonly page: number;
    readonly fromTop: number;
    readonly text: string;
    readonly font: string;
  }[];
  readonly title: unknown;
  readonly created: unknown;
  readonly language: unknown;
  readonly isTagged: boolean;
  /** Width and height of the first page, points. */
  readonly size: readonly [number, number];
}

export async function readPdf(bytes: Uint8Array): Promise<ReadPdf> {
  // The reader keeps what it is given: it gets a copy.
  const task = getDocument({ data: bytes.slice(), useSystemFonts: false, disableFontFace: true, verbosity: 0 });
  const document = await task.promise;
  const pages: string[] = [];
  const runs: { page: number; fromTop: number; text: string; font: string }[] = [];
  for (let number = 1; number <= document.numPages; number += 1) {
    const page = await document.getPage(number);
    const { items } = await page.getTextContent();
    for (const item of items)
      if ('str' in item && item.str.trim() !== '')
        runs.push({
          page: number - 1,
          fromTop: (page.view[3] ?? 0) - Number(item.transform[5]),
          text: item.str,
          font: item.fontName,
        });
    const text = items.map((item) => ('str' in item ? `${item.str}${item.hasEOL ? ' ' : ''}` : '')).join(' ');
    pages.push(text.replace(/\s+/g, ' '));
  }
  const metadata: { readonly info: unknown } = await document.getMetadata();
  const info = metadata.info as Record<string, unknown>;
  const [, , width = 0, height = 0] = (await document.getPage(1)).view;
  const marks = await document.getMarkInfo();
  await task.destroy();
  return {
    pages,
    runs,
    title: info['Title'],
    created: info['CreationDate'],
    language: info['Language'],
    isTagged: marks?.Marked === true,
    size: [width, height],
  };
}
