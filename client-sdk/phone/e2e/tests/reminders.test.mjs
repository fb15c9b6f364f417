// When two people hear of tasks, and whose turn it is, on two phones.
import assert from 'node:assert/strict';
import ICAL from 'ical.js';
import { after } from 'node:test';
import { findings, long } from '../world/access.mjs';
import { addPlants, day, found, invite, join } from '../world/household.mjs';
import { look } from '../world/picture.mjs';
import { Server } from '../world/program.mjs';
import { scenes } from '../world/scenes.mjs';

let server, mira, jonas;
const step = scenes(() => [mira, jonas].filter(Boolean), { chained: true });
after(async () => { if (server) await server.stop(); });

step('a household of two phones', async () => {
  server = await Server.start();
  mira = await found(server);
  await addPlants(mira, 'Kitchen sill', ['Fern', 'Basil']);
  jonas = await join(server, await invite(mira));
});

step('settings survive a reload', async () => {
  await mira.go('#/reminders', 'reminders');
  await mira.screen().getByLabel('One message a day at').fill('07:30');
  await mira.choose('One more at 20:00');
  await mira.press('Save');
  await mira.at('household');
  await mira.go('#/reminders', 'reminders');
  await mira.reload();
  assert.equal(await mira.screen().getByLabel('One message a day at').inputValue(), '07:30');
  assert.ok(await mira.screen().getByLabel('One more at 20:00').isChecked());
});

step('everybody can read and reach the settings, by day and by night', async () => {
  for (const colorScheme of ['light', 'dark']) {
    await mira.page.emulateMedia({ colorScheme });
    await long(mira, async () => assert.deepEqual(await findings(mira), []));
    await look(mira, `reminders ${colorScheme}`);
  }
  await mira.page.emulateMedia({ colorScheme: null });
});

/** events is what a calendar program that others wrote reads at the link on the page. */
async function events() {
  const answer = await fetch(await mira.page.locator('#calendar-link').textContent());
  assert.equal(answer.status, 200);
  assert.match(answer.headers.get('content-type'), /^text\/calendar/);
  const calendar = new ICAL.Component(ICAL.parse(await answer.text()));
  return calendar.getAllSubcomponents('vevent').map((one) => new ICAL.Event(one));
}

step('a calendar link opens a calendar until it is ended', async () => {
  await mira.press('Make a calendar link');
  const link = await mira.page.locator('#calendar-link').textContent();
  const [round, ...more] = await events();
  assert.equal(more.length, 0);
  assert.equal(round.summary, 'Look round: Kitchen sill');
  assert.ok(round.startDate.isDate);
  assert.equal(round.startDate.toString(), day(0));
  await jonas.go('#/today', 'today');
  await jonas.press('Watered'); // it changes the household, not the task
  await jonas.shared();
  const [later] = await events();
  assert.equal(later.uid, round.uid);
  assert.ok(later.sequence > round.sequence, `${later.sequence} after ${round.sequence}`);
  await mira.press('End the link');
  await mira.hears('No calendar link works any more');
  assert.equal((await fetch(link)).status, 404);
});

step('one tap notes a watering', async () => {
  await mira.go('#/today', 'today');
  await mira.press('Watered');
  await mira.hears('Noted: watered');
});

step('the other phone sees who took a task on', async () => {
  await mira.go('#/today', 'today');
  await mira.button('I’ll take it').first().click();
  await mira.shared();
  await jonas.shared();
  await jonas.go('#/today', 'today');
  await jonas.sees(/Mira takes it/);
});

step.end();
