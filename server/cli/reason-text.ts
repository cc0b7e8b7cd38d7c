import type { Why } from '../../station/cycle/result.ts';
import type { Facts } from '../../station/faults.ts';
import type { Catalogue } from '../../station/words/catalogue.ts';
import { digitsFor, fixed, plain, signed, unitText } from './number.ts';

/** Why a part or a test is not good, in one line: the word for it, then the numbers that it rests on with their limits. */
export function whyText(why: Why, words: Catalogue): { says: string; next: string } {
  if (why.by === 'station') {
    const { says, next } = sayingOf(words, why.code);
    return { says: `${says}${factText(why.facts)}`, next };
  }
  const { says, next } = words.reasons[why.code];
  const detail = detailOf(why.facts);
  return { says: detail === '' ? says : `${says}: ${detail}`, next };
}

/** Units at the end of a fact's name, as code and as people write them; the longer ones first. */
const SUFFIXES: readonly (readonly [string, string])[] = [
  ['KpaPerS', 'kPa/s'],
  ['PaPerS', 'Pa/s'],
  ['KpaAbs', 'kPa abs'],
  ['Kpa', 'kPa'],
  ['Pa', 'Pa'],
  ['Ohm', 'Ω'],
  ['Hz', 'Hz'],
  ['Ma', 'mA'],
  ['Ms', 'ms'],
  ['C', '°C'],
  ['V', 'V'],
];

/** The facts behind a fault: numbers to four digits with the unit that their name ends in, names as words. */
export function factText(facts: Facts): string {
  const texts = Object.entries(facts).map(([name, value]) => {
    const [suffix = '', unit = ''] = SUFFIXES.find(([end]) => name.endsWith(end)) ?? [];
    const bare = name.slice(0, name.length - suffix.length);
    const words = bare.replace(/[A-Z]/g, (letter) => ` ${letter.toLowerCase()}`);
    return `${words} ${typeof value === 'number' ? plain(value) : value} ${unit}`.trim().replace(/ +/g, ' ');
  });
  return texts.length === 0 ? '' : ` (${texts.join(', ')})`;
}

function detailOf(facts: Facts): string {
  const { value, u, unit, low, high, guard, step, points, errorKpa, readsLike, pressureClass, supplyMa, outputV } =
    facts;
  if (typeof readsLike === 'string') return `${readsLike} (${pressureClass ?? ''}), ${volts(outputV)} at ambient`;
  if (typeof value === 'number' && typeof u === 'number' && typeof unit === 'string') {
    const digits = Math.max(1, digitsFor(u) - 1);
    const text = (x: number): string => fixed(x, digits);
    const band = typeof guard === 'number' && guard > 0 ? guard : 0;
    const allowed =
      typeof low === 'number' && typeof high === 'number'
        ? `allowed ${text(low)} to ${text(high)} ${unitText(unit)}`
        : `at most ${plain(typeof high === 'number' ? high : 0)} ${unitText(unit)} allowed`;
    const inBand = typeof high === 'number' && value <= high && (typeof low !== 'number' || value >= low);
    const where = typeof points === 'number' ? `, worst of ${points} at ${step ?? ''}` : '';
    const error = typeof errorKpa === 'number' ? `, ${signed(errorKpa, 2)} kPa` : '';
    return `${text(value)} ${unitText(unit)}${error}, ${allowed}${inBand ? ` less a guard band of ${text(band)}` : ''}${where}`;
  }
  if (typeof supplyMa === 'number') {
    const allowed =
      typeof low === 'number' && typeof high === 'number' ? `, allowed ${plain(low)} to ${plain(high)} mA` : '';
    return `${fixed(supplyMa, 2)} mA${allowed}, output ${volts(outputV)}`;
  }
  return typeof outputV === 'number' ? `${volts(outputV)} at ambient` : '';
}

const volts = (value: string | number | undefined): string => `${fixed(Number(value), 3)} V`;

/** A code of a newer program than this one is shown as it stands. */
function sayingOf(words: Catalogue, code: string): { says: string; next: string } {
  const entry = Object.entries(words.faults).find(([known]) => known === code);
  return entry?.[1] ?? { says: code, next: words.faults.program.next };
}
