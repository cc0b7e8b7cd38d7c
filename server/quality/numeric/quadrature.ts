/**
 * Positive nodes and their weights of the 20-point rule of Gauss and Legendre on -1 to 1 (zeros of the Legendre polynomial;
 * Abramowitz & Stegun, "Handbook of Mathematical Functions", 25.4.29 and table 25.4), computed with 40 digits.
 */
const RULE: readonly (readonly [node: number, weight: number])[] = [
  [0.07652652113349734, 0.15275338713072584],
  [0.22778585114164507, 0.14917298647260374],
  [0.37370608871541955, 0.14209610931838204],
  [0.5108670019508271, 0.13168863844917664],
  [0.636053680726515, 0.11819453196151841],
  [0.7463319064601508, 0.10193011981724044],
  [0.8391169718222188, 0.08327674157670475],
  [0.912234428251326, 0.06267204833410907],
  [0.9639719272779138, 0.04060142980038694],
  [0.9931285991850949, 0.017614007139152118],
];

/**
 * Integral of a smooth function over `low` to `high` by the 20-point rule of Gauss and Legendre in `panels` equal panels.
 * Exact for polynomials up to degree 39 in each panel; a panel as wide as two or three standard deviations of a bell curve
 * is good to full precision.
 */
export function gaussLegendre(f: (x: number) => number, low: number, high: number, panels = 1): number {
  const half = (high - low) / (2 * panels);
  let sum = 0;
  for (let panel = 0; panel < panels; panel += 1) {
    const middle = low + (2 * panel + 1) * half;
    for (const [node, weight] of RULE) sum += weight * (f(middle - half * node) + f(middle + half * node));
  }
  return sum * half;
}

const DEEPEST = 30;

/**
 * The same over panels between `edges` (two or more, rising), each halved until its two halves add up to what the whole gave,
 * within `tolerance` of the integral. Halving a panel of the 20-point rule divides its error by about 2^40 where the
 * integrand is smooth on its scale, so that what is returned, the sum of the halves, is far better than the tolerance; a tighter
 * one would only chase rounding. A steep step that might fall between two nodes unseen wants edges of its own beside it.
 */
export function adaptiveGaussLegendre(f: (x: number) => number, edges: readonly number[], tolerance = 1e-10): number {
  const refine = (low: number, high: number, whole: number, allowed: number, depth: number): number => {
    const middle = 0.5 * (low + high);
    const left = gaussLegendre(f, low, middle);
    const right = gaussLegendre(f, middle, high);
    if (!(Math.abs(left + right - whole) > allowed) || depth === DEEPEST) return left + right;
    return refine(low, middle, left, allowed, depth + 1) + refine(middle, high, right, allowed, depth + 1);
  };
  const panels = edges.slice(1).map((high, i) => {
    const low = edges[i] ?? high;
    return { low, high, whole: gaussLegendre(f, low, high) };
  });
  const allowed = tolerance * Math.abs(panels.reduce((sum, { whole }) => sum + whole, 0));
  return panels.reduce((sum, { low, high, whole }) => sum + refine(low, high, whole, allowed, 0), 0);
}
