// The worker runs the core: Go compiled to WebAssembly, which says when it listens.
'use strict';
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
