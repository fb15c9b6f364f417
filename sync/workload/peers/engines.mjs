// The same household in three general-purpose merge engines. Each engine gets the form
// that suits it best: events are appended to a list as plain values and keep no id of
// their own (ours keep none either), photos are bytes, a plant is a map of its fields.
//
// An engine has: make(n) a replica of device n; write(doc, records) one transaction;
// save(doc) all of it; since(doc, have) what another replica lacks, and have(doc) to ask
// for it; take(doc, bytes); load(bytes); latest(doc) the last look at each plant.

import * as automerge from '@automerge/automerge';
import { LoroDoc, LoroMap } from 'loro-crdt';
import * as Y from 'yjs';

export function event(r) {
  const e = { plant: r.plant, by: r.obs, at: r.ts, part: r.part, counts: r.counts, damage: r.dmg };
  if (r.note) e.note = r.note;
  if (r.photo) e.photo = Uint8Array.from(Buffer.from(r.photo, 'hex'));
  return e;
}

function newest(events) {
  const last = new Map();
  for (const e of events) {
    const old = last.get(e.plant);
    if (!old || old.at < e.at) last.set(e.plant, e);
  }
  return last;
}

const yjs = {
  make(n) {
    const doc = new Y.Doc();
    doc.clientID = n + 1;
    return doc;
  },
  write(doc, records) {
    doc.transact(() => {
      const events = doc.getArray('events'), plants = doc.getMap('plants');
      for (const r of records) {
        if (r.k === 'event') events.push([event(r)]);
        else if (r.k === 'edit') plants.get(r.plant).set(r.f, r.v);
        else plants.set(r.plant, new Y.Map(Object.entries({ name: r.name, place: r.place, quarantine: r.quarantine })));
      }
    });
    return doc;
  },
  save: doc => Y.encodeStateAsUpdateV2(doc),
  have: doc => Y.encodeStateVector(doc),
  since: (doc, have) => Y.encodeStateAsUpdateV2(doc, have),
  take(doc, bytes) {
    Y.applyUpdateV2(doc, bytes);
    return doc;
  },
  load: (n, bytes) => yjs.take(yjs.make(n), bytes),
  latest: doc => newest(doc.getArray('events').toArray()),
};

const loro = {
  make(n) {
    const doc = new LoroDoc();
    doc.setPeerId(BigInt(n + 1));
    return doc;
  },
  write(doc, records) {
    const events = doc.getList('events'), plants = doc.getMap('plants');
    for (const r of records) {
      if (r.k === 'event') events.push(event(r));
      else if (r.k === 'edit') plants.get(r.plant).set(r.f, r.v);
      else {
        const plant = plants.setContainer(r.plant, new LoroMap());
        for (const f of ['name', 'place', 'quarantine']) plant.set(f, r[f]);
      }
    }
    doc.commit();
    return doc;
  },
  save: doc => doc.export({ mode: 'snapshot' }),
  have: doc => doc.version(),
  since: (doc, have) => doc.export({ mode: 'update', from: have }),
  take(doc, bytes) {
    doc.import(bytes);
    return doc;
  },
  load: (n, bytes) => loro.take(loro.make(n), bytes),
  latest: doc => newest(doc.getList('events').toArray()),
};

const am = {
  make: n => automerge.init({ actor: (n + 1).toString(16).padStart(32, '0') }),
  write: (doc, records) => automerge.change(doc, d => {
    d.events ??= [];
    d.plants ??= {};
    for (const r of records) {
      if (r.k === 'event') d.events.push(event(r));
      else if (r.k === 'edit') d.plants[r.plant][r.f] = r.v;
      else d.plants[r.plant] = { name: r.name, place: r.place, quarantine: r.quarantine };
    }
  }),
  save: doc => automerge.save(doc),
  have: doc => automerge.getHeads(doc),
  since: (doc, have) => automerge.saveSince(doc, have),
  take: (doc, bytes) => automerge.loadIncremental(doc, bytes),
  load: (n, bytes) => automerge.load(bytes, { actor: (n + 1).toString(16).padStart(32, '0') }),
  latest: doc => newest(doc.events),
};

export const engines = { yjs, loro, automerge: am };
