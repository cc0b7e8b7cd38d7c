import { LARGEST_SAMPLE, largestProvable, observedNeeded, sizeNeeded } from './provable.ts';
import type { Both } from './provable.ts';

/** What is asked of a sample: an index to be shown, by n values, by an observed index, or both. */
export interface ProofQuestion {
  /** The index to be shown. */
  readonly wanted: number;
  readonly n: number | null;
  readonly observed: number | null;
  readonly confidence: number;
}

/**
 * What a sample of this size can prove, in one or two sentences: what has to be observed, whether it was, what would
 * do.
 */
export function provableSentence({ wanted, n, observed, confidence }: ProofQuestion): string {
  const sure = `with ${Number((100 * confidence).toPrecision(6))} % confidence`;
  const sentences: string[] = [];
  if (n !== null) {
    const needed = texts(observedNeeded(n, wanted, confidence), roundedUp);
    sentences.push(`At n = ${n} an observed Ppk of ${needed} is needed to show ${wanted} ${sure}`);
  }
  if (n !== null && observed !== null) {
    sentences.push(`the observed ${observed} shows ${texts(largestProvable(n, observed, confidence), roundedDown)}`);
  }
  if (observed !== null) sentences.push(sizeText(observed, wanted, confidence, n === null ? ` ${sure}` : ''));
  return `${sentences.map((each) => each.replace(/^./, (letter) => letter.toUpperCase())).join('. ')}.`;
}

function sizeText(observed: number, wanted: number, confidence: number, sure: string): string {
  if (observed <= wanted) return `no number of values shows ${wanted}${sure} by an observed Ppk of ${observed}`;
  const size = sizeNeeded(observed, wanted, confidence);
  if (size.exact === null) {
    return `more than ${LARGEST_SAMPLE} values with an observed Ppk of ${observed} are needed to show ${wanted}${sure}`;
  }
  return `an observed Ppk of ${observed} shows ${wanted}${sure} from n = ${texts(size, String)} on`;
}

/** The exact figure decides; the customary approximation, which asks a little too little, stands beside it. */
function texts({ exact, approximate }: Both, text: (value: number) => string): string {
  if (exact === null) return 'no figure';
  if (approximate === null) return `${text(exact)} (exact)`;
  if (text(approximate) === text(exact)) return `${text(exact)} (exact, and by the normal approximation)`;
  return `${text(exact)} (exact; ${text(approximate)} by the normal approximation)`;
}

/** To two decimals, and never to a smaller index than is needed. */
function roundedUp(index: number): string {
  return (Math.ceil(index * 100 - ROUNDING) / 100).toFixed(2);
}

/** To two decimals, and never to a larger index than is shown. */
function roundedDown(index: number): string {
  return (Math.floor(index * 100 + ROUNDING) / 100).toFixed(2);
}

/** 1.33 times 100 is a hair off 133. */
const ROUNDING = 1e-9;
