// The connection between one phone and the server. A browser's own way of being
// offline spares some of its parts, such as workers; a line that is cut spares none.
import { createServer, connect } from 'node:net';

/** firstLine is how a request begins; browsers send it in one piece. */
const firstLine = (piece) => piece.toString('latin1').split('\r\n', 1)[0];

export class Line {
  /** open lays a line to the server's port. */
  static open(serverPort) {
    const line = new Line(serverPort);
    return new Promise((done, failed) => {
      line.listener.once('error', failed);
      line.listener.listen(0, '127.0.0.1', () => done(line));
    });
  }

  constructor(serverPort) {
    this.serverPort = serverPort;
    this.whole = true;
    this.pairs = new Set();
    this.blow = null;
    this.requests = []; // the first line of each that was carried
    this.listener = createServer((phone) => this.carry(phone));
  }

  get origin() { return `http://127.0.0.1:${this.listener.address().port}`; }

  /** cut ends all connections and lets none be made until mend. */
  cut() {
    this.whole = false;
    for (const pair of this.pairs) pair.end();
  }

  mend() { this.whole = true; }

  close() {
    this.cut();
    this.listener.close();
  }

  /**
   * strike waits for a request that fits and cuts the line in the middle of it: after
   * its head and so many bytes of its body have passed, or, if answer is set, when the server has
   * answered and the phone has not heard of it. It gives a promise that is kept when
   * that has happened; then, a function, is called before the connections end.
   */
  strike(request, { bytes = 0, answer = false, then = () => {} } = {}) {
    return new Promise((done) => {
      this.blow = { request, bytes, answer, then, done };
    });
  }

  carry(phone) {
    phone.on('error', () => {});
    if (!this.whole) return phone.destroy();
    const server = connect(this.serverPort, '127.0.0.1');
    const pair = { end: () => { phone.destroy(); server.destroy(); this.pairs.delete(pair); } };
    this.pairs.add(pair);
    server.on('error', pair.end);
    phone.on('close', pair.end);
    server.on('close', pair.end);
    let struck = null; // the blow whose request came by this connection
    let sent = Buffer.alloc(0); // of that request
    phone.on('data', (piece) => {
      const line = firstLine(piece);
      if (/^[A-Z]+ \/\S* HTTP\//.test(line)) this.requests.push(line);
      if (!struck && this.blow && this.blow.request.test(line)) struck = this.blow;
      if (!struck || struck.answer) return server.write(piece);
      const before = sent.length;
      sent = Buffer.concat([sent, piece]);
      const head = sent.indexOf('\r\n\r\n');
      const end = head < 0 ? Infinity : head + 4 + struck.bytes;
      if (sent.length < end) return server.write(piece);
      server.write(piece.subarray(0, end - before), () => this.fall(struck));
    });
    server.on('data', (piece) => {
      if (struck && struck.answer) return this.fall(struck);
      phone.write(piece);
    });
  }

  async fall(blow) {
    if (this.blow !== blow) return;
    this.blow = null;
    this.whole = false;
    await blow.then();
    this.cut();
    blow.done();
  }
}
