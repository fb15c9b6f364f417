// A fault that nobody expected in one message: the app says so and goes on.
import assert from 'node:assert/strict';
import { after } from 'node:test';
import { addPlants, found } from '../world/household.mjs';
import { Server } from '../world/program.mjs';
import { scenes } from '../world/scenes.mjs';
import { until } from '../world/until.mjs';

let server, mira;
const step = scenes(() => [mira].filter(Boolean), { chained: true });
after(async () => { if (server) await server.stop(); });

/** told waits for the fault on the console, where whoever looks for its cause finds it. */
async function told(words) {
  await mira.hears('Something went wrong in that step. What was saved before is safe.');
  await until('the console has the fault', () => mira.errors.length, (n) => n === 1);
  assert.match(mira.errors.pop(), words);
}

step('a message that cannot be read is told, and the next one is answered', async () => {
  server = await Server.start();
  mira = await found(server);
  await addPlants(mira, 'Kitchen sill', ['Fern']);
  await mira.go('#/today', 'today');
  await mira.page.evaluate(() => worker.postMessage(null));
  await told(/call of Value.Get on null[^]*goroutine/);
  await mira.press('Watered');
  await mira.hears('Noted: watered');
  await mira.shared();
});

step('the button that asked wakes up again', async () => {
  await mira.go('#/today', 'today');
  const button = mira.button('Watered').first();
  await button.evaluate((on) => {
    on.setAttribute('aria-busy', 'true');
    busy.set(1_000_000, on);
    worker.postMessage({ type: 'do', do: 'water', id: 1_000_000, data: {}, files: [null] });
  });
  await told(/call of Value.Get on null/);
  assert.equal(await button.getAttribute('aria-busy'), null);
  await button.click();
  await mira.hears('Noted: watered');
});

step.end();
