// A tour of every screen there is: the sample household has something on each.
import { addPlants, invite } from './household.mjs';

const first = async (phone, place, screen) => {
  await phone.screen().locator(place).first().click();
  await phone.at(screen);
};

/** unfolded opens all that is folded on the screen. */
const unfolded = async (p) => {
  for (const fold of await p.screen().locator('summary').all()) await fold.click();
};

/** strangers are the screens of a phone that belongs to no household. */
export const strangers = [
  ['welcome without a link', (p) => p.open('#/').then(() => p.at('welcome'))],
  ['welcome', (p) => p.open('#setup=AAAA').then(() => p.reload()).then(() => p.at('welcome'))],
  ['join with a broken link', (p) => p.open('#join=AAAA').then(() => p.reload()).then(() => p.at('join'))],
];

/** residents are the screens of the sample household. */
export const residents = [
  ['today', (p) => p.go('#/today', 'today')],
  ['today, unfolded', async (p) => {
    await p.go('#/today', 'today');
    for (const fold of await p.screen().locator('article').first().locator('summary').all()) await fold.click();
  }],
  ['rounds', (p) => p.go('#/round', 'rounds')],
  ['step', async (p) => {
    await p.go('#/round', 'rounds');
    await p.screen().getByRole('button', { name: /Start|Go on/ }).first().click();
    await p.at('step');
  }],
  ['finding', async (p) => {
    await p.press('Found something');
    await p.at('finding');
  }],
  ['finding, refused', async (p) => {
    await p.press('Save the finding');
    await p.screen().getByRole('alert').waitFor();
  }],
  ['after a finding', async (p) => {
    await p.choose('Fine webbing');
    await p.press('Save the finding');
    await p.at('after');
  }],
  ['plants', (p) => p.go('#/plants', 'plants')],
  ['plants, none found', async (p) => {
    await p.screen().getByLabel('Search plants').fill('xyzzy');
    await p.sees('No plant found');
  }],
  ['plant', async (p) => {
    await p.go('#/outbreaks', 'outbreaks');
    await first(p, 'a.row', 'outbreak');
    await first(p, 'a.row[href^="#/plant/"]:has(img)', 'plant');
  }],
  ['plant, unfolded', unfolded],
  ['photo', (p) => first(p, 'a.shot, a.thumb', 'photo')],
  ['measure', async (p) => {
    await first(p, 'a[href$="/measure"]', 'measure');
    await p.screen().getByText('Measuring the leaf').waitFor({ state: 'detached' });
  }],
  ['recovery', async (p) => {
    await p.go('#/outbreaks', 'outbreaks');
    await first(p, 'a.row', 'outbreak');
    await first(p, 'a.row[href^="#/plant/"]:has(img)', 'plant');
    await first(p, 'a[href$="/recovery"]', 'recovery');
  }],
  ['recovery, unfolded', unfolded],
  ['plant form', (p) => p.go('#/plants/new', 'plantform')],
  ['plant form, changed', async (p) => {
    await p.go('#/plants', 'plants');
    await first(p, 'a.row', 'plant');
    await p.unfold('More');
    await p.follow('Change name and facts');
    await p.at('plantform');
  }],
  ['outbreaks', (p) => p.go('#/outbreaks', 'outbreaks')],
  ['outbreak', (p) => first(p, 'a.row', 'outbreak')],
  ['outbreak, unfolded', unfolded],
  ['plans', async (p) => {
    await p.follow('Compare plans');
    await p.at('plans');
    await p.screen().locator('.working').waitFor({ state: 'detached', timeout: 120_000 });
  }],
  ['plans, unfolded', unfolded],
  ['course', async (p) => {
    await p.follow('Make a course by hand');
    await p.at('course');
  }],
  ['household', (p) => p.go('#/household', 'household')],
  ['member', (p) => first(p, 'a[href^="#/household/member/"]', 'member')],
  ['reminders', (p) => p.go('#/reminders', 'reminders')],
  ['data', async (p) => {
    await p.go('#/household/data', 'data');
    await p.unfold('For comparing two phones');
  }],
  ['poisoned', (p) => p.go('#/household/poisoned', 'poisoned')],
  ['product form', (p) => p.go('#/product/new', 'productform')],
  ['product form, changed', async (p) => {
    await p.go('#/household', 'household');
    await first(p, 'a[href^="#/product/"]:not([href$="new"])', 'productform');
  }],
  ['place form', (p) => p.go('#/place/new', 'placeform')],
  ['place form, changed', async (p) => {
    await p.go('#/household', 'household');
    await first(p, 'a[href^="#/place/"]:not([href$="new"])', 'placeform');
  }],
  ['place form, unfolded', unfolded],
  ['card', (p) => first(p, 'a[href^="#/card/"]', 'card')],
  ['confirm', async (p) => {
    await p.go('#/today', 'today');
    const task = await p.screen().locator('article:has(.k-spray)').first().getAttribute('id');
    await p.go(`#/confirm/${task.replace('task-', '')}`, 'confirm');
  }],
  ['round done', async (p) => {
    await p.go('#/round', 'rounds'); // the hall has a clean plant and one that stands apart
    await p.screen().locator('li', { hasText: 'Hall' }).getByRole('button').click();
    const next = p.screen().getByRole('button', { name: /^(Nothing found|Hands are clean)$/ });
    const done = p.screen().locator('.s-rounddone');
    for (let steps = 0; steps < 40; steps++) {
      await next.or(done).first().waitFor();
      if (await done.count()) return;
      if (await p.screen().locator('.s-wash').count() && p.washed) await p.washed();
      const button = await next.elementHandle();
      await button.click();
      await button.waitForElementState('hidden'); // the next plant has a button of its own
    }
    throw new Error('the round does not end');
  }],
];

/** founders are the screens that only a real household has. */
export const founders = [
  ['first plants', (p) => p.go('#/first', 'first')],
  ['today without plants', (p) => p.go('#/today', 'today')],
  ['rounds without places', (p) => p.go('#/round', 'rounds')],
  ['plants without any', (p) => p.go('#/plants', 'plants')],
  ['outbreaks without any', (p) => p.go('#/outbreaks', 'outbreaks')],
  ['first plants, added', (p) => addPlants(p, 'Kitchen sill', ['Fern', 'Basil', 'Zebra plant'])],
  ['household, new', (p) => p.go('#/household', 'household')],
  ['reminders, new', (p) => p.go('#/reminders', 'reminders')],
  ['hand over by file', (p) => p.go('#/household/file', 'handover')],
  ['entries that do not count', (p) => p.go('#/household/aside', 'aside')],
  ['last keeper', async (p) => {
    await p.go('#/household', 'household');
    await first(p, 'a[href^="#/household/member/"]', 'member');
  }],
  ['invite', (p) => p.go('#/household/invite', 'invite')],
  ['invite, ready', (p) => invite(p)],
];
