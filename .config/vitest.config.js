import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: {
    include: ['tests/**/*.test.ts'],
    exclude: ['tests/architecture/fixture/**'],
    setupFiles: ['tests/support/property-seed.ts'],
    pool: 'forks',
    maxWorkers: '100%',
    testTimeout: 30_000,
    hookTimeout: 30_000,
    allowOnly: false,
    passWithNoTests: false,
    reporters: ['default', 'json'],
    // .ci/run counts from this file.
    outputFile: { json: '.build/test-results.json' },
    coverage: {
      provider: 'v8',
      include: ['station/**/*.ts', 'server/quality/**/*.ts'],
      reportsDirectory: '.build/coverage',
      reporter: ['text', 'html'],
      thresholds: { branches: 90 },
    },
  },
});
