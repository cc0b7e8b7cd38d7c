import { gridErrors } from '../support/distribution-grid.ts';

/** Largest relative error of every distribution over the grid computed with 50 digits, and where it is. */
export function distributionsBench(): void {
  const lines = gridErrors().map(
    ({ function: name, points, error, where }) =>
      `  ${name.padEnd(28)} ${String(points).padStart(5)} points  ${error.toExponential(1).padStart(8)}  ${where}`,
  );
  console.log(['distributions: largest relative error over the grid, and at which x, k or p', ...lines].join('\n'));
}
