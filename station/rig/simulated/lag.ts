/**
 * A first-order lag followed exactly over a step in which its input goes in a straight line from u0 to u1:
 * y' = u1 - τ s + (y - u0 + τ s) e^(-dt/τ) with s = (u1 - u0)/dt (textbook solution of τ dy/dt = u - y).
 * `decayed` is e^(-dt/τ), `tauPerStep` is τ/dt.
 */
export function lagged(y: number, u0: number, u1: number, decayed: number, tauPerStep: number): number {
  const behind = tauPerStep * (u1 - u0);
  return u1 - behind + (y - u0 + behind) * decayed;
}
