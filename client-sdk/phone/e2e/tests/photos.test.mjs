// Photos on the phone, from the camera to the figure. The parts build on each other.
import assert from 'node:assert/strict';
import { readFileSync, writeFileSync } from 'node:fs';
import { after } from 'node:test';
import { findings, long } from '../world/access.mjs';
import { addPlants, found, openPlant, photographs } from '../world/household.mjs';
import { look } from '../world/picture.mjs';
import { Server } from '../world/program.mjs';
import { scenes } from '../world/scenes.mjs';
import { until } from '../world/until.mjs';

let server, mira;
const step = scenes(() => [mira].filter(Boolean), { chained: true });
after(() => server && server.stop());

const spotted = `${photographs}/leaf-spotted-1.jpg`;

/** blurred is a photo as a moving hand would take it, made from a sharp one in a browser. */
async function blurred(phone, file) {
  const bytes = await phone.page.evaluate(async (text) => {
    const picture = await createImageBitmap(new Blob([Uint8Array.from(atob(text), (c) => c.charCodeAt(0))]));
    const canvas = new OffscreenCanvas(picture.width, picture.height);
    const pen = canvas.getContext('2d');
    pen.filter = 'blur(14px)';
    pen.drawImage(picture, 0, 0);
    const blob = await canvas.convertToBlob({ type: 'image/jpeg', quality: 0.9 });
    return [...new Uint8Array(await blob.arrayBuffer())];
  }, readFileSync(file).toString('base64'));
  return { name: 'moved.jpg', mimeType: 'image/jpeg', buffer: Buffer.from(bytes) };
}

/** clean demands that nothing is wrong with what the phone shows, by day and by night. */
async function clean(name) {
  await mira.page.emulateMedia({ reducedMotion: 'reduce' });
  await long(mira, async () => {
    for (const colorScheme of ['light', 'dark']) {
      await mira.page.emulateMedia({ colorScheme });
      assert.deepEqual(await findings(mira), [], `${name}, ${colorScheme}`);
      await look(mira, `${name}-${colorScheme}`);
    }
    await mira.page.emulateMedia({ colorScheme: null });
  });
}

const camera = () => mira.screen().locator('.camera > input[type=file]');
const shots = () => mira.screen().locator('#shots li');

step('a blurred photo is kept, and can be taken again at once', async () => {
  server = await Server.start();
  mira = await found(server);
  await addPlants(mira, 'Kitchen sill', ['Fern', 'Basil']);
  await mira.offline();
  await openPlant(mira, 'Fern');
  await mira.press('Found something');
  await mira.at('finding');
  await camera().setInputFiles(await blurred(mira, spotted));
  await shots().getByText('Blurred. Take it again?').waitFor();
  await mira.photographed(shots().locator('img').first());
  await clean('finding with a blurred photo');
  await shots().locator('input[type=file]').setInputFiles(spotted);
  await shots().getByText('Kept on this phone').waitFor();
  assert.equal(await shots().count(), 1, 'in place of the blurred one');
});

step('several photos belong to one look, and one can be taken out', async () => {
  assert.equal(await camera().getAttribute('capture'), 'environment', 'one opens the camera');
  const gallery = mira.screen().getByLabel('Choose from the gallery');
  assert.equal(await gallery.getAttribute('capture'), null, 'the other one shows what is there');
  await gallery.setInputFiles([`${photographs}/leaf-underside-1.jpg`, `${photographs}/leaf-underside-2.jpg`]);
  await shots().nth(2).waitFor();
  await shots().nth(1).getByRole('button', { name: 'Remove' }).click();
  await shots().nth(2).waitFor({ state: 'detached' });
  await mira.choose('Brown spots|Pale speckling');
  await mira.press('Save the finding');
  await mira.at('after');
  assert.equal(await mira.screen().locator('.thumbs img').count(), 2);
  await until('they wait to be sent', () => mira.status(), (words) => /^Saved on this phone, \d+ to send$/.test(words));
});

step('a form that is sent while its photo is made ready waits for it', async () => {
  await openPlant(mira, 'Basil');
  await mira.press('Found something');
  await mira.at('finding');
  await camera().setInputFiles(`${photographs}/leaf-underside-2.jpg`);
  await mira.press('Save the finding');
  await mira.at('after');
  await mira.photographed();
});

step('offline, a leaf is measured, its outline corrected by a tap, and the figure noted', async () => {
  await openPlant(mira, 'Fern');
  await mira.screen().locator('.entry .thumb').first().click();
  await mira.at('photo');
  await mira.follow('Measure this leaf');
  await mira.at('measure');
  await mira.sees(/^about \d/);
  await mira.photographed();
  await mira.sees('That is about right');
  await clean('measure');
  await mira.press('Correct the outline');
  await mira.sees('Point 1 of 8');
  const outline = () => mira.screen().locator('#marks .rind:not(.rim)').getAttribute('d');
  const before = await outline();
  await mira.screen().locator('[data-tap]').click({ position: { x: 40, y: 30 } });
  await mira.page.waitForFunction((old) => document.querySelector('#marks .rind:not(.rim)').getAttribute('d') !== old, before);
  await clean('measure corrected');
  await mira.press('Measure inside this outline');
  await mira.screen().locator('.amount').waitFor();
  await mira.press('That is about right');
  await mira.sees(/^Noted, with an outline by hand: about \d/);
});

step('photos stand by date', async () => {
  await openPlant(mira, 'Fern');
  await mira.follow('Recovery by photos');
  await mira.at('recovery');
  await mira.sees('Not measured');
  await mira.sees('These two cannot be laid over each other');
});

step('where photos cannot be laid over each other, two places shown by hand do it', async () => {
  await mira.press('Lay them over each other by hand');
  const places = { older: mira.screen().locator('[data-photo=before][data-tap]'), newer: mira.screen().locator('[data-photo=after][data-tap]') };
  const show = async (photo, x) => {
    const marks = () => mira.screen().locator(`#${photo}-marks`).innerHTML();
    const before = await marks();
    const { width, height } = await until('the photo', () => places[photo].boundingBox());
    await places[photo].click({ position: { x: x * width, y: 0.5 * height } });
    await until('the place is marked', marks, (now) => now !== before);
  };
  for (const photo of await mira.screen().locator('.onphoto img').all()) await mira.photographed(photo);
  await mira.press('Next place');
  await mira.sees('Show the place on both photos first.');
  await show('older', 0.1);
  await show('newer', 0.3);
  await mira.press('Next place');
  await mira.sees('Second place: the cross');
  await show('older', 0.9);
  await show('newer', 0.7);
  await clean('by hand');
  await mira.press('Lay them over each other by hand');
  await mira.sees('Laid by hand, from two places on both photos.');
  const matrix = await mira.screen().locator('#cut image').getAttribute('transform');
  assert.ok(Math.abs(Number(/matrix\(([\d.]+)/.exec(matrix)[1]) - 2) < 0.1, `${matrix} makes the newer photo twice as large`);
});

step('two photos lie over each other under a slider, and the figures stand as a trend', async () => {
  const sum = await mira.screen().locator('select[name=before]').inputValue();
  await mira.screen().locator('select[name=after]').selectOption(sum);
  await mira.screen().getByText(/^Laid by hand/).waitFor({ state: 'detached' });
  const over = mira.screen().locator('svg.beforeafter');
  await over.waitFor();
  for (const photo of await over.locator('image').all()) {
    await photo.scrollIntoViewIfNeeded();
    await until('a photo in the drawing', () => photo.getAttribute('href'), (href) => /^blob:/.test(href || ''));
  }
  await mira.screen().getByLabel('How much of the newer photo').fill('250');
  assert.equal(await over.locator('#cut').getAttribute('width'), '250');
  await mira.screen().locator('.chart.recovery').waitFor();
  await mira.screen().locator('#trend-table').getByText(/^about \d/).waitFor();
  await clean('recovery');
});

step('a recovery is saved as a ZIP with its figures, and stands on a sheet to print', async () => {
  const saving = mira.page.waitForEvent('download');
  await mira.press('Save photos and figures as a ZIP');
  const saved = await saving;
  assert.match(saved.suggestedFilename(), /^leafturn-recovery-\d{4}-\d\d-\d\d\.zip$/);
  const file = readFileSync(await saved.path()).toString('latin1');
  const photos = [...file.matchAll(/PK\x01\x02[^]{42}(photos\/[\d-]+\.jpg)/g)];
  assert.equal(photos.length, 2, 'the list at its end names both photos');
  assert.match(file, /date,photo,damaged_percent,low_percent,high_percent,method,confidence_percent,verdict\r\n/);
  assert.match(file, /photos\/[\d-]+\.jpg,\d+\.\d\d,\d+\.\d\d,\d+\.\d\d,1,\d+,outlined by hand\r\n/);
  await mira.follow('Sheet to print');
  await mira.at('sheet');
  const shown = mira.screen().locator('.sheet img');
  for (const photo of await shown.all()) await until('a photo of the sheet', () => photo.evaluate((img) => img.complete && img.naturalWidth));
  assert.equal(await shown.count(), 2);
  await mira.page.evaluate(() => { self.print = () => { document.body.dataset.printed = 'yes'; }; });
  await mira.press('Print');
  assert.equal(await mira.page.locator('body').getAttribute('data-printed'), 'yes');
  await clean('sheet');
  await mira.page.emulateMedia({ media: 'print', colorScheme: 'dark' });
  for (const part of ['.bar', '.strip', '.dock', '.back']) assert.ok(!(await mira.page.locator(part).first().isVisible()), `${part} is not on paper`);
  const [paper, ink] = await mira.page.evaluate(() => [getComputedStyle(document.body).backgroundColor, getComputedStyle(document.querySelector('.sheet .small')).color]);
  assert.equal(paper, 'rgb(255, 255, 255)');
  assert.ok(Math.max(...ink.match(/\d+/g).map(Number)) < 130, `${ink} is dark enough on white`);
  await look(mira, 'sheet-print');
  const pages = await mira.page.pdf({ format: 'A4' });
  if (process.env.LEAFTURN_LOOKS) writeFileSync(`${process.env.LEAFTURN_LOOKS}/sheet.pdf`, pages);
  assert.equal(pages.toString('latin1').match(/\/Type\s*\/Page\b/g).length, 1, 'two photos and a trend are one page');
  await mira.page.emulateMedia({ media: null, colorScheme: null });
});

step.end();
