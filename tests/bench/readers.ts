import { get } from 'node:http';

/**
 * Clients of a stream in a process of their own: open it so many times, read all that comes, say how much it was when
 * asked. Arguments: address, how many. Says `open` once all have their first bytes; answers any message with the bytes
 * since the last answer, and ends with its parent.
 */
const [address = '', many = '1'] = process.argv.slice(2);
let bytes = 0;
let open = 0;
for (let client = 0; client < Number(many); client += 1) {
  get(address, { agent: false, headers: { accept: 'text/event-stream' } }, (reply) => {
    reply.once('data', () => {
      open += 1;
      if (open === Number(many)) process.send?.({ open: true });
    });
    reply.on('data', (chunk: Buffer) => {
      bytes += chunk.length;
    });
  }).on('error', () => undefined);
}
process.on('message', () => {
  process.send?.({ bytes });
  bytes = 0;
});
process.on('disconnect', () => process.exit(0));
