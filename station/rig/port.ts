/**
 * The rig as a cycle sees it: named by what it can do, never by a device. Pressures are kPa absolute, nests count
 * from 0, times are milliseconds of the rig's own monotonic time. Every method that waits takes a signal and rejects
 * with the signal's reason; an instrument that does not answer rejects with a StationFault.
 */
export interface Rig {
  readonly abilities: RigAbilities;
  /**
   * Aborts, with a StationFault as reason, when guard, stop chain, air, vacuum, over-pressure or dead-man trips. While
   * it is aborted the rig measures, vents, opens and takes off; `setPressure`, `isolate` shut, a supply, `setChamber`
   * and `clamp` reject with its reason. Another signal stands here after `rearm`.
   */
  readonly trip: AbortSignal;
  /**
   * To be called before a cycle takes `trip`: puts a fresh signal in its place once the cause is gone. Does nothing
   * when the rig has not tripped. Rejects with the fault of what still stands (an open guard, missing air …).
   */
  rearm(stop: AbortSignal): Promise<void>;
  /** The states of the wired inputs now. */
  interlocks(stop: AbortSignal): Promise<Interlocks>;
  /** Asks the pressure controller to hold a pressure in the manifold. Resolves when accepted, not when reached. */
  setPressure(kPaAbs: number, stop: AbortSignal): Promise<void>;
  /** Shuts the manifold's own valves: no gas comes or goes but through the nests' valves. */
  close(stop: AbortSignal): Promise<void>;
  /** Opens the manifold's exhaust fully. Calling it twice is the same as once. */
  vent(stop: AbortSignal): Promise<void>;
  /** Shuts (true) or opens (false) the valve between manifold and nest. Resolves when the valve has been commanded. */
  isolate(nest: number, shut: boolean, stop: AbortSignal): Promise<void>;
  /** Sets the supply of a nest, in volt; 0 takes it off. Resolves when accepted. */
  supply(nest: number, volts: number, stop: AbortSignal): Promise<void>;
  /** Connects one of `abilities.loads` to every nest's output. Rejects with `not-testable` when it is none of them. */
  connectLoad(load: OutputLoad, stop: AbortSignal): Promise<void>;
  /** Closes the clamps. Takes time that passes in `acquire`; poll `interlocks().clamped`. */
  clamp(stop: AbortSignal): Promise<void>;
  /** Opens the clamps. Rejects with `release-refused` unless the guard is shut and every nest was measured at ambient. */
  release(stop: AbortSignal): Promise<void>;
  /** Sets the chamber's air temperature in °C. Rejects with `not-testable` on a rig without a chamber. */
  setChamber(airC: number, stop: AbortSignal): Promise<void>;
  /**
   * Samples of the next `forMs` milliseconds, a whole number from 1 to 20. The only place where time passes; commands
   * take effect between blocks. The block belongs to the caller and is not written again.
   */
  acquire(forMs: number, stop: AbortSignal): Promise<SampleBlock>;
  /**
   * Lets 1 to 1000 whole milliseconds pass at rest, vented and without supplies, and reads only what changes slowly: for
   * waits of an hour, which need no samples. Time passes here as in `acquire`.
   */
  idle(forMs: number, stop: AbortSignal): Promise<SlowReadings>;
  /**
   * To be called at least every `abilities.deadManMs` while a pressure is held or a supply is on; otherwise the rig
   * makes itself safe and trips.
   */
  renewDeadMan(): void;
  /**
   * Vents, opens all isolation valves, takes supplies and heat off, moves no clamp. Works from every state, any number
   * of times, and cannot be cancelled. Lets up to `abilities.safeMs` pass to measure what it reached.
   */
  safe(): Promise<SafeState>;
}

export interface RigAbilities {
  readonly nests: number;
  /** Samples per second in a block. */
  readonly sampleHz: number;
  /** Largest time between channels of one instant. */
  readonly skewMs: number;
  readonly chamber: boolean;
  readonly loads: readonly OutputLoad[];
  /** Lowest and highest pressure that can be set. */
  readonly pressureKpaAbs: { readonly low: number; readonly high: number };
  /** Largest pressure that every transducer on the gas can read. */
  readonly transducerKpaAbs: number;
  readonly deadManMs: number;
  readonly safeMs: number;
  readonly origin: 'real' | 'simulated';
}

/** The resistor from a part's output to ground (pull-down) or to the supply (pull-up). */
export interface OutputLoad {
  readonly ohm: number;
  readonly to: 'ground' | 'supply';
}

/** Wired inputs. The program reads them; it is not the safety function behind them. */
export interface Interlocks {
  readonly guardShut: boolean;
  readonly stopChainClosed: boolean;
  readonly airPresent: boolean;
  readonly vacuumPresent: boolean;
  readonly clamped: boolean;
}

export interface SafeState {
  /** True only when every nest was measured within 2 kPa of the barometer. */
  readonly vented: boolean;
  /** The last reading of each nest; null where the instrument did not answer. */
  readonly nestKpaAbs: readonly (number | null)[];
}

/** All channels at the same instants: fromMs + k / sampleHz for k = 0 … count - 1. Plain and cloneable. */
export interface SampleBlock {
  readonly fromMs: number;
  readonly count: number;
  readonly controllerKpaAbs: Float64Array;
  /** Slow channels, once a block. */
  readonly barometerKpaAbs: number;
  readonly roomC: number;
  readonly chamberC: number;
  readonly nests: readonly NestSamples[];
}

/** What a rig at rest says of its surroundings, °C and kPa abs; temperatures of the parts by nest. */
export interface SlowReadings {
  readonly barometerKpaAbs: number;
  readonly roomC: number;
  readonly chamberC: number;
  readonly partC: readonly number[];
}

export interface NestSamples {
  readonly referenceKpaAbs: Float64Array;
  readonly outputV: Float64Array;
  /** Averaged over the block: what feeds a part does not move within it. */
  readonly supplyV: number;
  readonly supplyMa: number;
  /** Once a block. */
  readonly partC: number;
}
