// A phone: a Chromium profile of its own behind a line of its own, with the words
// for what a person does on it.
import { chromium } from 'playwright-core';
import { cpSync, existsSync, readFileSync, readdirSync } from 'node:fs';
import { Line } from './line.mjs';
import { folder } from './program.mjs';
import { until } from './until.mjs';

const executablePath = process.env.CHROMIUM || '/usr/bin/chromium';
const flags = ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking',
  '--disable-component-update', '--disable-sync'];
const SECONDS = 30; // longer than anything takes, also on a busy machine

/** browsersOf finds the processes of the browser that runs on a profile of this test. */
function browsersOf(profile) {
  return readdirSync('/proc').filter((pid) => /^\d+$/.test(pid)).filter((pid) => {
    try {
      return readFileSync(`/proc/${pid}/cmdline`, 'latin1').includes(profile);
    } catch { return false; } // it has ended meanwhile
  }).map(Number);
}

// The app's clock runs in a worker, where no test can move it. So the phones are where
// it is noon: no day ends while a test runs, and no clocks change.
const hoursEast = 12 - new Date().getUTCHours();
/** zone is the phones' time zone; the signs in such names are turned round. */
export const zone = `Etc/GMT${hoursEast > 0 ? '-' : '+'}${Math.abs(hoursEast)}`;

/** size is the phone that the screens are drawn for. */
const size = { viewport: { width: 360, height: 740 }, deviceScaleFactor: 2, hasTouch: true, isMobile: true };

export class Phone {
  static async start(name, serverPort) {
    if (!existsSync(executablePath)) throw new Error(`There is no Chromium at ${executablePath}; install it or name it in CHROMIUM.`);
    const phone = new Phone(name, await Line.open(serverPort));
    await phone.on();
    return phone;
  }

  constructor(name, line) {
    Object.assign(this, { name, line, profile: folder(`phone-${name}`), errors: [] });
  }

  /** on switches the phone on: its browser starts on its profile. */
  async on(more = {}) {
    this.context = await chromium.launchPersistentContext(this.profile, {
      executablePath, headless: true, args: flags, ...size, locale: 'en-GB', timezoneId: zone, acceptDownloads: true, ...more,
    });
    this.context.setDefaultTimeout(SECONDS * 1000);
    this.page = this.context.pages()[0] || (await this.context.newPage());
    this.hear(this.page);
  }

  /** hear notes what goes wrong on a page, so that a test can demand silence. */
  hear(page) {
    page.on('pageerror', (err) => this.errors.push(`${err}`));
    page.on('console', (said) => {
      if (said.type() === 'error' && !/Failed to load resource|net::ERR_/.test(said.text())) this.errors.push(said.text());
    });
  }

  /** copy is a second phone with all that is on this one, at the same address. */
  async copy(name) {
    await this.off();
    const twin = new Phone(name, this.line);
    cpSync(this.profile, twin.profile, { recursive: true });
    for (const phone of [this, twin]) await phone.on();
    return twin;
  }

  async off() {
    await this.context.close();
  }

  /** kill ends the browser and all its helpers at once, as an empty battery would. */
  async kill() {
    const ended = new Promise((done) => this.context.once('close', done));
    for (const pid of browsersOf(this.profile)) process.kill(pid, 'SIGKILL');
    await ended;
  }

  async away() {
    await this.off();
    this.line.close();
  }

  /** open goes to a link as it was printed or sent: only its fragment counts. */
  async open(link = '#/') {
    await this.page.goto(`${this.line.origin}/${link.slice(link.indexOf('#'))}`);
  }

  /** reload loads the page anew and waits for the core to show something. */
  async reload() {
    await this.page.reload();
    await this.page.locator('main .screen').first().waitFor();
  }

  /** offline cuts the line, and demands that the page cannot reach the server any more. */
  async offline() {
    this.line.cut();
    await this.context.setOffline(true);
    if (await this.page.evaluate(() => fetch('/healthz').then(() => true, () => false))) throw new Error(`${this.name} is not offline`);
  }

  async online() {
    this.line.mend();
    await this.context.setOffline(false);
  }

  /** go shows a screen by its address and waits for it. */
  async go(address, screen) {
    await this.page.evaluate((to) => {
      if (location.hash === to) dispatchEvent(new Event('hashchange'));
      else location.hash = to;
    }, address);
    await this.at(screen);
  }

  async at(screen) {
    await this.page.locator(`main .s-${screen}`).waitFor();
  }

  screen() { return this.page.locator('main'); }

  button(name) { return this.screen().getByRole('button', { name, exact: typeof name === 'string' }); }

  link(name) { return this.screen().getByRole('link', { name, exact: typeof name === 'string' }); }

  async press(name) {
    await this.button(name).first().click();
  }

  async follow(name) {
    await this.link(name).first().click();
  }

  async fill(label, words) {
    await this.screen().getByLabel(label, { exact: true }).first().fill(words);
  }

  /** choose ticks what stands under a label that begins with the words. */
  async choose(words) {
    await this.screen().locator('label').filter({ hasText: new RegExp(`^\\s*${words}`) }).locator('input').first().check();
  }

  async unfold(title) {
    await this.screen().locator('summary').filter({ hasText: title }).first().click();
  }

  async sees(words) {
    await this.screen().getByText(words).first().waitFor();
  }

  /** hears waits for a short word about what happened, and taps it away. */
  async hears(words) {
    await this.page.locator('#toast p').filter({ hasText: words }).click();
  }

  async status() {
    return (await this.page.locator('#status').textContent()) || '';
  }

  /** scene is what the phone shows, for the report of a test that failed. */
  async scene() {
    const shown = await this.page.locator('body').innerText().catch((err) => `${err}`);
    return `${this.name} at ${this.page.url()} ${this.errors.join('; ')}\n${shown.replace(/\s+/g, ' ').slice(0, 700)}`;
  }

  /** shared waits until the server has acknowledged everything of this phone. */
  async shared() {
    await this.go('#/household/data', 'data');
    await this.press('Send and fetch now');
    await until(`${this.name} has shared everything`, () => this.status(), (words) => /^Shared \d/.test(words));
  }

  /** digest is what the data screen says about this phone's state. */
  async digest() {
    await this.go('#/household/data', 'data');
    return (await this.page.locator('#digest').textContent()) || '';
  }

  /** photographed waits until an image holds a decoded picture, and gives its size. */
  async photographed(image = this.screen().locator('img[data-photo]').first()) {
    await image.scrollIntoViewIfNeeded();
    return until(`a photo on ${this.name}`, () => image.evaluate((img) => img.complete && img.naturalWidth));
  }

  /** controlled waits until the service worker serves the page. */
  async controlled() {
    await this.page.waitForFunction(() => navigator.serviceWorker && navigator.serviceWorker.controller);
  }
}
