/** Where a command prints: results to standard output, asides and errors to standard error. */
export interface Out {
  line(text: string): void;
  aside(text: string): void;
  json(value: unknown): void;
}

// Whoever reads may stop reading (`| head`): then there is nobody left to tell.
process.stdout.on('error', (error: NodeJS.ErrnoException) => {
  if (error.code !== 'EPIPE') throw error;
  process.exit();
});

/** The process's own streams. */
export const processOut: Out = {
  line: (text) => void process.stdout.write(`${text}\n`),
  aside: (text) => void process.stderr.write(`${text}\n`),
  json: (value) => void process.stdout.write(`${JSON.stringify(value, null, 2)}\n`),
};
