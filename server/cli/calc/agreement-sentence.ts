import type { Agreement } from '../../quality/comparison/agreement.ts';
import { digitsFor, fixed, plain } from '../number.ts';

/** The agreement of line and lab in plain words, numbers to the digits that the pairs earn. */
export function agreementSentence(agreement: Agreement, unit: string): string {
  const { n, meanDifference, sdDifference, meanBounds, limits } = agreement;
  const withUnit = (text: string): string => (unit === '' ? text : `${text} ${unit}`);
  if (sdDifference === null || meanBounds === null || limits === null) {
    return `${reads(meanDifference, withUnit(plain(Math.abs(meanDifference))))} in the only pair; one pair shows no spread.`;
  }
  if (sdDifference === 0)
    return `${reads(meanDifference, withUnit(plain(Math.abs(meanDifference))))} in each of ${n} pairs.`;
  const [low, high] = meanBounds;
  const digits = digitsFor((high - low) / 2);
  const wide = digitsFor(sdDifference);
  const shown = fixed(Math.abs(meanDifference), digits);
  const mean = reads(Number(shown) === 0 ? 0 : meanDifference, withUnit(shown));
  const bias = low > 0 || high < 0 ? 'a bias is shown' : 'no bias is shown';
  const range = `${fixed(limits.lower.limit, wide)} to ${withUnit(fixed(limits.upper.limit, wide))}`;
  return (
    `${mean} on average (95 % ${fixed(low, digits)} to ${fixed(high, digits)}): ${bias} at n = ${n}; ` +
    `95 of 100 differences lie within ${range}.${trend(agreement, withUnit)}`
  );
}

function reads(difference: number, size: string): string {
  if (difference === 0) return 'Line and lab read the same';
  return `Line reads ${size} ${difference > 0 ? 'higher' : 'lower'} than lab`;
}

/** The trend of the differences, where the pairs show one: p below 0.05 (common practice), or no scatter at all. */
function trend({ proportionalBias: { slope, se, p } }: Agreement, withUnit: (text: string) => string): string {
  if (slope === null || slope === 0 || (p === null ? se !== 0 : p >= 0.05)) return '';
  const way = slope > 0 ? 'rises' : 'falls';
  const size = withUnit(plain(Math.abs(slope) * 100));
  return ` The difference goes with the reading: it ${way} by ${size} for each ${withUnit('100')} more.`;
}
