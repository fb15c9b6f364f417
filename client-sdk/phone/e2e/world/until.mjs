import { setTimeout as pause } from 'node:timers/promises';

/**
 * until asks again and again until the answer is right, and gives it. Answers that
 * are errors count as not yet.
 */
export async function until(what, ask, right = Boolean, seconds = 30) {
  const end = Date.now() + seconds * 1000;
  let last;
  do {
    try {
      last = await ask();
      if (right(last)) return last;
    } catch (err) { last = err; }
    await pause(40);
  } while (Date.now() < end);
  throw new Error(`not within ${seconds} s: ${what}; last: ${last instanceof Error ? last.message : JSON.stringify(last)}`);
}
