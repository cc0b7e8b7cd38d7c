/** One gas volume and its walls. `skinJPerK` is Infinity where the wall keeps its temperature. */
export interface VolumeSpec {
  readonly m3: number;
  /** Film conductance hA without flow, W/K. */
  readonly filmWPerK: number;
  readonly skinJPerK: number;
  readonly skinTauS: number;
  /** Relative growth of the volume per Pa of gauge pressure (seal creep), and its time constant. */
  readonly creepPerPa: number;
  readonly creepTauS: number;
  /** Leak to ambient: viscous in kg/(s Pa²), and a hole as sonic conductance in m³/(s Pa). */
  readonly viscousLeak: number;
  readonly orificeLeak: number;
}

/** A manifold, its nests and its valves. */
export interface NetworkSpec {
  readonly nests: readonly VolumeSpec[];
  readonly manifold: VolumeSpec;
  readonly ambientPa: number;
  /** Temperature of sources, ambient air and the manifold's wall. */
  readonly fixtureK: number;
  readonly criticalRatio: number;
  readonly isolationM3PerSPa: number;
  /** Sonic conductances and source pressures in the order of `VALVE`. */
  readonly valveM3PerSPa: readonly [number, number, number];
  readonly sourcePa: readonly [number, number, number];
  /** Length of a step while gas flows, ms. */
  readonly stepMs: number;
  /** Film enhancement by flow: hA grows by gain × min(|q|/kgPerS, 4). */
  readonly film: { readonly gain: number; readonly kgPerS: number };
}
