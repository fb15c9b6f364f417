// When a phone sends photos is its owner's choice; entries are always sent.
import assert from 'node:assert/strict';
import { after } from 'node:test';
import { findings, long } from '../world/access.mjs';
import { addPlants, finding, found, openPlant, photographs } from '../world/household.mjs';
import { look } from '../world/picture.mjs';
import { Server } from '../world/program.mjs';
import { scenes } from '../world/scenes.mjs';
import { until } from '../world/until.mjs';

let server, mira;
const step = scenes(() => [mira].filter(Boolean), { chained: true });
after(() => server && server.stop());

/** comes brings the phone to another network, as its browser would tell the core. */
async function comes(to) {
  await mira.page.workers()[0].evaluate((kind) => {
    Object.defineProperty(navigator.connection, 'type', { configurable: true, value: kind });
    navigator.connection.dispatchEvent(new Event('change'));
  }, to);
}

const says = (words) => until(`the phone says ${words}`, () => mira.status(), (said) => words.test(said));

async function takePhoto(plant, file) {
  await openPlant(mira, plant);
  await mira.press('Found something');
  await finding(mira, { signs: ['Yellowing'], photo: `${photographs}/${file}` });
}

step('a browser that does not say which network it is on is told so, and nothing is sent against the choice', async () => {
  server = await Server.start();
  mira = await found(server);
  await addPlants(mira, 'Kitchen sill', ['Fern', 'Basil']);
  await mira.shared();
  await mira.screen().getByLabel('Send photos').selectOption('Not on mobile data');
  await mira.sees(/This browser does not say/);
  await takePhoto('Fern', 'leaf-underside-1.jpg');
  await says(/^1 photo waits on this phone$/);
});

step('on mobile data photos wait and entries do not', async () => {
  await comes('cellular');
  await mira.reload(); // the choice is kept; what the browser says is asked anew
  await comes('cellular');
  await takePhoto('Basil', 'leaf-underside-2.jpg');
  await says(/^2 photos wait on this phone$/);
  await mira.go('#/household/data', 'data');
  await mira.sees(/on mobile data, or its browser/);
  assert.equal(await mira.screen().locator('dt', { hasText: 'Waiting' }).count(), 0, 'no entry waits');
  for (const colorScheme of ['light', 'dark']) {
    await mira.page.emulateMedia({ colorScheme, reducedMotion: 'reduce' });
    await long(mira, async () => {
      assert.deepEqual(await findings(mira), [], colorScheme);
      await look(mira, `sending-${colorScheme}`);
    });
  }
});

step('Wi-Fi sends them by itself', async () => {
  await comes('wifi');
  await says(/^Shared \d/);
  await mira.button(/^Send \d photos? now$/).waitFor({ state: 'detached' });
});

step('“only when I ask” waits on every network, until the button', async () => {
  await mira.screen().getByLabel('Send photos').selectOption('Only when I ask');
  await takePhoto('Fern', 'leaf-spotted-1.jpg');
  await says(/^1 photo waits on this phone$/);
  await mira.go('#/household/data', 'data');
  await mira.press('Send 1 photo now');
  await says(/^Shared \d/);
  assert.equal(await mira.screen().getByLabel('Send photos').inputValue(), 'asked', 'that was once');
});

step.end();
