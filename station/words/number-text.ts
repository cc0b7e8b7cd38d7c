/** Numbers as they are written for people: the point as the language has it, a minus as wide as a digit. */

export type Language = 'en' | 'es';

const MINUS = '−';

/** A number with so many digits after the point; what rounds to nothing has no sign. */
export function numberText(value: number, digits: number, language: Language): string {
  const shown = Number(value.toFixed(digits)) === 0 ? 0 : value;
  const options = { minimumFractionDigits: digits, maximumFractionDigits: digits, useGrouping: false };
  return new Intl.NumberFormat(language, options).format(shown).replace('-', MINUS);
}

/** The same with a plus before what is above zero: changes and errors go both ways. */
export function signedText(value: number, digits: number, language: Language): string {
  const text = numberText(value, digits, language);
  return value > 0 && Number(value.toFixed(digits)) !== 0 ? `+${text}` : text;
}

/** A number without digits that say nothing: 80, 99.7, 1.33. At most so many digits after the point. */
export function plainText(value: number, mostDigits: number, language: Language): string {
  const options = { maximumFractionDigits: mostDigits, useGrouping: false };
  return new Intl.NumberFormat(language, options)
    .format(Number(value.toFixed(mostDigits)) === 0 ? 0 : value)
    .replace('-', MINUS);
}

/**
 * A number beside one that it is below: to two digits after the point, or to as many more as keep it from looking equal.
 * 1.328 is not 1.33 that is below 1.33.
 */
export function belowText(value: number, limit: number, language: Language): string {
  const told = [2, 3, 4].find((digits) => Number(value.toFixed(digits)) < Number(limit.toFixed(digits)));
  return numberText(value, told ?? 4, language);
}

/** A probability: two significant digits, and never zero. */
export function probabilityText(p: number, language: Language): string {
  if (p < 0.0001) return `< ${plainText(0.0001, 4, language)}`;
  return plainText(p, Math.max(2, 1 - Math.floor(Math.log10(p))), language);
}
