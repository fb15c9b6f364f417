// What the phone works out by itself, without a network: what lies ahead, plans side
// by side, whether it is over, where it came from. The parts build on each other.
import assert from 'node:assert/strict';
import { after } from 'node:test';
import { findings, long } from '../world/access.mjs';
import { addPlants, found, invite, join, openPlant, shelve, soap } from '../world/household.mjs';
import { look, picture } from '../world/picture.mjs';
import { Server } from '../world/program.mjs';
import { scenes } from '../world/scenes.mjs';
import { until } from '../world/until.mjs';

let server, mira, jonas, outbreak, dates;
const step = scenes(() => [mira, jonas].filter(Boolean), { chained: true });
after(() => server && server.stop());

const aphidSoap = { ...soap, interval: '5', season: '12', pests: 'aphids, thrips', indoors: true };

/** worked waits until the page has worked out what it shows. */
async function worked(phone) {
  await phone.screen().locator('.working').waitFor({ state: 'detached', timeout: 120_000 });
}

/** clean demands that nothing is wrong with what a phone shows, by day and by night. */
async function clean(phone, name) {
  await phone.page.emulateMedia({ reducedMotion: 'reduce' });
  await long(phone, async () => {
    for (const colorScheme of ['light', 'dark']) {
      await phone.page.emulateMedia({ colorScheme });
      assert.deepEqual(await findings(phone), [], `${name}, ${colorScheme}`);
      await look(phone, `${name}-${colorScheme}`);
    }
    await phone.page.emulateMedia({ colorScheme: null });
  });
}

/** course is the days of the accepted plan, as the outbreak's page shows them. */
const course = (phone) => phone.screen().locator('.calendar li').evaluateAll((days) => days.map((day) =>
  [day.querySelector('.date').textContent, day.querySelector('.strong').textContent]));

async function notes(phone, plant, { young = 0, adults = 0 }) {
  await openPlant(phone, plant);
  await phone.press('Found something');
  await phone.at('finding');
  await phone.choose('Sticky honeydew');
  await phone.fill('Young', `${young}`);
  await phone.fill('Adults', `${adults}`);
  await phone.press('Save the finding');
  await phone.at('after');
}

step('a household of two phones, three plants and a product', async () => {
  server = await Server.start();
  mira = await found(server);
  await addPlants(mira, 'Kitchen sill', ['Fern', 'Basil', 'Zebra plant']);
  await shelve(mira, aphidSoap);
  jonas = await join(server, await invite(mira));
});

step('a plant that has just come in is to be looked at first', async () => {
  await mira.go('#/plants/new', 'plantform');
  await mira.fill('Name', 'Ivy');
  await mira.unfold('More about it');
  await mira.choose('It has just come in');
  await mira.unfold('What pests make of it');
  await mira.choose('Thin, soft leaves');
  await mira.press('Save the plant');
  await mira.at('plants');
  await mira.go('#/round', 'rounds');
  const first = mira.screen().locator('section', { hasText: 'Look here first' }).locator('a.row').first();
  await first.getByText('Ivy', { exact: true }).waitFor();
  await first.getByText('Thin leaves are taken first.').waitFor();
  await clean(mira, 'look first');
});

step('offline, an outbreak shows what lies ahead, with its band and as a table', async () => {
  await mira.offline();
  await notes(mira, 'Fern', { young: 5, adults: 2 });
  await mira.screen().locator('select[name=pest]').selectOption({ label: 'Aphids' });
  await mira.press('Open an outbreak');
  await mira.at('outbreak');
  await worked(mira);
  await mira.sees(/^If nobody does anything/);
  await mira.screen().locator('svg.chart .band').first().waitFor({ state: 'attached' });
  await mira.unfold('The same as a table');
  assert.ok(await mira.screen().locator('#fc-data tbody tr, table tbody tr').count() >= 42);
  outbreak = mira.page.url().match(/#\/outbreak\/([0-9a-f-]{36})/)[1];
});

step('it says whether it is over, and where it came from', async () => {
  await mira.screen().getByRole('heading', { name: 'Is it over?' }).waitFor();
  await mira.unfold('Where did it come from?');
  await mira.sees(/^It most likely came in between/);
  const next = mira.screen().locator('section', { hasText: 'Look at these next' });
  for (const plant of ['Basil', 'Zebra plant']) await next.getByText(plant, { exact: true }).first().waitFor();
  await clean(mira, 'outbreak ahead');
  await picture(mira, 'forecast', '#forecast', 20);
});

step('plans are tried out with a number, and stopped', async () => {
  await mira.page.evaluate(() => {
    self.seen = [];
    new MutationObserver(() => {
      const at = document.querySelector('.working .small');
      if (at && self.seen.at(-1) !== at.textContent) self.seen.push(at.textContent);
    }).observe(document.body, { subtree: true, childList: true, characterData: true });
  });
  await mira.follow('Compare plans');
  await mira.at('plans');
  await mira.press('Stop');
  await worked(mira);
  assert.ok((await mira.page.evaluate(() => self.seen)).every((words) => /^\d+ of \d+$/.test(words)));
});

step('three plans side by side, each with its chance, its amounts and why each day', async () => {
  if (await mira.button('Work it out').count()) await mira.press('Work it out');
  const cards = mira.screen().locator('article.plan');
  await cards.nth(2).waitFor({ timeout: 120_000 });
  assert.equal(await cards.count(), 3);
  for (const [n, title] of ['Fewest treatments', 'Soonest over', 'Nothing from a bottle'].entries()) {
    await cards.nth(n).getByRole('heading', { name: title }).waitFor();
  }
  const fewest = cards.first();
  assert.match(await fewest.locator('.amount').innerText(), /%$/);
  await fewest.getByText(/ml of Silverleaf soap/).first().waitFor();
  await fewest.locator('summary', { hasText: 'and why' }).click();
  const why = await fewest.locator('.plandates .small').allInnerTexts();
  assert.ok(why.length > 2 && why.every((words) => /^Why: [A-Z].*\.$/.test(words)), why.join('\n'));
  assert.ok(why.some((words) => /\d/.test(words)), 'with numbers');
  await clean(mira, 'plans');
  await picture(mira, 'plans', '#plans', 20);
});

step('what the household chooses is kept in mind at once', async () => {
  await mira.choose('Nothing from a bottle');
  await mira.screen().locator('li', { hasText: 'you chose nothing from a bottle.' }).first().waitFor({ state: 'attached', timeout: 120_000 });
  await worked(mira);
  await mira.screen().locator('article.plan').first().waitFor();
  assert.equal(await mira.screen().getByRole('article', { name: 'Fewest treatments' }).count(), 0);
  await mira.screen().getByLabel(/^Nothing from a bottle/).first().uncheck();
  await mira.screen().getByRole('article', { name: 'Fewest treatments' }).waitFor({ timeout: 120_000 });
});

step('a plan that is taken can be taken back, and taken again', async () => {
  await mira.press('Take this plan');
  await mira.at('outbreak');
  await mira.page.locator('#toast').getByRole('button', { name: 'Undo' }).click();
  await mira.at('plans');
  await worked(mira);
  await mira.press('Take this plan');
  await mira.at('outbreak');
  await mira.hears('Plan accepted');
  await worked(mira);
  dates = await course(mira);
  assert.ok(dates.length > 3);
  assert.ok(await mira.screen().locator('.calendar .why').count() > 2);
  assert.equal(await mira.screen().getByText('The plan no longer reaches its aim').count(), 0);
  await clean(mira, 'outbreak with a plan');
});

step('back online, the other phone follows the same days', async () => {
  await mira.online();
  await mira.shared();
  await jonas.shared();
  await jonas.go(`#/outbreak/${outbreak}`, 'outbreak');
  await worked(jonas);
  assert.deepEqual(await course(jonas), dates);
  await jonas.go('#/today', 'today');
  await jonas.screen().locator('article, .row').filter({ hasText: /Spray|Rinse|Wipe/ }).first().waitFor();
});

step('worse counts of what turns out to be another pest propose another plan, on both phones', async () => {
  await jonas.go(`#/outbreak/${outbreak}`, 'outbreak');
  await jonas.unfold('It is something else');
  await jonas.screen().locator('select[name=pest]').selectOption({ label: 'Thrips' });
  await jonas.press('Save');
  await jonas.hears('Saved');
  await notes(jonas, 'Fern', { young: 240, adults: 90 });
  await jonas.go(`#/outbreak/${outbreak}`, 'outbreak');
  await worked(jonas);
  await jonas.sees('The plan no longer reaches its aim');
  await jonas.sees('330 animals were counted');
  await clean(jonas, 'proposal');
  await jonas.shared();
  await mira.shared();
  await mira.go(`#/outbreak/${outbreak}`, 'outbreak');
  await worked(mira);
  await mira.follow('See other plans');
  await mira.at('plans');
});

step('a clean look in a round confirms what the screen named, in one tap', async () => {
  await jonas.go('#/round', 'rounds');
  await jonas.press('Start the round');
  await jonas.at('step');
  await jonas.sees(/“Nothing found” says that you looked here: underside and new growth/);
  const name = await jonas.screen().locator('h1').innerText();
  await jonas.press('Nothing found');
  await jonas.hears(`${name}: nothing found`);
});

step('what was looked for and not seen tells suspects apart', async () => {
  await openPlant(mira, 'Fern');
  await mira.press('Found something');
  await mira.at('finding');
  await mira.choose('Pale speckling');
  const suspects = mira.screen().locator('.suspects');
  await suspects.getByText('Spider mites').waitFor();
  const before = await suspects.innerText();
  const asked = mira.screen().locator('.ask').first();
  const id = await asked.locator('input').nth(1).getAttribute('id');
  await asked.locator('input').nth(1).check();
  await until('the suspects have changed', () => suspects.innerText(), (now) => now !== before);
  await until('the answer stays', () => mira.page.locator(`#${id}`).isChecked());
  await clean(mira, 'identify');
});

step.end();
