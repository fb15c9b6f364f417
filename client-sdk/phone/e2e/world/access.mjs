// Whether everybody can read and reach what is on a screen.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { look } from './picture.mjs';

const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const tags = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'];

/**
 * long makes the phone as long as its page while something is done, so that nothing
 * lies under the bar at the bottom.
 */
export async function long(phone, work) {
  const { width, height } = phone.page.viewportSize();
  const full = await phone.page.evaluate(() => document.documentElement.scrollHeight);
  await phone.page.setViewportSize({ width, height: Math.max(height, full) });
  try {
    return await work();
  } finally {
    await phone.page.setViewportSize({ width, height });
  }
}

/** findings gives what is wrong with the screen that a phone shows, in words. */
export async function findings(phone) {
  // The page's content policy forbids foreign scripts; evaluating is not bound by it.
  if (!(await phone.page.evaluate(() => 'axe' in self))) await phone.page.evaluate(axe);
  const { violations } = await phone.page.evaluate((values) => self.axe.run(document, { runOnly: { type: 'tag', values } }), tags);
  const words = violations.flatMap((v) => v.nodes.map((n) => `${v.id}: ${n.target} ${n.failureSummary.replace(/\s+/g, ' ')}`));
  return [...words, ...(await phone.page.evaluate(small)), ...(await phone.page.evaluate(wide))];
}

/** sound demands that a screen can be read and reached, by day and by night. */
export async function sound(phone, name) {
  await phone.page.emulateMedia({ reducedMotion: 'reduce' });
  const wrong = [];
  await long(phone, async () => {
    for (const colorScheme of ['light', 'dark']) {
      await phone.page.emulateMedia({ colorScheme });
      wrong.push(...(await findings(phone)));
      await look(phone, `${name}-${colorScheme}`);
    }
  });
  await phone.page.emulateMedia({ colorScheme: null, reducedMotion: null });
  assert.deepEqual(wrong, [], name);
}

/**
 * small finds targets that a thumb misses: all must be 48 px in each direction, but
 * for links inside a sentence, which are as high as its letters.
 */
function small() {
  const own = (on) => (on.matches('input[type=radio], input[type=checkbox], input[type=file]') && on.labels.length ? on.labels[0] : on);
  const found = [];
  for (const on of document.querySelectorAll('a[href], button, input:not([type=hidden]), select, textarea, summary')) {
    const target = own(on);
    if (!target.checkVisibility({ visibilityProperty: true }) || target.matches('.skip')) continue;
    const box = target.getBoundingClientRect();
    const sentence = on.matches('a') && on.parentElement.textContent.trim().length > on.textContent.trim().length;
    if (sentence && getComputedStyle(on).display === 'inline') continue;
    if (box.height < 47.5 || box.width < 47.5) {
      found.push(`small: ${on.localName} “${(target.textContent || on.id).trim().slice(0, 40)}” is ${Math.round(box.width)} × ${Math.round(box.height)} px`);
    }
  }
  return found;
}

/** wide finds a page that must be pushed sideways to be read. */
function wide() {
  const { scrollWidth, clientWidth } = document.documentElement;
  return scrollWidth > clientWidth ? [`wide: ${scrollWidth} px in ${clientWidth}`] : [];
}
