// What the app says when something is refused, and that it keeps what it has.
import assert from 'node:assert/strict';
import { readFileSync, writeFileSync } from 'node:fs';
import { join as path } from 'node:path';
import { after, before } from 'node:test';
import { crc32, deflateSync } from 'node:zlib';
import { addPlants, found, invite, join, openPlant } from '../world/household.mjs';
import { Phone } from '../world/phone.mjs';
import { scenes } from '../world/scenes.mjs';
import { Server, folder } from '../world/program.mjs';
import { until } from '../world/until.mjs';

let server, mira, link;
const others = [];
const test = scenes(() => [mira, ...others].filter(Boolean));
before(async () => {
  server = await Server.start();
  mira = await found(server);
  await addPlants(mira, 'Kitchen sill', ['Fern', 'Basil', 'Zebra plant']);
  link = await invite(mira);
  others.push(await join(server, link));
});
after(async () => {
  if (server) await server.stop();
});

/** stranger is a phone of nobody yet, at a link. */
async function stranger(name, to, screen) {
  const phone = await Phone.start(name, server.port);
  others.push(phone);
  await phone.open(to);
  await phone.at(screen);
  await phone.fill('Your name', name);
  await phone.fill('Name of this phone', `${name}’s phone`);
  return phone;
}

/** hugePicture is a few bytes that declare 40,000 × 40,000 pixels. */
function hugePicture() {
  const chunk = (type, data) => {
    const body = Buffer.concat([Buffer.from(type), data]);
    const framed = Buffer.alloc(body.length + 8);
    framed.writeUInt32BE(data.length, 0);
    body.copy(framed, 4);
    framed.writeUInt32BE(crc32(body), body.length + 4);
    return framed;
  };
  const size = Buffer.from([0, 0, 0x9c, 0x40, 0, 0, 0x9c, 0x40, 1, 0, 0, 0, 0]); // one bit a pixel, grey
  const signature = Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]);
  return Buffer.concat([signature, chunk('IHDR', size), chunk('IDAT', deflateSync(Buffer.alloc(5001 * 64))), chunk('IEND', Buffer.alloc(0))]);
}

const alert = (phone) => phone.screen().getByRole('alert');

test('a used invitation says so, and the phone can still join by another', async () => {
  const phone = await stranger('Lena', link, 'join');
  await phone.press('Join');
  await alert(phone).getByText(/invitation/).waitFor();
  assert.equal(await phone.screen().getByLabel('Your name').inputValue(), 'Lena', 'what was typed stays');
  await phone.open(await invite(mira));
  await phone.page.reload();
  await phone.at('join');
  await phone.fill('Your name', 'Lena');
  await phone.fill('Name of this phone', 'Lena’s phone');
  await phone.press('Join');
  await phone.at('today');
});

test('a link that was cut short says so', async () => {
  const phone = await stranger('Theo', link.slice(0, -9), 'join');
  await alert(phone).getByText('This link is not complete').waitFor();
});

test('an unknown set-up link says so, and founds nothing', async () => {
  const phone = await stranger('Ida', `#setup=${'A'.repeat(27)}`, 'welcome');
  await phone.fill('Name of the household', 'Elsewhere');
  await phone.press('Start');
  await alert(phone).getByText(/set-up link/i).waitFor();
  await phone.reload();
  await phone.at('welcome');
});

test('a used set-up link says so', async () => {
  const phone = await stranger('Finn', `#setup=${server.setup}`, 'welcome');
  await phone.fill('Name of the household', 'Elsewhere');
  await phone.press('Start');
  await alert(phone).getByText(/set-up link/i).waitFor();
});

test('a file that is no photo is refused in words, and the form keeps the rest', async () => {
  const file = path(folder('file'), 'shopping.jpg');
  writeFileSync(file, 'Milk, bread, potting soil.');
  await openPlant(mira, 'Basil');
  await mira.press('Found something');
  await mira.at('finding');
  await mira.choose('Yellowing');
  await mira.screen().locator('input[type=file]').setInputFiles(file);
  await mira.press('Save the finding');
  await alert(mira).getByText(/photo|picture/i).waitFor();
  await openPlant(mira, 'Basil');
  assert.equal(await mira.screen().locator('.entry').count(), 0, 'nothing half was saved');
});

test('a photo that the server refuses is kept, listed with its reason, and can be saved or dropped', async () => {
  const file = path(folder('file'), 'huge.png');
  writeFileSync(file, hugePicture());
  await openPlant(mira, 'Basil');
  await mira.press('Found something');
  await mira.at('finding');
  await mira.choose('Yellowing');
  await mira.screen().locator('input[type=file]').setInputFiles(file);
  await mira.press('Save the finding');
  await mira.at('after');
  await until('it says that something could not be sent', () => mira.status(), (words) => /^1 could not be sent/.test(words));
  await mira.go('#/household/data', 'data');
  const failed = mira.screen().locator('.card.failed');
  await failed.getByText('They are safe on this phone.').waitFor();
  await failed.getByText(/large|big|pixels/i).waitFor();
  const saving = mira.page.waitForEvent('download');
  await mira.press('Save a copy');
  assert.ok(readFileSync(await (await saving).path()).equals(readFileSync(file)));
  await mira.unfold('Drop it');
  await mira.press('Drop the photo');
  await failed.waitFor({ state: 'detached' });
  await mira.shared();
});

test('a finding without anything found asks for it', async () => {
  await openPlant(mira, 'Basil');
  await mira.press('Found something');
  await mira.at('finding');
  await mira.press('Save the finding');
  await alert(mira).getByText('Please choose at least one sign').waitFor();
});

test('a server that is away for long changes nothing on the phone', async () => {
  await server.kill();
  await openPlant(mira, 'Fern');
  await mira.press('Nothing found');
  await mira.hears('Fern: nothing found');
  await until('it says what waits', () => mira.status(), (words) => /^Saved on this phone, 1 to send$/.test(words));
  await mira.go('#/household/invite', 'invite');
  await mira.choose('Helper');
  await mira.press('Make an invitation');
  await alert(mira).waitFor();
  await server.run();
  await mira.shared();
});

test.end();
