import { parseHTML } from 'linkedom';
// @ts-expect-error the package has no types; what is used of it is typed below
import SVGtoPDF from 'svg-to-pdfkit';
import type { FigureDocument, FigureElement, FigureSetting, Ink } from '../figures/drawing.ts';
import { INKS, SIZES } from './sheet.ts';
import type { Sheet } from './sheet.ts';
import type { Voice } from './voice.ts';

type PutSvg = (
  doc: PDFKit.PDFDocument,
  svg: string,
  x: number,
  y: number,
  options: {
    readonly width: number;
    readonly height: number;
    /** Lengths without a unit are points, not CSS pixels. */
    readonly assumePt: boolean;
    fontCallback(family: string, isBold: boolean): string;
    warningCallback(warning: string): void;
  },
) => void;

const putSvg = SVGtoPDF as PutSvg;

/** Black on white: what is allowed is clear, what is not is hatched. */
const PRINT: Ink = {
  ink: INKS.ink,
  label: INKS.label,
  note: INKS.note,
  hair: '#d7dde0',
  hatch: '#a9b3ba',
  paper: '#ffffff',
  shade: '#dde2e5',
  font: 'text',
};

/** The setting of a picture in print, in points. */
export function printed(voice: Voice, width: number, height: number, fontSize: number = SIZES.table): FigureSetting {
  const window: unknown = parseHTML('<!doctype html><html><body></body></html>');
  const { document } = window as { readonly document: FigureDocument };
  return {
    ...{ document, width, height, fontSize },
    ...{ ink: PRINT, words: voice.tongue },
  };
}

/** Puts a picture with its upper left corner at a point, lines and letters as such. */
export function putPicture(sheet: Sheet, svg: FigureElement, x: number, y: number): void {
  const [width, height] = [Number(svg.getAttribute('width')), Number(svg.getAttribute('height'))];
  putSvg(sheet.doc, svg.outerHTML, x, y, {
    ...{ width, height, assumePt: true },
    fontCallback: (_family, isBold) => (isBold ? 'bold' : 'text'),
    // What it cannot draw must not be missing from a report without a word.
    warningCallback: (warning) => {
      throw new Error(`a picture of the report cannot be drawn: ${warning}`);
    },
  });
}

/** Pictures side by side over the whole width, each with its height; `says` is what they are together. */
export function picture(sheet: Sheet, svg: FigureElement): void {
  sheet.figure(Number(svg.getAttribute('height')), svg.getAttribute('aria-label') ?? '', (x, y) =>
    putPicture(sheet, svg, x, y),
  );
}
