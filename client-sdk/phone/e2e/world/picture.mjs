// Pictures of screens for the README. They are taken only when asked for, so that a
// test run leaves the tree as it was.
import { mkdirSync } from 'node:fs';
import { tree } from './program.mjs';

const folder = process.env.LEAFTURN_SCREENSHOTS === '1' ? `${tree}testdata/screenshots` : '';

/**
 * picture takes what a phone shows, by day and by night, from its top on or from the
 * part that a selector names, with so many pixels above it, and without a short word
 * over it.
 */
export async function picture(phone, name, part = 'body', above = 60) {
  if (!folder) return;
  mkdirSync(folder, { recursive: true });
  for (const words of await phone.page.locator('#toast p').all()) await words.click();
  await phone.page.locator(part).first().evaluate((on, over) => scrollTo(0, on.getBoundingClientRect().top + scrollY - over), above);
  for (const colorScheme of ['light', 'dark']) {
    await phone.page.emulateMedia({ colorScheme });
    await phone.page.screenshot({ path: `${folder}/${name}-${colorScheme}.png`, scale: 'css', animations: 'disabled' });
  }
  await phone.page.emulateMedia({ colorScheme: null });
}

/** look keeps the whole length of a screen in the folder LEAFTURN_LOOKS names, for people who check how it looks. */
export async function look(phone, name) {
  const into = process.env.LEAFTURN_LOOKS;
  if (into) await phone.page.screenshot({ path: `${into}/${name.replace(/\W+/g, '-')}.png`, scale: 'css', fullPage: true, animations: 'disabled' });
}
