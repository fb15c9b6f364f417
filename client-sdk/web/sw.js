// The service worker keeps the app itself for use without a network. Data never
// passes through its cache: the core keeps that. The server replaces the token
// with a digest of the files: each build has a cache of its own.
'use strict';
const CACHE = 'leafturn-@VERSION@';
const SHELL = ['/', '/app.css', '/app.js', '/worker.js', '/wasm_exec.js', '/app.wasm', '/manifest.webmanifest',
  '/icons/leaf.svg', '/icons/icon-192.png', '/icons/icon-512.png', '/icons/maskable-512.png',
  '/sample/leaf-1.jpg', '/sample/leaf-2.jpg', '/sample/leaf-3.jpg', '/sample/leaf-4.jpg', '/sample/leaf-5.jpg'];

self.addEventListener('install', (event) => {
  // Past the browser's own cache: it may still hold files of the last version.
  const fresh = SHELL.map((path) => new Request(path, { cache: 'reload' }));
  event.waitUntil(caches.open(CACHE).then((cache) => cache.addAll(fresh)));
});

self.addEventListener('activate', (event) => {
  event.waitUntil((async () => {
    const old = (await caches.keys()).filter((name) => name.startsWith('leafturn-') && name !== CACHE);
    await Promise.all(old.map((name) => caches.delete(name)));
    await self.clients.claim();
  })());
});

// A new version waits until a person agrees or no page is open, so that it never
// takes half-typed words away.
self.addEventListener('message', (event) => event.data === 'skip' && self.skipWaiting());

self.addEventListener('fetch', (event) => {
  const url = new URL(event.request.url);
  const ours = url.origin === self.location.origin && event.request.method === 'GET';
  if (!ours || url.pathname.startsWith('/api/') || url.pathname === '/healthz') return;
  const key = event.request.mode === 'navigate' ? '/' : url.pathname;
  event.respondWith(caches.open(CACHE).then((cache) => cache.match(key)).then((kept) => kept || fetch(event.request)));
});
