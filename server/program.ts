/** A test holds it to package.json. */
export const VERSION = '0.1.0';

/** What is written into every record as the program that made it. */
export const PROGRAM = `barolot ${VERSION}`;
