/** A value with its standard uncertainty (JCGM 100), both in the same unit. */
export interface Measured {
  readonly value: number;
  readonly u: number;
}

/** Powers of ten that a double holds exactly. */
const TEN = Array.from({ length: 23 }, (_, power) => Number(`1e${power}`));

/**
 * A number to so many significant digits: what is kept is not longer than what is known. A whole number over a power of
 * ten that is exact is the double nearest to that decimal, so it is written with no more digits than asked for.
 */
export function significant(value: number, digits: number): number {
  const power = TEN[digits - 1 - Math.floor(Math.log10(Math.abs(value)))];
  return power === undefined ? Number(value.toPrecision(digits)) : Math.round(value * power) / power;
}

/** A measured value as it is kept: digits far below its uncertainty, and no more of that than anybody reads. */
export const kept = ({ value, u }: Measured): Measured => ({ value: significant(value, 8), u: significant(u, 4) });

/** Standard conditions of a leak rate: dry air, 20 °C, 101.325 kPa (a convention; 0 °C instead is 7.3 % off). */
export const STANDARD = { pa: 101_325, kelvin: 293.15, kPaAbs: 101.325 } as const;

/** Zero of the Celsius scale in kelvin (ISO 80000-5). */
export const CELSIUS_ZERO_K = 273.15;

/** Kelvin from degrees Celsius. */
export const kelvinOf = (celsius: number): number => celsius + CELSIUS_ZERO_K;

/**
 * Pascal in one of each pressure unit. psi from its definition 4.4482216152605 N over (0.0254 m)²; inHg is the
 * conventional inch of mercury, 13595.1 kg/m³ at 9.80665 m/s² (NIST SP 811).
 */
export const PA_PER = {
  Pa: 1,
  hPa: 100,
  mbar: 100,
  kPa: 1000,
  bar: 100_000,
  psi: 4.4482216152605 / (0.0254 * 0.0254),
  inHg: 13_595.1 * 9.80665 * 0.0254,
} as const;

export type PressureUnit = keyof typeof PA_PER;

/** Kilopascal from a pressure in another unit. */
export const kPaFrom = (value: number, unit: PressureUnit): number => (value * PA_PER[unit]) / PA_PER.kPa;

/** A pressure in kPa in another unit. */
export const kPaTo = (kPa: number, unit: PressureUnit): number => (kPa * PA_PER.kPa) / PA_PER[unit];

/** Absolute pressure from how far below ambient it is (a positive number), both kPa. Throws a RangeError below 0. */
export function absoluteFromBelowAmbient(belowKpa: number, ambientKpaAbs: number): number {
  const kPaAbs = ambientKpaAbs - belowKpa;
  if (kPaAbs < 0) throw new RangeError(`${belowKpa} kPa below an ambient of ${ambientKpaAbs} kPa abs does not exist`);
  return kPaAbs;
}

/**
 * Standard flow in std cm³/min (dry air, 20 °C, 101.325 kPa) of a pV flow in Pa·m³/s at the gas temperature:
 * Q / p_std · T_std / T_gas · 6e7 (ISO 20484 vocabulary; ideal gas).
 */
export const stdFlowFrom = (paM3PerS: number, gasC: number): number =>
  ((paM3PerS / STANDARD.pa) * STANDARD.kelvin * 6e7) / kelvinOf(gasC);

/** The inverse of `stdFlowFrom`. */
export const paM3PerSFrom = (stdCm3PerMin: number, gasC: number): number =>
  (stdCm3PerMin * STANDARD.pa * kelvinOf(gasC)) / (STANDARD.kelvin * 6e7);

/**
 * Factor that refers a viscous leak measured between p and ambient to its rating from `ratedKpaAbs` to 101.325 kPa:
 * (p_rated² - 101.325²) / (p² - p_amb²), laminar viscous law (leak-testing handbooks; from memory). Pressures kPa
 * absolute. Below ambient both the measured flow and the factor are negative. Throws a RangeError at ambient itself,
 * where no leak flows.
 */
export function ratingFactor(ratedKpaAbs: number, testKpaAbs: number, ambientKpaAbs: number): number {
  if (testKpaAbs === ambientKpaAbs) throw new RangeError('at ambient pressure nothing leaks that could be rated');
  return (ratedKpaAbs ** 2 - STANDARD.kPaAbs ** 2) / (testKpaAbs ** 2 - ambientKpaAbs ** 2);
}

/**
 * Pressure of the standard atmosphere at a geopotential height in m, kPa absolute: 101.325 (1 - 0.0065 H / 288.15)^n,
 * n = g / (0.0065 · 287.05287) = 5.25588 (ISO 2533, from memory; the 1976 US standard atmosphere below 11 km is the same).
 * Throws a RangeError outside -2000 to 11000 m.
 */
export function standardAtmosphereKpaAbs(heightM: number): number {
  if (!(heightM >= -2000 && heightM <= 11_000)) throw new RangeError('the height is -2000 to 11000 m');
  return STANDARD.kPaAbs * (1 - (0.0065 * heightM) / 288.15) ** (9.80665 / (0.0065 * 287.05287));
}

/** Geopotential from geometric height, both in m: 6356766 h / (6356766 + h) (ISO 2533, from memory). */
export const geopotentialM = (heightM: number): number => (6_356_766 * heightM) / (6_356_766 + heightM);
