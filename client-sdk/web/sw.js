// The service worker keeps the app's files for use without a network, and no data. The server
// puts a digest of the files in the place of the token: each build has a cache of its own.
'use strict';
const CACHE = 'leafturn-@VERSION@';
const SHELL = ['/', '/app.css', '/app.js', '/worker.js', '/wasm_exec.js', '/app.wasm', '/manifest.webmanifest',
  '/icons/leaf.svg', '/icons/icon-192.png', '/icons/icon-512.png', '/icons/maskable-512.png',
  '/sample/leaf-1.jpg', '/sample/leaf-2.jpg', '/sample/leaf-3.jpg', '/sample/leaf-4.jpg', '/sample/leaf-5.jpg'];

self.addEventListener('install', (event) => {
  const fresh = SHELL.map((path) => new Request(path, { cache: 'reload' })); // the browser's own cache may be of the last version
  event.waitUntil(caches.open(CACHE).then((cache) => cache.addAll(fresh)));
});

self.addEventListener('activate', (event) => event.waitUntil((async () => {
  for (const name of await caches.keys()) if (name.startsWith('leafturn-') && name !== CACHE) await caches.delete(name);
  await self.clients.claim();
})()));

// A new version waits for a person's yes, so that it never takes half-typed words away.
self.addEventListener('message', (event) => event.data === 'skip' && self.skipWaiting());

// A push message counts what is due. Its words were left by the core, in a cache of its own.
async function note({ kind, topic, due }) {
  for (const shown of await self.registration.getNotifications()) if (kind === 'withdraw' || shown.tag !== topic) shown.close();
  const kept = await caches.match('/words.json');
  if (kind === 'withdraw' || !kept) return;
  const words = await kept.json(), bodies = words[kind];
  await self.registration.showNotification(words.title, { tag: topic, lang: words.lang, icon: '/icons/icon-192.png', body: bodies[Math.min(due, bodies.length - 1)] });
}
self.addEventListener('push', (event) => event.waitUntil(note(event.data.json())));
self.addEventListener('notificationclick', (event) => {
  event.notification.close();
  event.waitUntil(self.clients.matchAll({ type: 'window' }).then(([page]) => (page ? page.focus().then(() => page.navigate('/#/today')) : self.clients.openWindow('/#/today'))));
});

self.addEventListener('fetch', (event) => {
  const url = new URL(event.request.url);
  const ours = url.origin === self.location.origin && event.request.method === 'GET';
  if (!ours || url.pathname.startsWith('/api/') || url.pathname === '/healthz') return;
  const key = event.request.mode === 'navigate' ? '/' : url.pathname;
  event.respondWith(caches.open(CACHE).then((cache) => cache.match(key)).then((kept) => kept || fetch(event.request)));
});
