// The figures of the phone app in a browser: prints one line "name value unit" for
// each. "Slow" stands for a phone four times slower than this machine: the page is
// slowed by the browser, and because that does not reach workers, the time that the
// worker was busy is counted four times. What the browser does on threads of its own,
// such as compiling WebAssembly or writing to the disk, counts once.
import { get } from 'node:http';
import { findings, long } from './world/access.mjs';
import { addPlants, found, invite } from './world/household.mjs';
import { Phone } from './world/phone.mjs';
import { Server } from './world/program.mjs';
import { founders, residents, strangers } from './world/tour.mjs';
import { traced } from './world/trace.mjs';
import { Witness } from './world/witness.mjs';

const SLOWER = 4, OPENINGS = 7, TAPS = 60;
const PLANTS = 200, FACTS = 10_000, TEN_YEARS = 110_000;

const say = (name, value, unit) => console.log(`${name} ${value} ${unit}`);
const note = (words) => console.error(words);
const sorted = (list) => [...list].sort((a, b) => a - b);
const median = (list) => sorted(list)[Math.floor(list.length / 2)];
const p95 = (list) => sorted(list)[Math.ceil(list.length * 0.95) - 1];

/** sent is how many bytes of the app's core go over the line to a browser that takes brotli. */
function sent(url) {
  return new Promise((done, failed) => {
    get(url, { headers: { 'accept-encoding': 'br' } }, (answer) => {
      if (answer.headers['content-encoding'] !== 'br') failed(new Error('the core came without brotli'));
      let bytes = 0;
      answer.on('data', (piece) => { bytes += piece.length; });
      answer.on('end', () => done(bytes));
    }).on('error', failed);
  });
}

/** full makes a phone in a household with many plants and facts, offline, that shows the list. */
async function full(server, facts) {
  const phone = await found(server);
  await addPlants(phone, 'Kitchen sill', ['Fern']);
  const witness = new Witness(server, await invite(phone));
  await witness.look(`plants ${PLANTS - 1}`);
  await witness.look(`looks ${facts}`);
  await witness.leave();
  await phone.shared();
  await phone.reload();
  await phone.controlled();
  await phone.context.addInitScript(marks);
  await phone.offline();
  await phone.go('#/plants', 'plants');
  return phone;
}

/**
 * marks puts a mark into the browser's trace when the list of plants has been painted,
 * and when a tap begins and its answer has been painted.
 */
function marks() {
  const painted = (name) => requestAnimationFrame(() => setTimeout(() => performance.mark(name)));
  let listed = false, tapped = '';
  document.addEventListener('click', (event) => {
    const button = event.target.closest('[data-do="nothing-found"]');
    if (!button) return;
    tapped = button.dataset.plant;
    performance.mark('tap-begins', { startTime: event.timeStamp });
  }, { capture: true });
  new MutationObserver(() => {
    if (!listed && document.querySelector('#plant-list a.row')) {
      listed = true;
      painted('list-painted');
    }
    const next = document.querySelector('main [data-do="nothing-found"]');
    if (tapped && next && next.dataset.plant !== tapped) {
      tapped = '';
      painted('tap-painted');
    }
  }).observe(document, { childList: true, subtree: true });
}

/** openings measures from the start of a visit to the painted list of plants. */
async function openings(phone) {
  const plain = [], slow = [], worker = [];
  for (let n = 0; n < OPENINGS; n++) {
    for (const rate of [1, SLOWER]) {
      const trace = await traced(phone, rate, async () => {
        await phone.page.reload();
        await phone.page.waitForFunction(() => performance.getEntriesByName('list-painted').length);
      });
      const span = trace.between('navigationStart', 'list-painted');
      if (rate === 1) plain.push(span.elapsed);
      else slow.push(span.elapsed + (SLOWER - 1) * span.worker);
      worker.push(span.worker);
    }
  }
  note(`first list, ms: ${plain.map(Math.round)}; slow: ${slow.map(Math.round)}; of each, the worker: ${worker.map(Math.round)}`);
  return { plain: median(plain), slow: median(slow) };
}

/** taps measures from a tap on a clean plant until the next plant is painted. */
async function taps(phone, rate) {
  await phone.go('#/round', 'rounds');
  await phone.screen().getByRole('button', { name: /Start|Go on/ }).first().click();
  await phone.at('step');
  const all = [], worker = [];
  for (let n = 0; n < TAPS; n++) {
    const trace = await traced(phone, rate, async () => {
      const before = await phone.page.evaluate(() => performance.getEntriesByName('tap-painted').length);
      await phone.button('Nothing found').click();
      await phone.page.waitForFunction((was) => performance.getEntriesByName('tap-painted').length > was, before);
    });
    const span = trace.between('tap-begins', 'tap-painted');
    worker.push(span.worker);
    all.push(rate === 1 ? span.elapsed : span.elapsed + (SLOWER - 1) * span.worker);
  }
  note(`taps at ${rate}: median ${median(all).toFixed(1)}, worst ${Math.max(...all).toFixed(1)} ms; of each, the worker: median ${median(worker).toFixed(1)}, p95 ${p95(worker).toFixed(1)} ms`);
  return p95(all);
}

/** accessFindings counts what is wrong on all screens, by day and by night. */
async function accessFindings(server, phone) {
  const guest = await Phone.start('Guest', server.port);
  let count = 0;
  const visit = async (on, screens) => {
    await on.page.emulateMedia({ reducedMotion: 'reduce' });
    for (const [name, go] of screens) {
      await go(on);
      await long(on, async () => {
        for (const colorScheme of ['light', 'dark']) {
          await on.page.emulateMedia({ colorScheme });
          const wrong = await findings(on);
          for (const words of wrong) note(`${name}, ${colorScheme}: ${words}`);
          count += wrong.length;
        }
      });
    }
  };
  await visit(guest, strangers);
  await guest.open('#/');
  await guest.reload();
  await guest.press('Look round a sample household');
  await guest.at('today');
  await visit(guest, residents);
  await visit(phone, founders);
  await guest.away();
  return count;
}

const server = await Server.start();
const large = await Server.start();
const small = await Server.start();
try {
  say('wasm-br-bytes', await sent(`${server.url}/app.wasm`), 'bytes');

  const phone = await full(server, FACTS);
  const list = await openings(phone);
  say('first-list-ms', list.plain.toFixed(0), 'ms');
  say('first-list-ms-slow', list.slow.toFixed(0), 'ms');
  say('tap-p95-ms', (await taps(phone, 1)).toFixed(1), 'ms');
  say('tap-p95-ms-slow', (await taps(phone, SLOWER)).toFixed(1), 'ms');
  await phone.away();

  const old = await full(large, TEN_YEARS);
  const years = await openings(old);
  say('first-list-ten-years-ms', years.plain.toFixed(0), 'ms');
  say('first-list-ten-years-ms-slow', years.slow.toFixed(0), 'ms');
  await old.away();

  const fresh = await found(small);
  say('axe-findings', await accessFindings(small, fresh), 'findings');
  await fresh.away();
} finally {
  await server.stop();
  await large.stop();
  await small.stop();
}
process.exit(0);
