import js from '@eslint/js';
import { defineConfig, globalIgnores } from 'eslint/config';
import tseslint from 'typescript-eslint';

const throughTheClock = 'Time comes through Clock (station/clock.ts).';
const throughTheStreams = 'Chance comes through a seeded, named stream (station/random.ts).';

const timeGlobals = [
  ...['setTimeout', 'setInterval', 'setImmediate', 'clearTimeout', 'clearInterval', 'clearImmediate', 'performance'],
].map((name) => ({ name, message: throughTheClock }));

// Node's globals need no import, so the dependency rules cannot see them.
const ioGlobals = ['process', 'console', 'Buffer', 'fetch', 'WebSocket', '__dirname', '__filename', 'require'].map(
  (name) => ({ name, message: 'station/ does no I/O and also runs in a browser.' }),
);

const timeModules = ['timers', 'timers/promises', 'perf_hooks']
  .flatMap((name) => [name, `node:${name}`])
  .map((name) => ({ name, message: throughTheClock }));

const timeAndChance = {
  'no-restricted-globals': ['error', { globals: timeGlobals, checkGlobalObject: true }],
  'no-restricted-imports': ['error', { paths: timeModules }],
  'no-restricted-properties': [
    'error',
    { object: 'Date', property: 'now', message: throughTheClock },
    { object: 'AbortSignal', property: 'timeout', message: throughTheClock },
    { object: 'process', property: 'hrtime', message: throughTheClock },
    { object: 'process', property: 'uptime', message: throughTheClock },
    { object: 'Math', property: 'random', message: throughTheStreams },
  ],
  'no-restricted-syntax': [
    'error',
    { selector: 'NewExpression[callee.name="Date"][arguments.length=0]', message: throughTheClock },
    { selector: 'CallExpression[callee.name="Date"]', message: throughTheClock },
  ],
};

export default defineConfig(
  globalIgnores(['.build/', 'node_modules/', 'tests/architecture/fixture/']),
  { linterOptions: { reportUnusedDisableDirectives: 'error' } },
  js.configs.recommended,
  {
    files: ['**/*.ts', '**/*.tsx'],
    extends: [tseslint.configs.strictTypeChecked],
    languageOptions: { parserOptions: { projectService: true } },
    rules: {
      '@typescript-eslint/switch-exhaustiveness-check': [
        'error',
        // A default branch of a union must prove itself with `satisfies never`, not hide a missing case.
        { considerDefaultExhaustiveForUnions: false, requireDefaultForNonUnion: true },
      ],
      '@typescript-eslint/no-import-type-side-effects': 'error',
      '@typescript-eslint/consistent-type-imports': ['error', { fixStyle: 'separate-type-imports' }],
      // Numbers print unambiguously; everything else that is not a string is still refused.
      '@typescript-eslint/restrict-template-expressions': [
        'error',
        {
          allowNumber: true,
          allowAny: false,
          allowBoolean: false,
          allowNever: false,
          allowNullish: false,
          allowRegExp: false,
        },
      ],
      // A port's method must reject, not throw, even when this implementation has nothing to wait for.
      '@typescript-eslint/require-await': 'off',
      // `() => emitter.close()` reads better than braces around it.
      '@typescript-eslint/no-confusing-void-expression': ['error', { ignoreArrowShorthand: true }],
      // `while (true)` is allowed; a comment says why it may be endless.
      '@typescript-eslint/no-unnecessary-condition': [
        'error',
        { allowConstantLoopConditions: 'only-allowed-literals' },
      ],
      // An unused parameter that a signature demands starts with an underscore.
      '@typescript-eslint/no-unused-vars': ['error', { argsIgnorePattern: '^_', varsIgnorePattern: '^_' }],
      eqeqeq: 'error',
    },
  },
  { files: ['server/**/*.ts'], rules: timeAndChance },
  {
    files: ['station/**/*.ts'],
    rules: {
      ...timeAndChance,
      'no-restricted-globals': [
        'error',
        {
          globals: [...timeGlobals, ...ioGlobals, { name: 'crypto', message: throughTheStreams }],
          checkGlobalObject: true,
        },
      ],
    },
  },
  {
    // The one place where the computer's time comes in.
    files: ['station/clock.ts'],
    rules: Object.fromEntries(Object.keys(timeAndChance).map((name) => [name, 'off'])),
  },
  {
    // The one process of the station: its messages, signals and end. Time and chance come through the ports here too.
    files: ['station/host/main.ts'],
    rules: { 'no-restricted-globals': ['error', { globals: timeGlobals, checkGlobalObject: true }] },
  },
  {
    // Typed arrays in loops that run millions of times a minute; their indexes are bounded by construction.
    files: ['station/random.ts', 'station/rig/simulated/**/*.ts'],
    rules: { '@typescript-eslint/no-non-null-assertion': 'off' },
  },
  {
    files: ['tests/**/*.ts'],
    rules: {
      // Vitest reads from `({}, use) => …` which fixtures a fixture needs.
      'no-empty-pattern': 'off',
      // In a test a wrong `!` is a failed test.
      '@typescript-eslint/no-non-null-assertion': 'off',
    },
  },
  { files: ['**/*.cjs'], languageOptions: { sourceType: 'commonjs', globals: { module: 'writable' } } },
);
