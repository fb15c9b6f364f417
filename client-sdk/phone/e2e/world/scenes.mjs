// Tests whose failures tell what the phones were showing.
import assert from 'node:assert/strict';
import { after, test } from 'node:test';

/**
 * scenes gives a function that declares tests on the phones that the other function
 * lists. If chained is set the tests build on each other, and after one has failed
 * the others are not tried. A last test demands that no page had an error.
 */
export function scenes(phones, { chained = false } = {}) {
  let failed = '';
  const scene = (name, body) => test(name, async (t) => {
    if (chained) assert.equal(failed, '', 'an earlier part has failed');
    try {
      await body(t);
    } catch (err) {
      failed = name;
      for (const phone of phones()) err.message += `\n${await phone.scene()}`;
      throw err;
    }
  });
  scene.end = () => scene('nothing went wrong on any page', () => {
    for (const phone of phones()) assert.deepEqual(phone.errors, [], phone.name);
  });
  after(async () => {
    for (const phone of phones()) await phone.away();
  });
  return scene;
}
