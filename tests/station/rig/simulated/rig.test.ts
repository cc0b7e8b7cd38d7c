import { SimulatedRig } from '../../../../station/rig/simulated/rig.ts';
import { drawPart } from '../../../../station/rig/simulated/part.ts';
import type { RigFaultKind } from '../../../../station/rig/simulated/rig-fault.ts';
import { drawRig } from '../../../../station/rig/simulated/truth.ts';
import { oneBar } from '../../../support/parts.ts';
import { describeRigContract } from '../../../support/rig-contract.ts';
import type { WiredInput } from '../../../support/rig-contract.ts';

const faults: Record<WiredInput, RigFaultKind> = {
  guard: 'guard-open',
  'stop chain': 'stop-chain-open',
  air: 'air-lost',
  vacuum: 'vacuum-lost',
};

describeRigContract('the simulated rig', (nests) => {
  const rig = new SimulatedRig(drawRig(3, { nests }));
  rig.loadParts(Array.from({ length: nests }, (_, n) => drawPart(3, n, oneBar)));
  return {
    rig,
    break: (input) => rig.strike({ where: {}, what: faults[input], size: 0 }),
    restore: () => rig.mend(),
    silenceReference: (nest) => rig.strike({ where: { nest }, what: 'reference-silent', size: 0 }),
  };
});
