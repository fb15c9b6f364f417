// The worker runs the core: Go compiled to WebAssembly. Messages that arrive
// before the core sets self.onmessage are kept for it; the browser would drop them.
'use strict';
let core = null;
const early = [];
const handOver = () => { while (core && early.length) core(early.shift()); };
Object.defineProperty(self, 'onmessage', {
  get: () => core,
  set(listener) { core = listener; setTimeout(handOver); }, // never from inside the core's own call
});
self.addEventListener('message', (event) => { early.push(event); handOver(); });

async function load(imports) {
  try {
    return await WebAssembly.instantiateStreaming(fetch('/app.wasm'), imports);
  } catch { // streaming insists on the type application/wasm, which some proxies lose
    return WebAssembly.instantiate(await (await fetch('/app.wasm')).arrayBuffer(), imports);
  }
}

async function run() {
  importScripts('/wasm_exec.js');
  const go = new self.Go();
  await go.run((await load(go.importObject)).instance);
  throw new Error('the core has ended');
}
run().catch((err) => setTimeout(() => { throw err; })); // outside the promise, so that the page hears of it
