import fc from 'fast-check';

/** Properties run on the same values everywhere; `SEED=… npm test` tries others. A failure prints how to repeat it. */
fc.configureGlobal({ seed: Number(process.env['SEED'] ?? 20_251_125) });
