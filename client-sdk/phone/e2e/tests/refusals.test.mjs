// What the app says when something is refused, and that it keeps what it has.
import assert from 'node:assert/strict';
import { readFileSync, writeFileSync } from 'node:fs';
import { join as path } from 'node:path';
import { after, before } from 'node:test';
import { addPlants, found, invite, join, openPlant } from '../world/household.mjs';
import { Phone } from '../world/phone.mjs';
import { scenes } from '../world/scenes.mjs';
import { Server, folder } from '../world/program.mjs';
import { until } from '../world/until.mjs';

let server, mira, link;
const others = [];
const test = scenes(() => [mira, ...others].filter(Boolean));
before(async () => {
  server = await Server.start({ more: ['--photo-space', '1'] }); // a megabyte
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
  await mira.screen().locator('.camera > input[type=file]').setInputFiles(file);
  await alert(mira).getByText(/photo|picture/i).waitFor();
  assert.ok(await mira.screen().getByLabel('Yellowing').isChecked(), 'what was chosen stays');
  await openPlant(mira, 'Basil');
  assert.equal(await mira.screen().locator('.entry').count(), 0, 'nothing half was saved');
});

/** grain is a photo of nothing but noise, which no method makes small. */
async function grain(phone) {
  const bytes = await phone.page.evaluate(async () => {
    const canvas = new OffscreenCanvas(2048, 1536);
    const pen = canvas.getContext('2d');
    const picture = pen.createImageData(canvas.width, canvas.height);
    let seed = 1;
    picture.data.forEach((_, i) => {
      seed = (seed * 48271) % 2147483647;
      picture.data[i] = i % 4 === 3 ? 255 : seed & 255;
    });
    pen.putImageData(picture, 0, 0);
    const blob = await canvas.convertToBlob({ type: 'image/jpeg', quality: 0.9 });
    return new Promise((done) => {
      const reader = new FileReader();
      reader.onload = () => done(reader.result.split(',')[1]);
      reader.readAsDataURL(blob);
    });
  });
  return { name: 'grain.jpg', mimeType: 'image/jpeg', buffer: Buffer.from(bytes, 'base64') };
}

test('a photo that the server refuses is kept, listed with its reason, and can be saved or dropped', async () => {
  await openPlant(mira, 'Basil');
  await mira.press('Found something');
  await mira.at('finding');
  await mira.choose('Yellowing');
  await mira.screen().locator('.camera > input[type=file]').setInputFiles(await grain(mira));
  await mira.press('Save the finding');
  await mira.at('after');
  await until('it says that something could not be sent', () => mira.status(), (words) => /^1 could not be sent/.test(words));
  await mira.go('#/household/data', 'data');
  const failed = mira.screen().locator('.card.failed');
  await failed.getByText('They are safe on this phone.').waitFor();
  await failed.getByText(/space for photos is full/).waitFor();
  const again = mira.context.waitForEvent('response', (answer) => answer.status() === 507);
  await mira.press('Try again');
  await again;
  await failed.getByText(/space for photos is full/).waitFor();
  const saving = mira.page.waitForEvent('download');
  await mira.press('Save a copy');
  assert.equal(readFileSync(await (await saving).path()).subarray(0, 3).toString('hex'), 'ffd8ff', 'a JPEG');
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
