import fc from 'fast-check';

// A run that lands must not depend on luck: the seed is fixed, and PROPERTY_SEED tries another.
fc.configureGlobal({ seed: Number(process.env['PROPERTY_SEED'] ?? 20_261_125) });
