import { lagged } from './lag.ts';
import type { PartTruth } from './part.ts';

/** Rate of the chamber's air, K/s (3 K/min). Engineering assumption. */
const RAMP_K_PER_S = 0.05;
/** How the wall of a part relaxes to the fixture in a station without a chamber, s. Engineering assumption. */
const BODY_TAU_S = 60;
/** The gas finds this share of how much warmer the whole part is than the fixture. Engineering assumption. */
const GAS_SHARE = 0.4;
const ROOM_SHELL_S = 90;
const ROOM_CORE_S = 300;

/**
 * Temperatures of chamber air and of the parts in the nests, in K: air → shell → core, two first-order lags. Without a
 * chamber the air stays at room temperature.
 */
export class Chamber {
  readonly #roomK: number;
  readonly #rampKPerS: number;
  readonly #shellK: Float64Array;
  readonly #coreK: Float64Array;
  readonly #shellTauS: Float64Array;
  readonly #coreTauS: Float64Array;
  readonly #warmerK: Float64Array;
  readonly #driftKPerS: Float64Array;
  #airK: number;
  #targetK: number;
  #clampedMs = 0;
  /** Since the parts were laid in: what warmth they brought along goes from then on, however often they are clamped. */
  #laidInMs = 0;

  /** All at room temperature, K. `rampKPerS` is how fast the air can go elsewhere. */
  constructor(nests: number, roomK: number, rampKPerS = RAMP_K_PER_S) {
    this.#roomK = roomK;
    this.#rampKPerS = rampKPerS;
    this.#airK = roomK;
    this.#targetK = roomK;
    this.#shellK = new Float64Array(nests).fill(roomK);
    this.#coreK = new Float64Array(nests).fill(roomK);
    this.#shellTauS = new Float64Array(nests).fill(ROOM_SHELL_S);
    this.#coreTauS = new Float64Array(nests).fill(ROOM_CORE_S);
    this.#warmerK = new Float64Array(nests);
    this.#driftKPerS = new Float64Array(nests);
  }

  get airK(): number {
    return this.#airK;
  }

  /** Lets the air go to a temperature; it is where it is when the heat is taken off, and drifts to the room. */
  head(targetK: number): void {
    this.#targetK = targetK;
  }

  headForRoom(): void {
    this.#targetK = this.#roomK;
  }

  /** A part from the bench, at room temperature but for its own warmth. */
  load(n: number, part: PartTruth | null): void {
    this.#shellK[n] = this.#roomK;
    this.#coreK[n] = this.#roomK;
    this.#shellTauS[n] = part?.shellTauS ?? ROOM_SHELL_S;
    this.#coreTauS[n] = part?.coreTauS ?? ROOM_CORE_S;
    this.#warmerK[n] = part?.warmerK ?? 0;
    this.#driftKPerS[n] = 0;
    this.#clampedMs = 0;
    this.#laidInMs = 0;
  }

  /** From here on the nest's temperature drifts by so much. */
  clamp(n: number, driftKPerS: number): void {
    this.#driftKPerS[n] = driftKPerS;
    this.#clampedMs = 0;
  }

  /** The fixture lets go: what it gave the nest goes with it. */
  unclamp(n: number): void {
    this.#driftKPerS[n] = 0;
  }

  pass(ms: number): void {
    const seconds = ms / 1000;
    this.#clampedMs += ms;
    this.#laidInMs += ms;
    const before = this.#airK;
    const most = this.#rampKPerS * seconds;
    const ahead = this.#targetK - before;
    this.#airK = before + (ahead > most ? most : ahead < -most ? -most : ahead);
    for (let n = 0; n < this.#shellK.length; n++) {
      const shell = this.#shellK[n]!;
      const core = this.#coreK[n]!;
      if (this.#airK === shell && before === shell && core === shell) continue;
      const shellTau = this.#shellTauS[n]!;
      const coreTau = this.#coreTauS[n]!;
      const next = lagged(shell, before, this.#airK, Math.exp(-seconds / shellTau), shellTau / seconds);
      this.#shellK[n] = next;
      this.#coreK[n] = lagged(core, shell, next, Math.exp(-seconds / coreTau), coreTau / seconds);
    }
  }

  /** What the gas in a nest relaxes to, K. */
  bodyK(n: number): number {
    return this.#coreK[n]! + this.#extraK(n);
  }

  /** What the part's silicon and its thermometer have, K. */
  partK(n: number): number {
    return this.#coreK[n]! + this.#extraK(n) / GAS_SHARE;
  }

  #extraK(n: number): number {
    const brought = this.#warmerK[n]! * Math.exp(-this.#laidInMs / 1000 / BODY_TAU_S);
    return brought + (this.#driftKPerS[n]! * this.#clampedMs) / 1000;
  }
}
