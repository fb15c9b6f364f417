// The app as something installed on a phone: offline, in two tabs, and killed.
import assert from 'node:assert/strict';
import { after, before } from 'node:test';
import { addPlants, found, openPlant } from '../world/household.mjs';
import { scenes } from '../world/scenes.mjs';
import { Server } from '../world/program.mjs';

let server, phone;
const test = scenes(() => phone && [phone] || []);
before(async () => {
  server = await Server.start();
  phone = await found(server);
  await addPlants(phone, 'Kitchen sill', ['Fern', 'Basil', 'Zebra plant']);
  await phone.shared();
});
after(async () => {
  if (server) await server.stop();
});

test('the browser has nothing against installing it', async () => {
  const tools = await phone.context.newCDPSession(phone.page);
  await phone.reload();
  await phone.controlled();
  const { installabilityErrors } = await tools.send('Page.getInstallabilityErrors');
  // A private window cannot install anything; an automated browser counts as one.
  assert.deepEqual(installabilityErrors.map((e) => e.errorId).filter((id) => id !== 'in-incognito'), []);
  const { url, errors, data } = await tools.send('Page.getAppManifest');
  assert.deepEqual(errors, []);
  assert.equal(new URL(url).pathname, '/manifest.webmanifest');
  const manifest = JSON.parse(data);
  assert.equal(manifest.display, 'standalone');
  for (const { src } of manifest.icons) assert.equal((await fetch(server.url + src)).status, 200, src);
});

test('without a network it opens anew, on every screen', async () => {
  await phone.offline();
  for (const [address, screen, words] of [['#/plants', 'plants', 'Zebra plant'], ['#/today', 'today', 'Round: Kitchen sill'], ['#/household', 'household', 'Mira (you)']]) {
    await phone.go(address, screen);
    await phone.reload();
    await phone.at(screen);
    await phone.sees(words);
  }
  await phone.online();
});

test('a second tab must ask before it writes', async () => {
  await phone.go('#/today', 'today');
  const second = await phone.context.newPage();
  phone.hear(second);
  await second.goto(`${phone.line.origin}/#/today`);
  await second.getByRole('heading', { name: 'Open in another tab' }).waitFor();
  assert.equal(await second.locator('#bar').isVisible(), false);
  await phone.page.bringToFront();
  await openPlant(phone, 'Fern'); // the first one works on
  await phone.press('Nothing found');
  await phone.hears('Fern: nothing found');
  await second.bringToFront();
  await second.getByRole('button', { name: 'Use it here' }).click();
  await second.locator('main .s-today').waitFor();
  await phone.page.getByRole('heading', { name: 'Open in another tab' }).waitFor();
  const first = phone.page;
  phone.page = second;
  await openPlant(phone, 'Fern');
  await phone.sees('Looked, nothing found');
  await openPlant(phone, 'Basil');
  await phone.press('Nothing found');
  await phone.hears('Basil: nothing found');
  await first.bringToFront();
  await first.getByRole('button', { name: 'Use it here' }).click();
  await first.locator('main .screen').waitFor();
  await second.getByRole('heading', { name: 'Open in another tab' }).waitFor();
  await second.close();
  phone.page = first;
  for (const plant of ['Fern', 'Basil']) {
    await openPlant(phone, plant);
    assert.equal(await phone.screen().locator('.entry', { hasText: 'Looked, nothing found' }).count(), 1, plant);
  }
  await phone.shared(); // a log that two tabs had mixed up would be refused
});

test('what it called saved survives the kill of the browser', async () => {
  for (let n = 1; n <= 3; n++) {
    await phone.offline();
    await openPlant(phone, 'Zebra plant');
    await phone.press('Nothing found');
    await phone.page.locator('#toast').getByText('Zebra plant: nothing found').waitFor();
    await phone.kill();
    await phone.on();
    phone.line.mend();
    await phone.open('#/plants');
    await openPlant(phone, 'Zebra plant');
    assert.equal(await phone.screen().locator('.entry', { hasText: 'Looked, nothing found' }).count(), n);
    await phone.shared();
  }
});

test.end();
