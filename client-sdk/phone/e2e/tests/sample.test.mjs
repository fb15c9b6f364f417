// The sample household: to look round in, apart from the real one.
import assert from 'node:assert/strict';
import { after, before } from 'node:test';
import { addPlants, found, invite } from '../world/household.mjs';
import { Phone } from '../world/phone.mjs';
import { scenes } from '../world/scenes.mjs';
import { Server } from '../world/program.mjs';

let server, guest, mira;
const test = scenes(() => [guest, mira].filter(Boolean));
before(async () => {
  server = await Server.start();
  guest = await Phone.start('Guest', server.port);
});
after(async () => {
  if (server) await server.stop();
});

test('without a link, one can only join or look round', async () => {
  await guest.open('#/');
  await guest.at('welcome');
  await guest.sees('Starting a household needs a set-up link');
  assert.equal(await guest.status(), 'Nothing on this phone yet');
});

test('it has plants in places, an outbreak with photos and treatments, and work', async () => {
  await guest.press('Look round a sample household');
  await guest.at('today');
  await guest.sees('nothing here is real');
  assert.equal(await guest.status(), 'Sample – nothing is shared');
  await guest.go('#/plants', 'plants');
  assert.ok(await guest.screen().locator('#plant-list a.row').count() >= 12);
  assert.ok(await guest.screen().locator('#plant-list h2').count() >= 4);
  await guest.go('#/outbreaks', 'outbreaks');
  await guest.screen().locator('a.row').first().click();
  await guest.at('outbreak');
  await guest.screen().locator('.working').waitFor({ state: 'detached', timeout: 120_000 });
  await guest.unfold('Treatments');
  await guest.sees(/^Treated with/);
  await guest.unfold('Findings');
  await guest.screen().locator('.entry .thumb').first().scrollIntoViewIfNeeded(); // a photo has no size before it is loaded
  assert.ok(await guest.photographed(guest.screen().locator('.entry img[data-photo]').first()) > 100);
});

test('it is left in one step', async () => {
  await guest.go('#/today', 'today');
  await guest.press('Leave the sample');
  await guest.at('welcome');
  await guest.hears('The sample is gone');
  await guest.reload();
  await guest.at('welcome');
});

test('who looks round can be invited meanwhile; then the sample goes and the household stays', async () => {
  mira = await found(server);
  await addPlants(mira, 'Kitchen sill', ['Fern']);
  await guest.press('Look round a sample household');
  await guest.at('today');
  await guest.open(await invite(mira));
  await guest.at('join');
  await guest.fill('Your name', 'Jonas');
  await guest.fill('Name of this phone', 'Jonas’s phone');
  await guest.press('Join');
  await guest.at('today');
  await guest.reload();
  await guest.go('#/plants', 'plants');
  await guest.sees('Fern');
  assert.equal(await guest.screen().locator('#plant-list a.row').count(), 1);
  await guest.shared();
  await mira.shared();
  assert.equal(await guest.digest(), await mira.digest(), 'nothing of the sample has come with it');
});

test.end();
