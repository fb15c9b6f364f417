// The server: the true program, built from this tree, on a data directory of its own.
import { execFileSync, spawn } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

export const tree = fileURLToPath(new URL('../../../../', import.meta.url));

const last = [];
process.once('exit', () => last.forEach((tidy) => tidy()));

/** atExit has something tidied up when the test process ends, however it does. */
export function atExit(tidy) { last.unshift(tidy); }

/** folder makes a folder that goes away with the test process. */
export function folder(name) {
  const dir = mkdtempSync(join(tmpdir(), `leafturn-${name}-`));
  atExit(() => rmSync(dir, { recursive: true, force: true, maxRetries: 5 }));
  return dir;
}

/** compile builds a command of this tree and gives the program's path. */
export function compile(command) {
  const program = join(folder('program'), 'program');
  execFileSync('go', ['build', '-o', program, command], { cwd: tree, stdio: ['ignore', 'inherit', 'inherit'] });
  return program;
}

/** freePort is a port that nobody listens on just now. */
export function freePort() {
  return new Promise((done, failed) => {
    const probe = createServer();
    probe.once('error', failed);
    probe.listen(0, '127.0.0.1', () => {
      const { port } = probe.address();
      probe.close(() => done(port));
    });
  });
}

/** Server is one household's server. It can be killed and started again. */
export class Server {
  static async start({ data = folder('data'), more = [] } = {}) {
    const server = new Server(compile('./server'), data, await freePort(), more);
    await server.run();
    return server;
  }

  constructor(program, data, port, more) {
    Object.assign(this, { program, data, port, more, said: '' });
    atExit(() => this.process && this.process.kill('SIGKILL'));
  }

  get url() { return `http://127.0.0.1:${this.port}`; }

  /** run starts the process and waits until it answers. */
  async run() {
    this.said = '';
    const args = ['serve', '--data', this.data, '--listen', `127.0.0.1:${this.port}`, '--sign-ins-per-minute', '10000', ...this.more];
    this.process = spawn(this.program, args, { cwd: tree, stdio: ['ignore', 'pipe', 'pipe'] });
    this.gone = new Promise((done) => this.process.once('exit', done));
    const ready = new Promise((done, failed) => {
      const hear = (piece) => {
        this.said += piece;
        if (/Ctrl-C ends it/.test(this.said)) done();
      };
      this.process.stdout.on('data', hear);
      this.process.stderr.on('data', hear);
      this.gone.then((code) => failed(new Error(`the server ended with ${code}:\n${this.said}`)));
    });
    await ready;
    this.setup = /#setup=(\S+)/.exec(this.said)[1];
    const answer = await fetch(`${this.url}/healthz`);
    if (!answer.ok) throw new Error(`the server is not well: ${answer.status}`);
  }

  /** kill ends the process at once, as a power cut would. */
  async kill() {
    this.process.kill('SIGKILL');
    await this.gone;
    this.process = null;
  }

  /** stop asks the process to end and gives its exit code. */
  async stop() {
    if (!this.process) return 0;
    this.process.kill('SIGTERM');
    const code = await this.gone;
    this.process = null;
    return code;
  }
}
