// What two people change at once, who may do what, and the ways back into a household.
import assert from 'node:assert/strict';
import { after, before } from 'node:test';
import { sound } from '../world/access.mjs';
import { addPlants, found, invite, join, openPlant } from '../world/household.mjs';
import { Server } from '../world/program.mjs';
import { scenes } from '../world/scenes.mjs';

let server, mira, jonas;
const step = scenes(() => [mira, jonas].filter(Boolean), { chained: true });
before(async () => {
  server = await Server.start();
  mira = await found(server);
  await addPlants(mira, 'Kitchen sill', ['Fern', 'Basil']);
  jonas = await join(server, await invite(mira));
});
after(() => server && server.stop());

/** rename gives the plant that a phone shows another name. */
async function rename(phone, name) {
  await phone.unfold('More');
  await phone.follow('Change name and facts');
  await phone.at('plantform');
  await phone.fill('Name', name);
  await phone.press('Save the plant');
  await phone.at('plant');
}

/** met waits until both phones know all. */
async function met() {
  for (const phone of [mira, jonas, mira]) await phone.shared();
}

/** member opens somebody's screen. */
async function member(phone, name) {
  await phone.go('#/household', 'household');
  await phone.screen().locator('a.row', { hasText: name }).first().click();
  await phone.at('member');
}

step('two people name a plant at once, and one tap takes the other name', async () => {
  for (const phone of [mira, jonas]) {
    await openPlant(phone, 'Fern');
    await phone.offline();
  }
  await rename(mira, 'Fern by the door');
  await rename(jonas, 'Fern in the bath');
  for (const phone of [mira, jonas]) await phone.online();
  await met();
  await openPlant(mira, 'Fern in the bath');
  await mira.sees('Two people changed this: Name');
  await mira.screen().locator('.conflict li', { hasText: 'Fern by the door' }).getByText(/^Mira, today/).waitFor();
  await sound(mira, 'conflict');
  await mira.press('Take this');
  await mira.hears('Settled');
  await mira.screen().locator('h1', { hasText: 'Fern by the door' }).waitFor();
  await met();
  await openPlant(jonas, 'Fern by the door');
  assert.equal(await jonas.screen().locator('.conflict').count(), 0);
});

step('a plant removed by one and changed by the other is brought back with one tap', async () => {
  for (const phone of [mira, jonas]) {
    await openPlant(phone, 'Basil');
    await phone.offline();
  }
  await mira.unfold('More');
  await mira.press('The plant is gone');
  await mira.at('plants');
  await rename(jonas, 'Basil from the market');
  for (const phone of [mira, jonas]) await phone.online();
  await met();
  await mira.go('#/plants', 'plants');
  await mira.sees('Mira removed Basil from the market, and Jonas changed it at the same time: name. The change is kept.');
  await sound(mira, 'removal');
  await mira.press('Bring it back');
  await mira.hears('is back');
  await openPlant(mira, 'Basil from the market');
  await met();
});

step('a file carries entries without a network', async () => {
  for (const phone of [mira, jonas]) await phone.offline();
  await openPlant(mira, 'Basil from the market');
  await mira.press('Nothing found');
  await mira.go('#/household/file', 'handover');
  await sound(mira, 'file');
  const [download] = await Promise.all([mira.page.waitForEvent('download'), mira.press('Save the file')]);
  await jonas.go('#/household/file', 'handover');
  await jonas.screen().locator('input[type=file]').setInputFiles(await download.path());
  await jonas.press('Take it in');
  await jonas.sees(/new entr(y|ies) taken in/);
  await openPlant(jonas, 'Basil from the market');
  await jonas.sees('Looked, nothing found');
  assert.equal(await jonas.digest(), await mira.digest());
  for (const phone of [mira, jonas]) await phone.online();
  await met();
});

step('only keepers change roles, and the last one stays', async () => {
  await member(jonas, 'Mira');
  assert.equal(await jonas.button('Change the role').count(), 0);
  await member(mira, 'Mira');
  await mira.sees('The last keeper cannot leave');
  await sound(mira, 'last-keeper');
  await member(mira, 'Jonas');
  await sound(mira, 'member');
  await mira.choose('Guest');
  await mira.press('Change the role');
  await mira.hears('Role changed');
  await met();
  await jonas.go('#/plants', 'plants');
  assert.equal(await jonas.link(/Add a plant/).count(), 0, 'a guest is offered nothing that is refused');
});

step('a phone that was signed off keeps what it wrote and comes back', async () => {
  await jonas.offline();
  await openPlant(jonas, 'Fern by the door');
  await jonas.press('Nothing found');
  await jonas.hears('nothing found');
  await member(mira, 'Jonas');
  await mira.unfold('Sign this phone off');
  await sound(mira, 'sign-off');
  await mira.press('Sign it off');
  await mira.hears('Signed off');
  await mira.shared();
  await jonas.online();
  await jonas.go('#/household/data', 'data');
  await jonas.press('Send and fetch now');
  await jonas.page.locator('#status', { hasText: 'kept out' }).waitFor();
  await jonas.go('#/household', 'household');
  await jonas.sees('This phone is kept out');
  await sound(jonas, 'signed-off');
  await jonas.follow('Come back by an invitation');
  await jonas.at('rejoin');
  await sound(jonas, 'rejoin');
  await jonas.fill('Invitation or set-up link', await invite(mira));
  await jonas.press('Join again');
  await jonas.at('household');
  await jonas.sees('This phone is back in the household');
  await jonas.sees('1 entry was carried over. Nothing was lost.');
  await sound(jonas, 'back');
  await jonas.press('I have read this');
  await met();
  await openPlant(mira, 'Fern by the door');
  await mira.sees('Looked, nothing found');
});

step('a member leaves', async () => {
  await member(jonas, 'Jonas');
  await jonas.unfold('Leave the household');
  await sound(jonas, 'leave');
  await jonas.press('Leave now');
  await jonas.hears('You have left');
  await jonas.sees('This phone is kept out');
});

step.end();
