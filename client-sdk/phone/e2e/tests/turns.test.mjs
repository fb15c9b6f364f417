// Whose turn it is on two phones, what is one's own, and the end of a time apart.
import assert from 'node:assert/strict';
import { after } from 'node:test';
import { sound } from '../world/access.mjs';
import { addPlants, day, found, invite, join, openPlant } from '../world/household.mjs';
import { Server } from '../world/program.mjs';
import { scenes } from '../world/scenes.mjs';
import { Witness } from '../world/witness.mjs';

let server, mira, jonas, witness, first, second;
const step = scenes(() => [mira, jonas].filter(Boolean), { chained: true });
after(async () => {
  if (witness) await witness.leave();
  if (server) await server.stop();
});

const round = (phone) => phone.screen().locator('article', { hasText: 'Round: Kitchen sill' });

/** met waits until both phones know all, and shows Today on them. */
async function met() {
  for (const phone of [mira, jonas, mira]) await phone.shared();
  for (const phone of [mira, jonas]) await phone.go('#/today', 'today');
}

step('a household of two phones takes turns', async () => {
  server = await Server.start();
  mira = await found(server);
  await addPlants(mira, 'Kitchen sill', ['Fern']);
  jonas = await join(server, await invite(mira));
  witness = new Witness(server, await invite(mira, 'Guest'));
  await mira.go('#/reminders', 'reminders');
  await mira.screen().getByLabel('Whose turn').selectOption('In turns');
  await mira.screen().locator('form[data-do="save-turn"]').getByRole('button').click();
  await mira.at('household');
  await met();
  const mine = (await round(mira).getByText('Your turn', { exact: true }).count()) > 0;
  [first, second] = mine ? [mira, jonas] : [jonas, mira];
  await round(first).getByText('Your turn', { exact: true }).waitFor();
  await round(second).getByText(`${first.name}’s turn`).waitFor();
});

step('the next round is the other’s', async () => {
  await witness.look('walks 1');
  await met();
  await round(second).getByText('Your turn', { exact: true }).waitFor();
  await round(first).getByText(`${second.name}’s turn`).waitFor();
});

step('each phone shows one’s own tasks or everybody’s, and remembers which', async () => {
  await first.press('Mine');
  await first.sees('Nothing of this is yours today.');
  await sound(first, 'today-mine');
  await first.reload();
  await first.sees('Nothing of this is yours today.');
  assert.equal(await first.button('Mine').getAttribute('aria-pressed'), 'true');
  await second.press('Mine');
  await round(second).waitFor();
  for (const phone of [first, second]) await phone.press('Everybody’s');
  await round(first).waitFor();
});

step('who is away is passed over', async () => {
  await second.go('#/reminders', 'reminders');
  await second.fill('First day', day(-1));
  await second.fill('Last day', day(2));
  await second.press('Save');
  await second.at('household');
  await met();
  await round(first).getByText('Your turn', { exact: true }).waitFor();
  await second.go('#/reminders', 'reminders');
  await second.fill('First day', '');
  await second.fill('Last day', '');
  await second.press('Save');
  await second.at('household');
});

step('the look that ends a time apart is done on one phone, and the other sees by whom', async () => {
  await witness.look('arrivals 1');
  await met();
  const end = (phone) => phone.screen().locator('article', { hasText: 'Look before Fern joins the others' });
  await end(mira).waitFor();
  await end(jonas).getByRole('link', { name: 'Begin' }).click();
  await jonas.at('step');
  await jonas.press('Nothing found');
  await jonas.at('rounddone');
  await met();
  await mira.screen().locator('.row.done', { hasText: 'Look before Fern joins the others' }).getByText(/^Jonas, /).waitFor();
  assert.equal(await end(mira).count(), 0);
});

step('a plant that is set apart says until when', async () => {
  await openPlant(mira, 'Fern');
  await mira.unfold('Apart from others');
  await mira.press('I have set it apart');
  await mira.hears('Fern stands apart');
  await mira.sees(/^Apart since today\. A look is due on \w+ \d+ \w+; it ends when you set it back after that\.$/);
  await sound(mira, 'plant-apart');
  await mira.unfold('Rinsed, wiped, pruned, repotted');
  await mira.press('Pruned');
  await mira.hears('Pruned');
  await mira.press('Watered');
  await mira.hears('Noted: watered');
  await mira.screen().locator('.entry', { hasText: 'Watered' }).waitFor();
});

step.end();
