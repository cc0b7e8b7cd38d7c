import { Network } from '../../station/rig/simulated/network.ts';
import type { NetworkSpec, VolumeSpec } from '../../station/rig/simulated/volume.ts';

/** A volume with walls that keep their temperature, nothing leaking. */
export const plainVolume = (m3: number, filmWPerK: number): VolumeSpec => ({
  m3,
  filmWPerK,
  skinJPerK: Infinity,
  skinTauS: 1,
  creepPerPa: 0,
  creepTauS: 1,
  viscousLeak: 0,
  orificeLeak: 0,
});

/** A film that keeps gas at wall temperature over any step. */
export const ISOTHERMAL = 1e9;

/** A network as a case describes it: without nests the manifold is the one vessel, and nothing stirs its film. */
export function networkOf(spec: Partial<NetworkSpec> & Pick<NetworkSpec, 'manifold'>): Network {
  return new Network({
    nests: [],
    ambientPa: 101_325,
    fixtureK: 296.15,
    criticalRatio: 0.3,
    isolationM3PerSPa: 2e-9,
    valveM3PerSPa: [0, 0, 0],
    sourcePa: [400e3, 101_325, 5e3],
    stepMs: 1,
    film: { gain: 0, kgPerS: 1 },
    ...spec,
  });
}
