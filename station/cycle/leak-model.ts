import { STANDARD, kelvinOf } from '../units.ts';

/** Ratio of the specific heats of dry air, and its specific gas constant in J/(kg K) (textbook ideal gas). */
const GAMMA = 1.4;
const R_AIR = 287.05;
/** Mass of 1 std cm³/min of dry air, kg/s. */
const STD_KG_PER_S = (STANDARD.pa * 1e-6) / (R_AIR * STANDARD.kelvin * 60);

/**
 * How far a constant leak has pulled a shut nest down after t seconds, Pa per std cm³/min: the gas that leaves does
 * work, cools what stays and is warmed again, so the first slope is gamma times the later one:
 * (R T m/V) (t + (gamma - 1) tau (1 - e^(-t/tau))), gas time constant tau in s (ideal gas, isothermal wall).
 */
export function leakSignaturePa(tS: number, nest: { volumeM3: number; gasC: number; tauGasS: number }): number {
  const perSecond = (STD_KG_PER_S * R_AIR * kelvinOf(nest.gasC)) / nest.volumeM3;
  return perSecond * (tS + (GAMMA - 1) * nest.tauGasS * (1 - Math.exp(-tS / nest.tauGasS)));
}

/**
 * Generalised least squares with prior knowledge (Gauss-Markov; JCGM 102 for the general model): y = sum_j theta_j
 * phi_j + lambda h + noise, the theta with zero-mean Gaussian priors, lambda free, noise white. `shapes` has a row each
 * phi, all of the length of y. Returns lambda and its standard uncertainty in the unit of y over that of h.
 */
export function leakByShapes(
  y: readonly number[],
  shapes: readonly (readonly number[])[],
  priorSd: readonly number[],
  signature: readonly number[],
  noise: number,
): { value: number; u: number } {
  const columns = [...shapes, signature];
  const weight = 1 / (noise * noise);
  const normal = columns.map((a) => columns.map((b) => weight * dot(a, b)));
  priorSd.forEach((sd, j) => {
    const row = normal[j];
    if (row !== undefined) row[j] = (row[j] ?? 0) + 1 / (sd * sd);
  });
  const right = columns.map((a) => weight * dot(a, y));
  const last = columns.length - 1;
  const unit = columns.map((_, j) => (j === last ? 1 : 0));
  return { value: solve(normal, right)[last] ?? 0, u: Math.sqrt(solve(normal, unit)[last] ?? 0) };
}

const dot = (a: readonly number[], b: readonly number[]): number =>
  a.reduce((sum, value, i) => sum + value * (b[i] ?? 0), 0);

/** Solves a symmetric positive definite system by Gaussian elimination with scaled pivots on its diagonal. */
function solve(matrix: readonly (readonly number[])[], right: readonly number[]): number[] {
  const scale = matrix.map((row, j) => 1 / Math.sqrt(row[j] ?? 1));
  const rows = matrix.map((row, i) => [
    ...row.map((value, j) => value * (scale[i] ?? 1) * (scale[j] ?? 1)),
    (right[i] ?? 0) * (scale[i] ?? 1),
  ]);
  const size = rows.length;
  for (let pivot = 0; pivot < size; pivot += 1) {
    const own = rows[pivot] ?? [];
    for (let below = pivot + 1; below < size; below += 1) {
      const row = rows[below] ?? [];
      const factor = (row[pivot] ?? 0) / (own[pivot] ?? 1);
      for (let j = pivot; j <= size; j += 1) row[j] = (row[j] ?? 0) - factor * (own[j] ?? 0);
    }
  }
  const solved = Array.from({ length: size }, () => 0);
  for (let i = size - 1; i >= 0; i -= 1) {
    const row = rows[i] ?? [];
    let sum = row[size] ?? 0;
    for (let j = i + 1; j < size; j += 1) sum -= (row[j] ?? 0) * (solved[j] ?? 0);
    solved[i] = sum / (row[i] ?? 1);
  }
  return solved.map((value, i) => value * (scale[i] ?? 1));
}
