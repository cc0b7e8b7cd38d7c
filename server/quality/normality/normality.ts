import { andersonDarlingOf } from './anderson-darling.ts';
import type { AndersonDarling } from './anderson-darling.ts';
import type { Values } from '../checks.ts';
import { sampleOf } from '../description/sample.ts';
import { shapeOf } from '../description/shape.ts';
import type { Shape } from '../description/shape.ts';
import { shapiroWilkOf } from './shapiro-wilk.ts';
import type { ShapiroWilk } from './shapiro-wilk.ts';

/** Whether values look normal: two tests and the shape, from one sorted copy. */
export interface Normality {
  readonly n: number;
  readonly shapiroWilk: ShapiroWilk;
  readonly andersonDarling: AndersonDarling;
  readonly shape: Shape;
}

/**
 * Tests of normality and shape of one or more values; what each is, is said with `shapiroWilk`, `andersonDarling` and
 * `shapeOf`. Undefined statistics are null.
 *
 * @throws QualityError `empty`, `not-finite`, `out-of-range` (a range beyond the largest number)
 */
export function normality(values: Values): Normality {
  const sample = sampleOf(values);
  return {
    n: sample.n,
    shapiroWilk: shapiroWilkOf(sample),
    andersonDarling: andersonDarlingOf(sample),
    shape: shapeOf(sample),
  };
}
