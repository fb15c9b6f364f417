// Pictures of screens for the README. They are taken only when asked for, so that a
// test run leaves the tree as it was.
import { mkdirSync } from 'node:fs';
import { tree } from './program.mjs';

const folder = process.env.LEAFTURN_SCREENSHOTS === '1' ? `${tree}testdata/screenshots` : '';

/** picture takes a screen by day and by night. */
export async function picture(phone, name) {
  if (!folder) return;
  mkdirSync(folder, { recursive: true });
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
