// The witness: a third phone without a browser, written in Go on the same SDK, with
// which the two phones' and the server's knowledge is compared.
import { spawn } from 'node:child_process';
import { createInterface } from 'node:readline';
import { atExit, compile } from './program.mjs';

export class Witness {
  constructor(server, link) {
    this.process = spawn(compile('./client-sdk/phone/e2e/witness'), [server.url, link.split('#join=')[1]], { stdio: ['pipe', 'pipe', 'inherit'] });
    atExit(() => this.process.kill('SIGKILL'));
    this.gone = new Promise((done) => this.process.once('exit', done));
    this.lines = createInterface({ input: this.process.stdout })[Symbol.asyncIterator]();
  }

  /** look syncs and gives what the witness knows then. */
  async look(order = '') {
    this.process.stdin.write(`${order}\n`);
    const { value, done } = await this.lines.next();
    if (done) throw new Error(`the witness ended with ${await this.gone}`);
    return JSON.parse(value);
  }

  async leave() {
    this.process.stdin.end();
    await this.gone;
  }
}
