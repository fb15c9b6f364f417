// Every screen, by day and by night: nothing that axe-core finds against WCAG 2.2 AA,
// nothing too small for a thumb, nothing wider than the phone.
import assert from 'node:assert/strict';
import { after, before } from 'node:test';
import { findings, long } from '../world/access.mjs';
import { found } from '../world/household.mjs';
import { Phone } from '../world/phone.mjs';
import { look } from '../world/picture.mjs';
import { Server } from '../world/program.mjs';
import { scenes } from '../world/scenes.mjs';
import { founders, residents, strangers } from '../world/tour.mjs';

let server, guest, mira;
const test = scenes(() => [guest, mira].filter(Boolean));
before(async () => {
  server = await Server.start();
  guest = await Phone.start('Guest', server.port);
  mira = await found(server);
});
after(() => server && server.stop());

/** visit goes to each screen and collects what is wrong there. */
async function visit(phone, screens, t) {
  const wrong = [];
  const inspect = (name) => long(phone, async () => {
    for (const colorScheme of ['light', 'dark']) {
      await phone.page.emulateMedia({ colorScheme });
      for (const words of await findings(phone)) wrong.push(`${name}, ${colorScheme}: ${words}`);
      await look(phone, `${name}-${colorScheme}`);
    }
    await phone.page.emulateMedia({ colorScheme: null });
  });
  await phone.page.emulateMedia({ reducedMotion: 'reduce' }); // what is half faded in has half its contrast
  phone.washed = () => inspect('wash your hands');
  for (const [name, go] of screens) {
    await go(phone);
    await inspect(name);
  }
  t.diagnostic(`${screens.length} screens`);
  assert.deepEqual(wrong, []);
}

test('before there is a household', (t) => visit(guest, strangers, t));

test('in the sample household', async (t) => {
  await guest.open('#/');
  await guest.reload();
  await guest.press('Look round a sample household');
  await guest.at('today');
  await visit(guest, residents, t);
});

test('in a household that has just begun', (t) => visit(mira, founders, t));

test('what the shell says by itself', async (t) => {
  const second = await mira.context.newPage();
  mira.hear(second);
  await second.goto(`${mira.line.origin}/#/today`);
  await second.getByRole('heading', { name: 'Open in another tab' }).waitFor();
  const first = mira.page;
  mira.page = second;
  await visit(mira, [['open in another tab', async () => {}]], t);
  await second.close();
  mira.page = first;
});

test.end();
