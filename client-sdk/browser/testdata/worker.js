// Runs the test binary with the arguments and the environment that the page's
// address names, and tells the harness what it printed and how it ended.
"use strict";
importScripts("/wasm_exec.js");

const query = new URLSearchParams(location.search);
const decoder = new TextDecoder();
let printed = "";
globalThis.fs.writeSync = (fd, bytes) => {
  printed += decoder.decode(bytes, { stream: true });
  return bytes.length;
};

const go = new Go();
go.argv = ["browser.test", ...query.getAll("arg")];
for (const pair of query.getAll("env")) {
  const at = pair.indexOf("=");
  go.env[pair.slice(0, at)] = pair.slice(at + 1);
}
let code = 0;
go.exit = (c) => { code = c; };

WebAssembly.instantiateStreaming(fetch("/test.wasm"), go.importObject)
  .then((module) => go.run(module.instance))
  .then(() => fetch("/ended", { method: "POST", body: JSON.stringify({ code, printed }) }))
  .catch((e) => fetch("/failed", { method: "POST", body: printed + "\n" + (e.stack || e) }));
