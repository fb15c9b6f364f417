// The whole way once: two phones, one leaf underside, tomorrow's spray. The parts
// build on each other; after one has failed the others are not tried.
import assert from 'node:assert/strict';
import { createHash } from 'node:crypto';
import { readFileSync, readdirSync } from 'node:fs';
import { join as path } from 'node:path';
import { after } from 'node:test';
import { acceptCourse, addPlants, day, finding, found, household, invite, join, openPlant, shelve, soap, underside } from '../world/household.mjs';
import { Server } from '../world/program.mjs';
import { picture } from '../world/picture.mjs';
import { scenes } from '../world/scenes.mjs';
import { until } from '../world/until.mjs';
import { Witness } from '../world/witness.mjs';

let server, mira, jonas, witness, sum;
const step = scenes(() => [mira, jonas].filter(Boolean), { chained: true });
after(async () => {
  if (witness) await witness.leave();
  if (server) await server.stop();
});

/** agreed waits until both phones, the witness and the server have the same state. */
async function agreed() {
  await mira.shared();
  await jonas.shared();
  return until('all have the same state', async () => {
    const seen = await witness.look();
    for (const phone of [mira, jonas]) await phone.shared();
    return { ...seen, mira: await mira.digest(), jonas: await jonas.digest() };
  }, (all) => /^[0-9a-f]{64}$/.test(all.digest) && new Set([all.digest, all.server, all.mira, all.jonas]).size === 1);
}

const kinds = (seen, kind, plant) => seen.facts.filter((f) => f.kind === kind && (!plant || f.plant.includes(plant)));

step('a set-up link founds the household', async () => {
  server = await Server.start();
  mira = await found(server);
  await mira.sees(`Three are enough to begin in ${household}.`);
});

step('three plants in a place, and a product on the shelf', async () => {
  await addPlants(mira, 'Kitchen sill', ['Fern', 'Basil', 'Zebra plant']);
  await mira.sees('Added: 3 of 3');
  await shelve(mira);
  await mira.sees(soap.name);
});

step('a second phone joins by a link', async () => {
  jonas = await join(server, await invite(mira));
  await jonas.go('#/plants', 'plants');
  for (const plant of ['Fern', 'Basil', 'Zebra plant']) await jonas.sees(plant);
  await mira.shared();
  await mira.go('#/household', 'household');
  await mira.sees('Jonas');
  witness = new Witness(server, await invite(mira));
  await agreed();
});

step('the service worker serves the page on both phones', async () => {
  for (const phone of [mira, jonas]) {
    await phone.reload();
    await phone.controlled();
  }
});

step('offline, one phone walks a round, finds something and photographs it', async () => {
  await mira.offline();
  await jonas.offline();
  await mira.go('#/round', 'rounds');
  await mira.press('Start the round');
  await mira.at('step');
  await mira.sees('Basil');
  await mira.press('Nothing found'); // one tap for a clean plant
  await mira.hears('Basil: nothing found');
  await mira.sees('Fern');
  await picture(mira, 'round');
  await mira.press('Found something');
  await mira.at('finding');
  await mira.screen().locator('.camera > input[type=file]').setInputFiles(underside);
  await mira.choose('Pale speckling');
  await mira.choose('Fine webbing');
  await mira.screen().getByText('Keeping the photo').waitFor({ state: 'hidden' });
  await picture(mira, 'finding', 'fieldset.pills', 150);
  await finding(mira, { adults: 3 });
  await mira.hears('Fern: finding saved');
  await mira.sees('Underside: pale speckling and fine webbing; 3 adults');
  await mira.photographed();
  sum = await mira.screen().locator('img[data-photo]').first().getAttribute('data-photo');
  assert.match(await mira.status(), /^Saved on this phone, \d+ to send$/);
});

step('offline, it opens an outbreak and accepts a course from tomorrow on', async () => {
  await mira.press('Open an outbreak');
  await mira.at('outbreak');
  await mira.sees('Spider mites');
  await mira.follow('Compare plans');
  await mira.at('plans');
  await mira.follow('Make a course by hand');
  await mira.at('course');
  assert.equal(await mira.screen().getByLabel('First spray').inputValue(), day(1));
  await acceptCourse(mira, { first: day(1) });
  await mira.hears('Course accepted');
});

step('offline, everything is there after a reload', async () => {
  await mira.reload();
  await mira.at('outbreak');
  await mira.go('#/today', 'today');
  await mira.screen().locator('section', { hasText: 'Tomorrow' }).getByText('Spray 1 plant', { exact: true }).waitFor();
  await openPlant(mira, 'Fern');
  assert.ok(await mira.photographed() > 300);
});

step('offline, the other phone logs as well', async () => {
  await openPlant(jonas, 'Zebra plant');
  await jonas.press('Nothing found');
  await jonas.hears('Zebra plant: nothing found');
  await jonas.unfold('More');
  await jonas.follow('Change name and facts');
  await jonas.at('plantform');
  await jonas.fill('Kind of plant', 'Aphelandra squarrosa');
  await jonas.press('Save the plant');
  await jonas.at('plant');
  await jonas.sees('Aphelandra squarrosa');
});

step('back online, the partner sees tomorrow’s spray and the photo', async () => {
  await mira.online();
  await jonas.online();
  await mira.shared();
  await jonas.shared();
  await jonas.go('#/today', 'today');
  const card = jonas.screen().locator('article', { hasText: 'Spray 1 plant' }).first();
  await card.waitFor();
  await picture(jonas, 'today');
  for (const words of [soap.name, '5 ml in 250 ml of water', 'Fern', 'Kitchen sill']) await card.getByText(words).first().waitFor();
  await card.locator('summary', { hasText: 'Cautions' }).click();
  await card.getByText('Invented caution: shake well before use.').waitFor();
  await openPlant(jonas, 'Fern');
  const img = jonas.screen().locator(`.entry img[data-photo="${sum}"]`);
  assert.ok(await jonas.photographed(img) > 100);
  await openPlant(mira, 'Zebra plant');
  await mira.sees('Aphelandra squarrosa');
});

step('the photo is on the server whole and without its position', async () => {
  const seen = await agreed();
  assert.deepEqual(Object.keys(seen.photos), [sum]);
  assert.equal(seen.photos[sum].sha256, sum);
  assert.deepEqual(whole(server.data, sum), [sum]);
});

/** whole gives the sums of the kept files that are the photo, and demands that none holds the position. */
function whole(data, wanted) {
  const sums = [];
  const photos = path(data, 'photos');
  for (const name of readdirSync(photos, { recursive: true, withFileTypes: true })) {
    if (!name.isFile()) continue;
    const bytes = readFileSync(path(name.parentPath || name.path, name.name));
    for (const secret of canaries) assert.ok(!bytes.includes(secret), `${name.name} holds ${secret}`);
    const found = createHash('sha256').update(bytes).digest('hex');
    if (found === wanted) sums.push(found);
  }
  return sums;
}

// What the photograph was given on purpose, and must have lost.
const canaries = ['INVENTED', 'GPSLatitude', 'Invented\0'].map((words) => Buffer.from(words));
canaries.push(Buffer.from([0x88, 0x25, 0, 4, 0, 0, 0, 1])); // the tag that leads to a position
for (const secret of canaries) assert.ok(readFileSync(underside).includes(secret), 'the photograph must hold what is looked for');

step('offline, both phones do the same spray', async () => {
  await mira.go('#/outbreaks', 'outbreaks');
  await mira.screen().locator('a.row').first().click();
  await mira.at('outbreak');
  await picture(mira, 'outbreak');
  await mira.follow('Compare plans');
  await mira.at('plans');
  await mira.follow('Make a course by hand');
  await acceptCourse(mira, { first: day(0) });
  await agreed();
  for (const phone of [mira, jonas]) await phone.offline();
  for (const phone of [mira, jonas]) {
    await phone.go('#/today', 'today');
    const card = phone.screen().locator('article', { hasText: 'Spray 1 plant' }).first();
    await card.getByRole('link', { name: 'Done' }).click();
    await phone.at('confirm');
    await phone.sees('The label comes first');
    await phone.choose('Underside');
    await phone.press('Done – note it');
    await phone.at('today');
    await phone.hears('Noted as done');
    await phone.screen().locator('section', { hasText: 'Done today' }).getByText('Spray 1 plant', { exact: true }).waitFor();
  }
});

step('back online, the task is done once, both sprays stand, both phones show the flag', async () => {
  for (const phone of [mira, jonas]) await phone.online();
  const seen = await agreed();
  assert.equal(kinds(seen, 'Application').length, 2);
  for (const phone of [mira, jonas]) {
    await phone.go('#/today', 'today');
    const flag = phone.screen().locator('.card.flag');
    await flag.getByRole('heading', { name: 'Noted twice' }).waitFor();
    await flag.getByText('Until you say, both count').waitFor();
    await flag.getByText(/Next spray not before \w+ \d+ \w+\./).waitFor();
    for (const name of ['Mira', 'Jonas']) await flag.getByText(name, { exact: true }).waitFor();
    assert.equal(await phone.screen().locator('.row.done', { hasText: 'Spray 1 plant' }).count(), 1);
    assert.equal(await phone.screen().locator('article', { hasText: 'Spray 1 plant' }).count(), 0);
  }
  await picture(mira, 'double');
});

step('a plant’s page shows looks, treatments and photos by date on both phones', async () => {
  for (const phone of [mira, jonas]) {
    await openPlant(phone, 'Fern');
    const entries = phone.screen().locator('.entry');
    assert.equal(await entries.filter({ hasText: `Treated with ${soap.name}` }).count(), 2);
    assert.equal(await entries.filter({ hasText: 'Found something' }).count(), 1);
    assert.equal(await entries.filter({ hasText: 'Noted twice' }).count(), 2);
    await phone.photographed(phone.screen().locator(`.entry img[data-photo="${sum}"]`));
    if (phone === jonas) await picture(jonas, 'plant', 'section:has(> .day)');
    await openPlant(phone, 'Zebra plant');
    await phone.sees('Looked, nothing found');
  }
});

step('settled on one phone, the flag leaves the other', async () => {
  await jonas.go('#/today', 'today');
  await jonas.press('Both happened');
  await jonas.hears('Settled');
  await jonas.screen().locator('.card.flag').waitFor({ state: 'detached' });
  await jonas.shared();
  await mira.shared();
  await mira.go('#/today', 'today');
  await mira.screen().locator('.card.flag').waitFor({ state: 'detached' });
  assert.equal(kinds(await agreed(), 'Application').length, 2);
});

step('the server dies in the middle of a push', async () => {
  for (const [n, blow] of [{ bytes: 60 }, { answer: true }].entries()) {
    const before = await agreed();
    const struck = mira.line.strike(/^POST \S+\/exchange /, { ...blow, then: () => server.kill() });
    await openPlant(mira, 'Basil');
    await mira.press('Nothing found');
    await mira.hears('Basil: nothing found');
    await struck;
    assert.match(await mira.status(), /^(Saved on this phone|Sending)/);
    await server.run();
    mira.line.mend();
    const seen = await agreed();
    assert.equal(kinds(seen, 'Inspection', 'Basil').length, kinds(before, 'Inspection', 'Basil').length + 1, `blow ${n}`);
    assert.equal(seen.facts.length, before.facts.length + 1);
    for (const fact of before.facts) assert.ok(seen.facts.some((f) => f.id === fact.id), `${fact.id} is gone`);
  }
});

step('the server dies in the middle of an upload', async () => {
  for (const blow of [{ bytes: 30_000 }, { answer: true }]) {
    const before = await agreed();
    const struck = jonas.line.strike(/^PATCH \S+\/uploads\//, { ...blow, then: () => server.kill() });
    await openPlant(jonas, 'Basil');
    await jonas.press('Found something');
    await finding(jonas, { signs: ['Yellowing'], photo: underside.replace('-with-position', blow.answer ? '-2' : '-1') });
    const added = await jonas.screen().locator('img[data-photo]').first().getAttribute('data-photo');
    await struck;
    await server.run();
    jonas.line.mend();
    await jonas.shared();
    const seen = await agreed();
    assert.equal(seen.facts.length, before.facts.length + 1);
    assert.equal(seen.photos[added].sha256, added);
    assert.deepEqual(whole(server.data, added), [added]);
    await openPlant(mira, 'Basil');
    await mira.photographed(mira.screen().locator(`.entry img[data-photo="${added}"]`));
  }
  const last = await agreed();
  assert.equal(Object.keys(last.photos).length, 3);
  for (const [name, photo] of Object.entries(last.photos)) assert.equal(photo.sha256, name);
});

step.end();
