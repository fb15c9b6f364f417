// Messages to a phone whose app is closed: the service worker runs in a real browser,
// and a message comes to it as a push service would bring it.
import assert from 'node:assert/strict';
import { after } from 'node:test';
import { addPlants, found } from '../world/household.mjs';
import { Server } from '../world/program.mjs';
import { scenes } from '../world/scenes.mjs';
import { until } from '../world/until.mjs';

let server, mira, mailbox;
const step = scenes(() => [mira].filter(Boolean), { chained: true });
after(async () => { if (server) await server.stop(); });

/** post is a message to the phone's service worker, as a push service would bring it. */
async function post(note) {
  await mailbox.session.send('ServiceWorker.deliverPushMessage', { origin: mira.line.origin, registrationId: mailbox.registration, data: JSON.stringify({ v: 1, ...note }) });
}

/** shown is the notes on the phone's screen. */
const shown = () => mira.page.evaluate(async () => {
  const registration = await navigator.serviceWorker.ready;
  return (await registration.getNotifications()).map(({ title, body, tag, lang }) => ({ title, body, tag, lang }));
});

/** shows waits until the notes on the screen are those wanted. */
const shows = (wanted) => until('the notes on the screen', shown, (now) => JSON.stringify(now) === JSON.stringify(wanted));

/** worker runs a function inside the service worker. */
const worker = (work) => mira.context.serviceWorkers()[0].evaluate(work);

step('a phone that may show messages', async () => {
  server = await Server.start();
  mira = await found(server);
  await addPlants(mira, 'Kitchen sill', ['Fern']);
  await mira.reload();
  await mira.controlled();
  await mira.context.grantPermissions(['notifications'], { origin: mira.line.origin });
  const session = await mira.context.newCDPSession(mira.page);
  const registered = new Promise((done) => session.on('ServiceWorker.workerRegistrationUpdated', ({ registrations }) => {
    for (const one of registrations) if (one.scopeURL === `${mira.line.origin}/`) done(one.registrationId);
  }));
  await session.send('ServiceWorker.enable');
  mailbox = { session, registration: await registered };
});

step('a message shows how much is due, in words and without a name', async () => {
  await post({ kind: 'digest', topic: 'today', day: '2026-01-02', due: 2, overdue: 0 });
  await shows([{ title: 'Plants today', body: '2 tasks for today', tag: 'today', lang: 'en' }]);
});

step('a repetition and the evening’s message take its place', async () => {
  await post({ kind: 'digest', topic: 'today', day: '2026-01-02', due: 2, overdue: 0 });
  await post({ kind: 'evening', topic: 'today', day: '2026-01-02', due: 1, overdue: 1 });
  await shows([{ title: 'Plants today', body: '1 task still open', tag: 'today', lang: 'en' }]);
});

step('the next day’s message closes that of the day before', async () => {
  await post({ kind: 'digest', topic: 'tomorrow', day: '2026-01-03', due: 40, overdue: 0 });
  await shows([{ title: 'Plants today', body: 'More than 20 tasks for today', tag: 'tomorrow', lang: 'en' }]);
});

step('a withdrawal takes the message away', async () => {
  await post({ kind: 'withdraw', topic: 'tomorrow', day: '2026-01-03', due: 0, overdue: 0 });
  await shows([]);
});

step('messages come with their words after the app was closed without a network', async () => {
  await mira.offline();
  await post({ kind: 'digest', topic: 'later', day: '2026-01-04', due: 3, overdue: 0 });
  await shows([{ title: 'Plants today', body: '3 tasks for today', tag: 'later', lang: 'en' }]);
  await mira.online();
});

step('a tap on the message closes it and leads to Today', async () => {
  await mira.go('#/plants', 'plants');
  // Only a person's own tap may bring a window to the front or let an event wait, so both
  // are played; the handler, and what it does to the page, are the true ones.
  await worker(async () => {
    let waited = null;
    self.WindowClient.prototype.focus = async function focus() { return this; };
    self.ExtendableEvent.prototype.waitUntil = (promise) => { waited = promise; };
    const [notification] = await self.registration.getNotifications();
    self.dispatchEvent(new self.NotificationEvent('notificationclick', { notification }));
    await waited;
  });
  await mira.at('today');
  assert.deepEqual(await shown(), []);
});

step('messages that are turned off without a network are ended on the server afterwards', async () => {
  // The browser's push service is played: it gives an address, and takes it back.
  await mira.page.evaluate(() => {
    let on = null;
    const address = { endpoint: 'https://push.example.net/invented', keys: { p256dh: 'BCVxsr7N_eNgVRqvHtD0zTZsEc6-VV-JvLexhqUzORcxaOzi6-AYWXvTBHm4bjyPjs7Vd8pZGH6SRpkNtoIAiw4', auth: 'BTBZMqHH6r4Tts7J_aSIgg' } };
    PushManager.prototype.getSubscription = async () => on;
    PushManager.prototype.subscribe = async ({ applicationServerKey, userVisibleOnly }) => {
      if (!applicationServerKey || !userVisibleOnly) throw new Error('not as browsers want it');
      on = { toJSON: () => address, unsubscribe: async () => { on = null; return true; } };
      return on;
    };
  });
  const asked = (method) => mira.line.requests.filter((line) => line.startsWith(`${method} `) && / \S+\/push HTTP/.test(line)).length;
  await mira.go('#/reminders', 'reminders');
  await mira.press('Take messages here');
  await mira.sees('This phone takes messages.');
  assert.equal(asked('POST'), 1);
  await mira.offline();
  await mira.press('Stop messages here');
  await mira.sees('This phone takes no messages.');
  assert.equal(asked('DELETE'), 0);
  await mira.reload(); // the app was closed meanwhile
  await mira.online();
  await mira.shared();
  await until('the server was told', () => asked('DELETE'), (times) => times === 1);
});

step.end();
