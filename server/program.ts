/** What is written into every record as the program that made it; a test holds it to package.json. */
export const PROGRAM = 'barolot 0.1.0';
