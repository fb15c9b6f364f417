// An invented household, and the ways through the screens that several tests take.
import { Phone, zone } from './phone.mjs';
import { Server, tree } from './program.mjs';

export const household = 'Canal Street';
export const photographs = `${tree}testdata/photos`;
/** underside has an invented position in it, in EXIF and in XMP. */
export const underside = `${photographs}/leaf-underside-with-position.jpg`;

/** soap is an invented product with the facts of an invented label. */
export const soap = { name: 'Silverleaf soap (invented)', rate: '20', plant: '250', stock: '500', interval: '7', season: '6', reentry: '4' };

/** found sets a phone up by the server's set-up link. */
export async function found(server, name = 'Mira') {
  const phone = await Phone.start(name, server.port);
  await phone.open(`#setup=${server.setup}`);
  await phone.at('welcome');
  await phone.fill('Name of the household', household);
  await phone.fill('Your name', name);
  await phone.fill('Name of this phone', `${name}’s phone`);
  await phone.press('Start');
  await phone.at('first');
  return phone;
}

/** addPlants adds plants on the screen for the first ones, all in one place. */
export async function addPlants(phone, place, names) {
  await phone.go('#/first', 'first');
  for (const [n, name] of names.entries()) {
    await phone.fill('Name', name);
    if (n === 0) await phone.fill('New place', place);
    await phone.press('Add this plant');
    await phone.screen().locator('.rows').getByText(name, { exact: true }).waitFor();
  }
}

/** shelve puts a product on the shelf, as its label says. */
export async function shelve(phone, product = soap) {
  await phone.go('#/product/new', 'productform');
  await phone.fill('Name', product.name);
  await phone.choose('Soap spray');
  await phone.choose('ml per litre');
  await phone.fill('Rate', product.rate);
  await phone.fill('Spray for one plant', product.plant);
  await phone.fill('Left on the shelf', product.stock);
  await phone.fill('Shortest time between sprays', product.interval);
  await phone.fill('Most in one season', product.season);
  await phone.fill('Do not touch for', product.reentry);
  if (product.pests) await phone.fill('Pests that the label names', product.pests);
  if (product.indoors) await phone.choose('Yes');
  await phone.fill('Cautions', 'Invented caution: shake well before use.');
  await phone.press('Save');
  await phone.at('household');
}

/** invite makes an invitation and gives its link. */
export async function invite(phone, role = 'Helper') {
  await phone.go('#/household/invite', 'invite');
  await phone.choose(role);
  await phone.press('Make an invitation');
  const link = phone.screen().locator('p.link');
  await link.waitFor();
  return (await link.textContent()) || '';
}

/** join takes a second phone into the household by a link. */
export async function join(server, link, name = 'Jonas') {
  const phone = await Phone.start(name, server.port);
  await phone.open(link);
  await phone.at('join');
  await phone.fill('Your name', name);
  await phone.fill('Name of this phone', `${name}’s phone`);
  await phone.press('Join');
  await phone.at('today');
  return phone;
}

/** finding notes a finding with a photo on the plant of the finding form. */
export async function finding(phone, { signs = [], adults = 0, photo = '' } = {}) {
  await phone.at('finding');
  if (photo) await phone.screen().locator('.camera > input[type=file]').setInputFiles(photo);
  for (const sign of signs) await phone.choose(sign);
  for (let n = 0; n < adults; n++) await phone.button('One more: Adults').click();
  await phone.press('Save the finding');
  await phone.at('after');
}

/** openPlant goes to a plant's page by its name. */
export async function openPlant(phone, name) {
  await phone.go('#/plants', 'plants');
  await phone.screen().locator('a.row', { hasText: name }).click();
  await phone.at('plant');
}

/** day is a civil day on the phones, as a date field takes it: 0 is today. */
export function day(after) {
  const at = new Date(Date.now() + after * 86_400_000);
  return new Intl.DateTimeFormat('sv-SE', { timeZone: zone }).format(at);
}

/** acceptCourse fills in the course form that is open. */
export async function acceptCourse(phone, { first, applications = 3 }) {
  await phone.at('course');
  await phone.fill('First spray', first);
  await phone.fill('How many sprays', String(applications));
  await phone.press('Accept the course');
  await phone.at('outbreak');
}

/** begin is a server and a household of two phones with three plants and a product. */
export async function begin() {
  const server = await Server.start();
  const mira = await found(server);
  await addPlants(mira, 'Kitchen sill', ['Fern', 'Basil', 'Zebra plant']);
  await shelve(mira);
  const jonas = await join(server, await invite(mira));
  return { server, mira, jonas };
}
