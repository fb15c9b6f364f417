// A phone that was copied, and a server whose data were put back to an older state or lost.
import assert from 'node:assert/strict';
import { createHash } from 'node:crypto';
import { cpSync, readFileSync, readdirSync, rmSync } from 'node:fs';
import { after, before } from 'node:test';
import { sound } from '../world/access.mjs';
import { addPlants, finding, found, invite, join, openPlant, underside } from '../world/household.mjs';
import { Server, folder } from '../world/program.mjs';
import { scenes } from '../world/scenes.mjs';
import { until } from '../world/until.mjs';

let server, mira, jonas, twin, basil;
const step = scenes(() => [mira, twin, jonas].filter(Boolean), { chained: true });
before(async () => {
  server = await Server.start();
  mira = await found(server);
  await addPlants(mira, 'Kitchen sill', ['Fern', 'Basil']);
  jonas = await join(server, await invite(mira));
  await jonas.shared();
});
after(() => server && server.stop());

const photos = (n) => underside.replace('-with-position', `-${n}`);

/** spots notes a finding with a photo on a plant, and gives the photo's sum. */
async function spots(phone, plant, photo) {
  await openPlant(phone, plant);
  await phone.press('Found something');
  await finding(phone, { signs: ['Yellowing'], photo });
  return phone.screen().locator('img[data-photo]').first().getAttribute('data-photo');
}

/** shows waits until the server has a photo, and a phone that did not have it shows it. */
async function shows(phone, plant, sum) {
  await until('the photo is on the server', () => readdirSync(`${server.data}/photos`, { recursive: true, withFileTypes: true }).some((file) =>
    file.isFile() && createHash('sha256').update(readFileSync(`${file.parentPath || file.path}/${file.name}`)).digest('hex') === sum));
  await openPlant(phone, plant);
  await phone.photographed(phone.screen().locator(`.entry img[data-photo="${sum}"]`));
}

/** clean notes that somebody looked at a plant. */
async function clean(phone, plant) {
  await openPlant(phone, plant);
  await phone.press('Nothing found');
  await phone.hears('nothing found');
}

/** agreed waits until all phones have the same state. */
function agreed(...phones) {
  return until('all have the same state', async () => {
    for (const phone of phones) await phone.shared();
    return Promise.all(phones.map((phone) => phone.digest()));
  }, (all) => new Set(all).size === 1);
}

/** told waits for a notice on the household's screen, and taps it away. */
async function told(phone, title, name) {
  await phone.go('#/household', 'household');
  await phone.sees(title);
  if (name) await sound(phone, name);
  await phone.press('I have read this');
  await phone.screen().getByText(title).first().waitFor({ state: 'detached' });
}

step('a phone and its copy both write, and go on as two', async () => {
  twin = await jonas.copy('Twin');
  for (const phone of [jonas, twin]) {
    await phone.open('#/plants');
    await phone.at('plants');
  }
  for (const phone of [jonas, twin]) await phone.offline();
  await clean(jonas, 'Fern');
  await clean(twin, 'Fern');
  basil = await spots(twin, 'Basil', photos(1));
  await jonas.online();
  await jonas.shared();
  await twin.online();
  await twin.shared();
  await told(twin, 'Two phones were writing as one', 'copied');
  await agreed(mira, jonas, twin);
  await openPlant(mira, 'Fern');
  assert.equal(await mira.screen().locator('.entry', { hasText: 'Looked, nothing found' }).count(), 2);
  await shows(mira, 'Basil', basil);
  await mira.go('#/household', 'household');
  await mira.sees('Jonas’s phone (2), last heard today');
});

step('a server is put back, and every phone hears of it and gives back what it lost', async () => {
  await server.stop();
  const backup = folder('backup');
  cpSync(server.data, backup, { recursive: true });
  await server.run();
  const fern = await spots(mira, 'Fern', photos(2));
  await clean(jonas, 'Basil');
  const before = await agreed(mira, jonas, twin);
  await server.stop();
  rmSync(server.data, { recursive: true });
  cpSync(backup, server.data, { recursive: true });
  await clean(twin, 'Basil');
  await server.run();
  const now = await agreed(jonas, mira, twin);
  assert.notEqual(now[0], before[0], 'what was written meanwhile is there, too');
  await told(mira, 'The server was set back', 'set-back');
  for (const phone of [jonas, twin]) await told(phone, 'The server was set back');
  await shows(twin, 'Fern', fern);
});

step('a server that lost all is told who it serves by its set-up link', async () => {
  const before = await agreed(mira, jonas, twin);
  await server.stop();
  rmSync(server.data, { recursive: true });
  await server.run();
  for (const phone of [mira, jonas]) {
    await phone.go('#/household/data', 'data');
    await phone.press('Send and fetch now');
    await phone.page.locator('#status', { hasText: 'kept out' }).waitFor();
    await phone.go('#/household', 'household');
    await phone.sees('If the server has lost its data');
  }
  await sound(jonas, 'unknown');
  await jonas.open(`#setup=${server.setup}`);
  await jonas.at('return');
  await sound(jonas, 'return');
  await jonas.press('Bring it back');
  await jonas.hears('The server has the household again');
  assert.deepEqual(await agreed(jonas, mira, twin), before);
  await shows(jonas, 'Basil', basil);
  await mira.open(`#setup=${server.setup}`);
  await mira.at('today');
});

step.end();
