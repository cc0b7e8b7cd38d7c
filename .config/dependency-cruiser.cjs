// Who may import whom. tests/architecture/dependencies.test.ts runs these rules on the tree, where they must find
// nothing, and on tests/architecture/fixture, where every one of them must find its planted violation.

const rule = (name, from, to) => ({ name, severity: 'error', from, to });
const asValue = { dependencyTypesNot: ['type-only'] };

const stationRules = [
  rule('station-stands-alone', { path: '^station/' }, { path: '^(server|web|tests)/' }),
  rule(
    'station-does-no-io',
    { path: '^station/', pathNot: '^station/(clock\\.ts$|rig/instruments/)' },
    { dependencyTypes: ['core'] },
  ),
  rule(
    'station-takes-few-packages',
    { path: '^station/', pathNot: '^station/rig/instruments/' },
    { path: 'node_modules/', pathNot: 'node_modules/(zod|yaml|@noble/hashes|canonicalize)/' },
  ),
  // units, clock, random, faults, reasons, assert, hash: everybody's ground, so they know only each other.
  rule('station-base-is-a-leaf', { path: '^station/[^/]+\\.ts$' }, { path: '^station/[^/]+/' }),
  // A profile is plain data; of a rig it knows at most the shape.
  rule('profile-knows-no-rig', { path: '^station/profile/' }, { path: '^station/rig/', ...asValue }),
  rule('profile-knows-no-cycle', { path: '^station/profile/' }, { path: '^station/(cycle|host)/' }),
  rule(
    'rig-port-is-a-leaf',
    { path: '^station/rig/[^/]+\\.ts$' },
    { path: '^station/', pathNot: '^station/((rig/[^/]+|clock|units|faults|reasons|assert|hash)\\.ts$|profile/)' },
  ),
  rule('rig-port-takes-profile-types', { path: '^station/rig/[^/]+\\.ts$' }, { path: '^station/profile/', ...asValue }),
  rule(
    'devices-know-only-the-port',
    { path: '^station/rig/(simulated|instruments)/' },
    {
      path: '^station/',
      pathNot:
        '^station/(rig/$1/|(rig/[^/]+|clock|units|faults|random|assert)\\.ts$)|^station/profile/(transfer|schema)\\.ts$',
    },
  ),
  rule(
    'devices-take-schema-types',
    { path: '^station/rig/(simulated|instruments)/' },
    { path: '^station/profile/schema\\.ts$', ...asValue },
  ),
  rule(
    'station-core-knows-no-device',
    {
      path: '^station/(?!rig/(simulated|instruments)/|host/(main|demo|demo-choices|simulated-host|simulated-station)\\.ts$)',
    },
    { path: '^station/rig/(simulated|instruments)/' },
  ),
  // What decides takes numbers and returns values. Only the runner is handed a rig to move, and it too gets its ports as
  // parameters: a clock or a stream is never picked up by import.
  rule(
    'decisions-are-pure',
    { path: '^station/cycle/', pathNot: '^station/cycle/run\\.ts$' },
    { path: '^station/(rig/|(clock|random)\\.ts$)', pathNot: '^station/rig/revision\\.ts$', ...asValue },
  ),
  rule(
    'runner-is-given-its-clock',
    { path: '^station/cycle/run\\.ts$' },
    { path: '^station/(clock|random)\\.ts$', ...asValue },
  ),
];

const serverRules = [
  rule('server-stands-without-web-and-tests', { path: '^server/' }, { path: '^(web|tests)/' }),
  rule('only-a-main-chooses-the-rig', { path: '^server/(?!cli/)' }, { path: '^station/rig/(simulated|instruments)/' }),
  rule('nothing-imports-main', {}, { path: '^(server/cli|station/host)/main\\.ts$' }),
  rule('server-knows-no-command-line', { path: '^server/(?!cli/)' }, { path: '^server/cli/' }),
  rule('only-store-speaks-sql', { path: '^server/(?!store/)' }, { path: 'node_modules/better-sqlite3/' }),
  rule('store-asks-nothing', { path: '^server/store/' }, { path: '^server/(?!store/)' }),
  rule('quality-is-pure', { path: '^server/quality/' }, { path: '^(station/|server/(?!quality/))' }),
  // Accuracy was measured for these only; of general statistics packages some have tables of four digits.
  rule(
    'quality-takes-measured-packages',
    { path: '^server/quality/' },
    { path: 'node_modules/', pathNot: 'node_modules/(@stdlib/math-base-|@noble/hashes/)' },
  ),
  rule('quality-does-no-io', { path: '^server/quality/' }, { dependencyTypes: ['core'] }),
  rule('routes-only-from-app', { path: '^server/', pathNot: '^server/app\\.ts$' }, { path: '/routes\\.ts$' }),
  rule('contract-is-a-leaf', { path: '/contract\\.ts$' }, { path: '^server/', pathNot: '/contract\\.ts$' }),
];

const webRules = [
  rule('web-stands-without-tests', { path: '^web/' }, { path: '^tests/' }),
  // The pictures of the report are drawn on the screen too: they are pure, and know no server.
  rule('web-takes-server-types', { path: '^web/' }, { path: '^server/(?!report/figures/)', ...asValue }),
  rule(
    'web-sees-only-contracts',
    { path: '^web/' },
    { path: '^server/(?!report/figures/)', pathNot: '/contract\\.ts$' },
  ),
  rule(
    'figures-are-pure',
    { path: '^server/report/figures/' },
    { path: '^(server/(?!report/figures/)|web/|tests/)', ...asValue },
  ),
  rule(
    'web-runs-only-pure-station',
    { path: '^web/' },
    {
      path: '^station/',
      pathNot:
        '^station/((units|faults|reasons|assert)\\.ts$|(profile|words)/|cycle/(event|reading|result|fold|record|judge)\\.ts$)',
    },
  ),
];

const rulesForAll = [
  rule('no-circular', {}, { circular: true, viaOnly: { dependencyTypesNot: ['type-only'] } }),
  rule('no-unresolved', {}, { couldNotResolve: true }),
  rule(
    // The screens are bundled: what they are made of is not needed where they are served.
    'no-dev-package-in-production',
    { path: '^(station|server)/' },
    { dependencyTypes: ['npm-dev'], dependencyTypesNot: ['type-only'], pathNot: '@types/' },
  ),
];

module.exports = {
  forbidden: [...stationRules, ...serverRules, ...webRules, ...rulesForAll],
  options: {
    tsPreCompilationDeps: true,
    tsConfig: { fileName: 'tsconfig.json' },
    doNotFollow: { path: 'node_modules' },
    exclude: { path: '^(\\.build|tests/architecture/fixture)/' },
    enhancedResolveOptions: { exportsFields: ['exports'], conditionNames: ['import', 'node', 'default', 'types'] },
  },
};
