// Counting what sticks to a card: the phone counts, taps set the rings right, a person
// confirms. The cards are drawn, so that it is known what is on them.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { after } from 'node:test';
import { findings, long } from '../world/access.mjs';
import { addPlants, found, photographs } from '../world/household.mjs';
import { look } from '../world/picture.mjs';
import { Server, tree } from '../world/program.mjs';
import { scenes } from '../world/scenes.mjs';
import { until } from '../world/until.mjs';

let server, mira;
const step = scenes(() => [mira].filter(Boolean), { chained: true });
after(() => server && server.stop());

const card = (name) => ({ photo: `${tree}testdata/card/${name}.jpg`, truth: JSON.parse(readFileSync(`${tree}testdata/card/${name}.json`, 'utf8')) });
const count = async () => Number(await mira.screen().getByLabel('How many', { exact: true }).inputValue());
/** rings is how many are drawn: each is a path of its own within one. */
const rings = async () => ((await mira.screen().locator('#marks .ring:not(.rim)').getAttribute('d')) || '').split('Z').length - 1;

async function take({ photo }) {
  await mira.screen().locator('.camera > input[type=file]').setInputFiles(photo);
  await mira.sees(/^Counted: \d/);
  await mira.photographed();
}

/** tap taps the photo at a share of its width and height. */
async function tap(x, y) {
  const photo = mira.screen().locator('[data-tap]');
  const before = await mira.screen().locator('#marks').innerHTML();
  const { width, height } = await until('the photo', () => photo.boundingBox());
  await photo.click({ position: { x: x * width, y: y * height } });
  await mira.page.waitForFunction((old) => document.querySelector('#marks').innerHTML !== old, before);
}

async function clean(name) {
  for (const words of await mira.page.locator('#toast p').all()) await words.click();
  for (const colorScheme of ['light', 'dark']) {
    await mira.page.emulateMedia({ colorScheme, reducedMotion: 'reduce' });
    await long(mira, async () => {
      assert.deepEqual(await findings(mira), [], `${name}, ${colorScheme}`);
      await look(mira, `${name}-${colorScheme}`);
    });
  }
}

step('offline, a card is photographed and what sticks to it is counted and ringed', async () => {
  server = await Server.start();
  mira = await found(server);
  await addPlants(mira, 'Kitchen sill', ['Fern']);
  await mira.go('#/household', 'household');
  const place = await mira.screen().locator('a[href^="#/place/"]:not([href$="/new"])').getAttribute('href');
  await mira.offline();
  await mira.go(place.replace('place', 'card'), 'card');
  await clean('card empty');
  const yellow = card('yellow');
  await take(yellow);
  assert.ok(Math.abs((await count()) - yellow.truth.Count) <= 0.1 * yellow.truth.Count, `${await count()} of ${yellow.truth.Count}`);
  assert.ok((await rings()) > 0.8 * yellow.truth.Count);
  await clean('card counted');
});

step('taps add rings and take them away, and the number follows', async () => {
  const [were, ringed] = [await count(), await rings()];
  await tap(0.5, 0.97);
  await tap(0.56, 0.97);
  assert.deepEqual([await count(), await rings()], [were + 2, ringed + 2]);
  await mira.press('Taps take rings away');
  await tap(0.57, 0.97);
  assert.deepEqual([await count(), await rings()], [were + 1, ringed + 1]);
  await mira.button('One fewer: How many').click();
  assert.equal(await count(), were, 'the number can be set by hand too');
  await mira.press('Taps add rings');
  await tap(0.5, 0.03);
  assert.equal(await count(), were + 2, 'until the rings change again');
  await clean('card corrected');
});

step('the person confirms the number, and says which pest', async () => {
  await mira.screen().getByLabel('Which pest (may stay open)').selectOption('Thrips');
  const confirmed = await count();
  await mira.press('Save');
  await mira.at('today');
  await mira.hears('Noted');
  await mira.page.goBack();
  await mira.at('card');
  await mira.sees(new RegExp(`: ${confirmed}, Thrips$`));
});

step('a blue card is counted too, and a leaf is not taken for one', async () => {
  const blue = card('blue');
  await take(blue);
  assert.ok(Math.abs((await count()) - blue.truth.Count) <= 1.5, `${await count()} of ${blue.truth.Count}`);
  await mira.screen().locator('.camera > input[type=file]').setInputFiles(`${photographs}/leaf-spotted-1.jpg`);
  await mira.sees(/^No yellow or blue card/);
  assert.equal(await rings(), 0);
  await mira.photographed();
  await tap(0.5, 0.5);
  assert.equal(await count(), 1, 'then taps count');
  await clean('card by hand');
});

step('with the network back, the reading and its photo are shared', async () => {
  await mira.online();
  await mira.go('#/household/data', 'data');
  await mira.press('Send and fetch now');
  await until('all is shared', () => mira.status(), (words) => /^Shared \d/.test(words));
});

step.end();
