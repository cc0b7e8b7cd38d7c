import { register } from 'tsx/esm/api';

// A thread does not take over how this process reads TypeScript.
register();
await import('../../server/clerk/main.ts');
