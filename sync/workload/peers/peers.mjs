// Measures general-purpose merge engines on the records of sync/workload, the way
// sync/workload/measure measures ours: four devices write offline, then exchange with a
// hub. Every time is the CPU time of a process of its own; medians of three.
//
//   node peers.mjs <records.jsonl> <engine,engine...>      prints "name value unit"
//   node peers.mjs <records.jsonl> <engine> <what> <dir>   one measurement, as JSON

import { spawnSync } from 'node:child_process';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import zlib from 'node:zlib';
import { engines } from './engines.mjs';

const devices = 4, together = 2_000, runs = 3;
const cpu = () => { const u = process.cpuUsage(); return u.user + u.system; };
const [file, names, what, dir] = process.argv.slice(2);

const records = () => fs.readFileSync(file, 'utf8').split('\n').filter(Boolean).map(l => JSON.parse(l));
const at = n => path.join(dir, n);
const packed = bytes => zlib.deflateRawSync(bytes).length;

function cut(list) {
  const out = [];
  for (let i = 0; i < list.length; i += together) out.push(list.slice(i, i + together));
  return out;
}

const measures = {
  // author leaves the files that the others read.
  author(engine) {
    const all = records();
    const base = engine.write(engine.make(devices), all.filter(r => r.k === 'plant'));
    const start = engine.save(base);
    fs.writeFileSync(at('base'), start);
    const written = all.filter(r => r.k !== 'plant');
    const parts = Array.from({ length: devices }, (_, d) => cut(written.filter(r => r.d === d)));
    const before = cpu();
    let docs = parts.map((batches, d) => batches.reduce((doc, b) => engine.write(doc, b), engine.load(d, start)));
    const spent = cpu() - before;
    let hub = engine.load(devices + 1, start), bytes = 0;
    for (const doc of docs) {
      const up = engine.since(doc, engine.have(hub));
      bytes += packed(up);
      hub = engine.take(hub, up);
    }
    docs = docs.map(doc => {
      const down = engine.since(hub, engine.have(doc));
      bytes += packed(down);
      return engine.take(doc, down);
    });
    const want = engine.latest(hub).size;
    if (docs.some(doc => engine.latest(doc).size !== want)) throw new Error('the devices do not agree');
    const saved = engine.save(hub);
    fs.writeFileSync(at('all'), saved);
    fs.writeFileSync(at('updates'), engine.since(hub, engine.have(base)));
    return { 'author-cpu-us-per-record': [spent / written.length, 'us'], 'wire-bytes-per-record': [bytes / written.length / devices, 'B'],
      'disk-bytes-per-record': [saved.length / written.length, 'B'], 'disk-deflated-bytes-per-record': [packed(saved) / written.length, 'B'], records: [written.length, 'records'] };
  },
  merge(engine) {
    const count = records().filter(r => r.k !== 'plant').length;
    const base = fs.readFileSync(at('base')), updates = fs.readFileSync(at('updates'));
    const before = cpu();
    const doc = engine.take(engine.load(9, base), updates);
    const spent = cpu() - before;
    if (engine.latest(doc).size === 0) throw new Error('nothing was merged');
    return { 'merge-cpu-us-per-record': [spent / count, 'us'], 'peak-memory-mb': [process.resourceUsage().maxRSS / 1024, 'MB'] };
  },
  open(engine) {
    const before = cpu();
    const list = engine.latest(engine.load(9, fs.readFileSync(at('all'))));
    if (list.size === 0) throw new Error('the list is empty');
    return { 'cold-open-ms': [(cpu() - before) / 1000, 'ms'] };
  },
  // incremental reads the plant again through the engine's own list.
  incremental(engine) {
    const some = records().filter(r => r.k === 'event').slice(0, 50);
    let writer = engine.load(8, fs.readFileSync(at('all'))), reader = engine.load(9, fs.readFileSync(at('all')));
    const times = some.map((r, i) => {
      const have = engine.have(writer);
      writer = engine.write(writer, [{ ...r, ts: 2e12 + i }]);
      const bytes = engine.since(writer, have);
      const before = cpu();
      reader = engine.take(reader, bytes);
      return cpu() - before;
    });
    if (engine.latest(reader).get(some.at(-1).plant).at !== 2e12 + some.length - 1) throw new Error('the last record is not to be seen');
    return { 'incremental-cpu-us': [times.sort((a, b) => a - b)[times.length >> 1], 'us'] };
  },
};

function child(engine, what, dir) {
  const p = spawnSync(process.execPath, ['--max-old-space-size=8000', process.argv[1], file, engine, what, dir], { encoding: 'utf8', stdio: ['ignore', 'pipe', 'inherit'] });
  if (p.status !== 0) throw new Error(`${engine}: ${what} failed`);
  return JSON.parse(p.stdout);
}

function all() {
  for (const engine of names.split(',')) {
    const dir = fs.mkdtempSync(path.join(os.tmpdir(), 'leafturn-peers-'));
    try {
      for (const what of Object.keys(measures)) {
        const tries = Array.from({ length: runs }, () => child(engine, what, dir));
        for (const [figure, [, unit]] of Object.entries(tries[0])) {
          const sorted = tries.map(t => t[figure][0]).sort((a, b) => a - b);
          console.log(`${engine}-${figure} ${Number(sorted[runs >> 1].toPrecision(4))} ${unit}`);
        }
      }
    } finally {
      fs.rmSync(dir, { recursive: true });
    }
  }
}

if (what) console.log(JSON.stringify(measures[what](engines[names])));
else all();
