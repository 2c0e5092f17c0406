// What every emulator script here speaks: JSON lines on standard input, one reply each on standard output.
import fs from 'node:fs';
import readline from 'node:readline';

export function bootromWords(file) {
  const rom = fs.readFileSync(file);
  return new Uint32Array(rom.buffer, rom.byteOffset, rom.length / 4);
}
export async function serve(answer) {
  for await (const line of readline.createInterface({ input: process.stdin })) {
    let reply;
    try {
      reply = answer(JSON.parse(line));
    } catch (error) {
      reply = { error: String(error.stack ?? error) };
    }
    process.stdout.write(JSON.stringify(reply) + '\n');
  }
  process.exit(0);
}
