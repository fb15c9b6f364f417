// A plant's past: as much as one scrolls to.
import assert from 'node:assert/strict';
import { after, before } from 'node:test';
import { Phone } from '../world/phone.mjs';
import { scenes } from '../world/scenes.mjs';
import { Server } from '../world/program.mjs';

const WEEK = 7 * 86_400_000;
const WEEKS = 50;

let server, guest;
const test = scenes(() => [guest].filter(Boolean), { chained: true });
before(async () => {
  server = await Server.start();
  guest = await Phone.start('Guest', server.port);
  await guest.off();
  await guest.on({ serviceWorkers: 'block' }); // else the worker's program is not ours to change
  await guest.context.route('**/worker.js', async (route) => {
    const answer = await route.fetch();
    await route.fulfill({ response: answer, body: `(${movedClock})();\n${await answer.text()}` });
  });
});
after(async () => {
  if (server) await server.stop();
});

/** movedClock gives the worker a clock that goes ahead when the page says so. */
function movedClock() {
  let ahead = 0;
  const Real = Date;
  self.Date = class extends Real {
    constructor(...at) { super(...(at.length ? at : [Real.now() + ahead])); }
    static now() { return Real.now() + ahead; }
  };
  addEventListener('message', (event) => {
    if (!event.data.ahead) return;
    ahead += event.data.ahead;
    event.stopImmediatePropagation();
  });
}

const days = () => guest.screen().locator('section.day');
const older = () => guest.button('Show what was before');

test('a year of looks begins with the newest', async () => {
  await guest.open('#/');
  await guest.press('Look round a sample household');
  await guest.at('today');
  await guest.go('#/plants', 'plants');
  await guest.screen().locator('#plant-list a.row').first().click();
  await guest.at('plant');
  for (let week = 0; week < WEEKS; week++) {
    const newest = await days().first().locator('h3').textContent();
    await guest.page.evaluate((ahead) => worker.postMessage({ ahead }), WEEK);
    await guest.press('Nothing found');
    await days().first().locator('h3').filter({ hasNotText: newest }).waitFor();
  }
  assert.equal(await days().count(), 30);
  await older().waitFor({ state: 'attached' });
});

test('what was before comes when one scrolls to it, and the page stays where it is', async () => {
  await older().scrollIntoViewIfNeeded();
  const place = await guest.page.evaluate(() => scrollY);
  await days().nth(WEEKS - 1).waitFor({ state: 'attached' });
  assert.ok(await guest.page.evaluate(() => scrollY) >= place);
  const heads = await days().locator('h3').allTextContents();
  assert.equal(new Set(heads).size, heads.length, 'no day twice');
  assert.match(heads.at(-1), / \d{4}$/, 'the oldest with their year');
  assert.equal(await older().count(), 0);
});

test.end();
