import type { Actor } from '../store/record-format.ts';

/** Stated by name, and printed as such: nobody has signed in. */
export const operatorOf = (name: string): Actor => ({ name, role: 'operator', proof: 'stated' });

/** Who answers for what the program does by itself. */
export const BY_PROGRAM: Actor = { name: 'barolot', role: 'program', proof: 'stated' };
