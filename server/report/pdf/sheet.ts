import { createRequire } from 'node:module';
import PDFDocument from 'pdfkit';

/** Points of 1/72 inch. */
export const PAPERS = { A4: [595.28, 841.89], Letter: [612, 792] } as const;
export type Paper = keyof typeof PAPERS;

export const SIZES = { title: 20, answer: 15, head: 12, text: 8.6, note: 7.6, table: 7.4 } as const;
export const INKS = { ink: '#13181b', label: '#38424a', note: '#4f5b64', hair: '#c3cbd0', shade: '#e4e8ea' } as const;

export type Face = 'text' | 'bold' | 'mono';

/** DejaVu holds every sign that a report needs, and is embedded: ±, °, −, ≤ look the same everywhere. */
const FACES: Readonly<Record<Face, string>> = {
  text: 'DejaVuSansCondensed',
  bold: 'DejaVuSansCondensed-Bold',
  mono: 'DejaVuSansMono',
};

const MARGIN = { left: 46, right: 46, top: 70, bottom: 52 } as const;

/** What stands on every page. */
export interface Running {
  readonly head: string;
  readonly foot: string;
  /** A warning that must stand on every page; null where there is none. */
  readonly warning: string | null;
  page(page: number, pages: number): string;
}

export interface SheetOptions {
  readonly paper: Paper;
  readonly language: string;
  readonly title: string;
  readonly author: string;
  readonly subject: string;
  /** Stands in the file as the time it was made, so that the same report is the same bytes. */
  readonly madeAt: Date;
  readonly running: Running;
}

export interface TextStyle {
  readonly size?: number;
  readonly face?: Face;
  readonly ink?: string;
  readonly align?: 'left' | 'right' | 'center';
}

type Structure = PDFKit.PDFStructureElement;

const require = createRequire(import.meta.url);

/**
 * A tagged PDF that is written from top to bottom. Everything that is placed asks for its room first, so that no line is
 * cut by the end of a page, and a heading keeps what follows with it.
 */
export class Sheet {
  readonly left = MARGIN.left;
  readonly width: number;
  y: number = MARGIN.top;
  readonly doc: PDFKit.PDFDocument;
  readonly #bottom: number;
  readonly #options: SheetOptions;
  readonly #chunks: Uint8Array[] = [];
  readonly #ended: Promise<void>;
  readonly #root: Structure;
  #section: Structure;

  constructor(options: SheetOptions) {
    this.#options = options;
    const size = PAPERS[options.paper];
    this.width = size[0] - MARGIN.left - MARGIN.right;
    this.#bottom = size[1] - MARGIN.bottom;
    const { title, author, subject, madeAt } = options;
    this.doc = new PDFDocument({
      size: [...size],
      // Room is kept here; pdfkit itself must never turn a page.
      margin: 0,
      bufferPages: true,
      pdfVersion: '1.7',
      tagged: true,
      displayTitle: true,
      lang: options.language,
      info: { Title: title, Author: author, Subject: subject, CreationDate: madeAt, ModDate: madeAt },
    });
    this.doc.on('data', (chunk: Uint8Array) => this.#chunks.push(chunk));
    this.#ended = new Promise((resolve, reject) => {
      this.doc.on('end', resolve);
      this.doc.on('error', reject);
    });
    for (const [name, file] of Object.entries(FACES))
      this.doc.registerFont(name, require.resolve(`dejavu-fonts-ttf/ttf/${file}.ttf`));
    this.#root = this.doc.struct('Document');
    this.doc.addStructure(this.#root);
    this.#section = this.#root;
  }

  /** Turns the page unless so much room is left. */
  need(height: number): void {
    if (this.y + height > this.#bottom) this.turn();
  }

  turn(): void {
    this.doc.addPage();
    this.y = MARGIN.top;
  }

  space(height: number): void {
    this.y += height;
  }

  /** Begins a section; at least `keep` points of what follows stay on the same page. */
  section(title: string, keep = 60): void {
    this.#section = this.doc.struct('Sect');
    this.#root.add(this.#section);
    this.space(this.y > MARGIN.top ? 14 : 0);
    const height = this.#heightOf(title, this.width, { size: SIZES.head, face: 'bold' });
    this.need(height + 4 + keep);
    this.tagged('H2', () => {
      this.#write(title, this.left, this.y, this.width, { size: SIZES.head, face: 'bold' });
    });
    this.y += height + 4;
  }

  title(text: string): void {
    const style: TextStyle = { size: SIZES.title, face: 'bold' };
    this.tagged('H1', () => this.#write(text, this.left, this.y, this.width, style));
    this.y += this.#heightOf(text, this.width, style) + 4;
  }

  subheading(text: string, keep = 40): void {
    const style: TextStyle = { size: SIZES.text, face: 'bold' };
    const height = this.#heightOf(text, this.width, style);
    this.space(6);
    this.need(height + 3 + keep);
    this.tagged('H3', () => this.#write(text, this.left, this.y, this.width, style));
    this.y += height + 3;
  }

  paragraph(text: string, style: TextStyle = {}): void {
    const element = this.add('P');
    this.#inPages(text, this.width, style, (part) =>
      element.add(this.doc.struct('Span', {}, () => this.#write(part, this.left, this.y, this.width, style))),
    );
    this.y += 3;
  }

  /**
   * Places a text whole where it has room, on the next page where it has room there, and else in as many pages as it takes:
   * `put` writes each part where the sheet stands, and the sheet moves on below it.
   */
  #inPages(text: string, width: number, style: TextStyle, put: (part: string, index: number) => void): void {
    const whole = this.#heightOf(text, width, style);
    if (whole <= this.#bottom - MARGIN.top) this.need(whole);
    let rest = text;
    for (let index = 0; rest !== ''; index += 1) {
      const room = this.#bottom - this.y;
      const part = this.#fitting(rest, width, style, room);
      if (part === '' && this.y > MARGIN.top) {
        this.turn();
        continue;
      }
      // On an empty page a part is written whatever its height: nothing is left out without a word.
      const written = part === '' ? rest : part;
      put(written, index);
      this.y += this.#heightOf(written, width, style);
      rest = rest.slice(written.length).trimStart();
      if (rest !== '') this.turn();
    }
  }

  /** As many whole words from the beginning of a text as have room; all of it where it fits, none where none does. */
  #fitting(text: string, width: number, style: TextStyle, room: number): string {
    const fits = (end: number): boolean => this.#heightOf(text.slice(0, end), width, style) <= room;
    if (fits(text.length)) return text;
    const ends = [...text.matchAll(/\S(?=\s)/g)].map(({ index }) => index + 1);
    let [low, high] = [0, ends.length];
    while (low < high) {
      const middle = Math.ceil((low + high) / 2);
      if (fits(ends[middle - 1] ?? 0)) low = middle;
      else high = middle - 1;
    }
    return low === 0 ? '' : text.slice(0, ends[low - 1]);
  }

  note(text: string): void {
    this.paragraph(text, { size: SIZES.note, ink: INKS.note });
  }

  list(texts: readonly string[]): void {
    const indent = 10;
    const list = this.add('L');
    for (const text of texts) {
      const item = this.doc.struct('LI');
      list.add(item);
      this.#inPages(text, this.width - indent, {}, (part, index) => {
        if (index === 0) item.add(this.doc.struct('Lbl', {}, () => this.#write('–', this.left, this.y, indent, {})));
        item.add(
          this.doc.struct('LBody', {}, () => this.#write(part, this.left + indent, this.y, this.width - indent, {})),
        );
      });
      this.y += 2;
    }
    this.space(2);
  }

  /** A picture of a known size; `draw` puts it with its upper left corner at the point given. */
  figure(height: number, says: string, draw: (x: number, y: number) => void): void {
    this.need(height);
    this.#section.add(this.doc.struct('Figure', { alt: says }, () => draw(this.left, this.y)));
    this.y += height + 4;
  }

  /** An element of the section that holds others. */
  add(type: string): Structure {
    const element = this.doc.struct(type);
    this.#section.add(element);
    return element;
  }

  tagged(type: string, draw: () => void): void {
    this.#section.add(this.doc.struct(type, {}, draw));
  }

  /** Draws what says nothing: lines and fills. */
  artifact(draw: (doc: PDFKit.PDFDocument) => void): void {
    this.doc.markContent('Artifact', { type: 'Layout' });
    draw(this.doc.save());
    this.doc.restore();
    this.doc.endMarkedContent();
  }

  text(text: string, x: number, y: number, width: number, style: TextStyle = {}): void {
    this.#write(text, x, y, width, style);
  }

  heightOf(text: string, width: number, style: TextStyle = {}): number {
    return this.#heightOf(text, width, style);
  }

  /** Writes what stands on every page and ends the document. */
  async bytes(): Promise<Uint8Array> {
    const { start, count } = this.doc.bufferedPageRange();
    for (let page = 0; page < count; page += 1) {
      this.doc.switchToPage(start + page);
      this.#runningOn(page + 1, count);
    }
    this.doc.end();
    await this.#ended;
    return new Uint8Array(Buffer.concat(this.#chunks));
  }

  #runningOn(page: number, pages: number): void {
    const { running, paper } = this.#options;
    const style: TextStyle = { size: SIZES.note, ink: INKS.note };
    const [, height] = PAPERS[paper];
    this.doc.markContent('Artifact', { type: 'Pagination' });
    if (running.warning !== null) this.#warn(running.warning);
    this.#write(running.head, this.left, 44, this.width * 0.6, style);
    this.#write(running.page(page, pages), this.left + this.width * 0.6, 44, this.width * 0.4, {
      ...style,
      align: 'right',
    });
    this.#rule(57);
    this.#rule(height - 42);
    this.#write(running.foot, this.left, height - 38, this.width, style);
    this.doc.endMarkedContent();
  }

  /** A strip of the page's width that cannot be overlooked, in black and white too. */
  #warn(text: string): void {
    this.doc.save().rect(this.left, 18, this.width, 18).lineWidth(1.2).fillAndStroke('#ffffff', INKS.ink).restore();
    this.#write(text, this.left, 22.5, this.width, { size: SIZES.text, face: 'bold', align: 'center' });
  }

  #rule(y: number): void {
    this.doc
      .save()
      .moveTo(this.left, y)
      .lineTo(this.left + this.width, y)
      .lineWidth(0.5)
      .stroke(INKS.hair)
      .restore();
  }

  #write(text: string, x: number, y: number, width: number, style: TextStyle): void {
    const { size = SIZES.text, face = 'text', ink = INKS.ink, align = 'left' } = style;
    this.doc.font(face).fontSize(size).fillColor(ink).text(text, x, y, { width, align, lineGap: 0.8 });
  }

  #heightOf(text: string, width: number, { size = SIZES.text, face = 'text' }: TextStyle): number {
    return this.doc.font(face).fontSize(size).heightOfString(text, { width, lineGap: 0.8 });
  }
}
