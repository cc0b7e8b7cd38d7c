/** Where a command prints: results to standard output, asides and errors to standard error. */
export interface Out {
  line(text: string): void;
  aside(text: string): void;
  json(value: unknown): void;
}

/** The process's own streams. */
export const processOut: Out = {
  line: (text) => void process.stdout.write(`${text}\n`),
  aside: (text) => void process.stderr.write(`${text}\n`),
  json: (value) => void process.stdout.write(`${JSON.stringify(value, null, 2)}\n`),
};
