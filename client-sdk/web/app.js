// The shell takes what a person does to the core, and its answers to the page. It knows no rules.
'use strict';
const $ = (id) => document.getElementById(id);
const busy = new Map(); // id of a question to the control that asked it
let worker = null, lastId = 0, turn = Promise.resolve(); // what was asked first is sent first, also while a file is read

// To the core: actions by data-do on buttons and forms, data-change on inputs.
const send = (message, transfer = []) => worker && worker.postMessage(message, transfer);

function ask(action, data, picked = [], from = null) {
  if (from && from.getAttribute('aria-busy')) return; // a second tap before the answer
  const id = ++lastId;
  if (from) busy.set(id, from).get(id).setAttribute('aria-busy', 'true');
  const read = async ([field, file]) => ({ field, name: file.name, type: file.type, bytes: await file.arrayBuffer() });
  turn = turn.then(() => Promise.all(picked.map(read))).then((files) => {
    send({ type: 'do', do: action, data, files, id }, files.map((file) => file.bytes));
  }).catch(() => take({ id }));
}
// fields reads a form: a name that comes more than once becomes a list.
function fields(form, submitter) {
  const data = {}, picked = [];
  for (const [name, value] of new FormData(form, submitter)) {
    if (value instanceof File) value.size && picked.push([name, value]);
    else data[name] = name in data ? [].concat(data[name], value) : value;
  }
  return { data, picked };
}
function submitted(event) {
  const form = event.target.closest('form[data-do]');
  if (!form) return;
  event.preventDefault();
  const { data, picked } = fields(form, event.submitter);
  form.dataset.sent = '1'; // its words are no longer half typed
  ask(form.dataset.do, data, picked, event.submitter);
}

const shellActions = {
  update() { accepted = true; registration.waiting.postMessage('skip'); },
  here: () => takeOver(), reload: () => location.reload(), push: ({ how }) => push(how), print: () => print(),
};
function clicked(event) {
  const at = event.target.closest('[data-tap]'), box = at && at.getBoundingClientRect();
  if (at) ask(at.dataset.tap, { ...at.dataset, x: `${(event.clientX - box.left) / box.width}`, y: `${(event.clientY - box.top) / box.height}` });
  const on = event.target.closest('button, a');
  if (!on) return;
  const { do: action, ...data } = on.dataset;
  if (action || data.focus) event.preventDefault();
  if (data.shell) shellActions[data.shell](data);
  if (data.step) stepped($(data.for), Number(data.step));
  if (data.focus) $(data.focus).focus();
  if (action) ask(action, data, [], on);
}

// stepped changes a number by the button beside it, within its bounds.
function stepped(input, by) {
  input.stepUp(by);
  input.dispatchEvent(new Event('input', { bubbles: true }));
}
function typed({ target: on }) {
  if (on.form) delete on.form.dataset.sent;
  if (on.dataset.cut) $(on.dataset.cut).setAttribute('width', on.value);
  if (!on.dataset.change) return;
  const { data, picked } = on.form ? fields(on.form) : { data: { [on.name]: on.value }, picked: [] };
  const tell = () => ask(on.dataset.change, { ...data, ...on.dataset }, picked);
  clearTimeout(typed.timer);
  if (on.type !== 'file') typed.timer = setTimeout(tell, 120);
  else { tell(); on.value = ''; } // the core has it now, and the same file can be chosen again
}

// From the core.
function take(message) {
  if (busy.has(message.id)) busy.get(message.id).removeAttribute('aria-busy');
  busy.delete(message.id);
  if (message.keep) for (const form of document.querySelectorAll('[data-sent]')) delete form.dataset.sent; // half typed again
  if (message.ready) send({ type: 'start', hash: location.hash });
  for (const one of message.swaps || []) swap(one);
  if (message.status !== undefined) $('status').textContent = message.status;
  if (message.title) document.title = message.title;
  if (message.photo) gotPhoto(message.photo);
  if (message.say) toast(message.say, message.undo);
  if (message.clip) navigator.clipboard ? navigator.clipboard.writeText(message.clip).catch(() => toast(message.clip)) : toast(message.clip);
  if (message.save) make('a', { href: message.save.url, download: message.save.name }).click();
  if (message.push) push(message.push);
  if (message.go && location.hash !== message.go) location.hash = message.go;
  if (message.scroll === 'top') scrollTo(0, 0);
  if (message.focus && $(message.focus)) $(message.focus).focus();
}

function swap({ target, html, how }) {
  const on = $(target);
  if (!on) return;
  const kept = keep(on);
  on[how === 'outer' ? 'outerHTML' : 'innerHTML'] = html;
  restore(kept);
  for (const img of document.querySelectorAll('[data-photo]:not([data-asked]), [data-near]')) near.observe(img);
}
function changed(on) {
  if (on.form && on.form.dataset.sent) return false;
  if (on.type === 'checkbox' || on.type === 'radio') return on.checked !== on.defaultChecked;
  if (on.options) return [...on.options].some((option) => option.selected !== option.defaultSelected);
  return on.localName === 'details' ? on.open : on.value !== on.defaultValue;
}

// keep notes what is half done in a part of the page: words typed, choices made,
// folds opened, the focus and the place on the page. restore puts it back by id.
function keep(part) {
  const active = part.contains(document.activeElement) ? document.activeElement : null;
  const text = active && /^(text|search|textarea)$/.test(active.type);
  const parts = [...part.querySelectorAll('input, textarea, select, details')].filter((on) => on.id && changed(on)).map((on) => ({ on, checked: on.checked })); // a radio button that leaves the page may lose it
  return { parts, focus: active && active.id, range: text && [active.selectionStart, active.selectionEnd], top: scrollY };
}
function restore({ parts, focus, range, top }) {
  for (const { on: old, checked } of parts) {
    const now = $(old.id);
    if (!now || now === old) continue;
    if (old.type === 'checkbox' || old.type === 'radio') now.checked = checked;
    else if (old.localName === 'details') now.open = true;
    else now.value = old.value;
  }
  scrollTo(0, top);
  const back = focus && $(focus);
  if (back) back.focus({ preventScroll: true });
  if (back && range) back.setSelectionRange(...range);
}

const make = (name, properties) => Object.assign(document.createElement(name), properties);
function toast(words, undo) {
  const close = () => $('toast').replaceChildren();
  $('toast').replaceChildren(make('p', { textContent: words, onclick: close }));
  if (undo) $('toast').append(make('button', { type: 'button', textContent: undo.label, onclick() { close(); ask(undo.do, undo.data || {}); } }));
  clearTimeout(toast.timer);
  toast.timer = setTimeout(close, 1000 * (undo ? undo.seconds || 10 : 5));
}

// Photos are asked for as they come near, those to print at once, by sum and size; a button for more is tapped.
const near = new IntersectionObserver((entries) => {
  for (const { target: img } of entries.filter((entry) => entry.isIntersecting || entry.target.closest('.sheet'))) {
    near.unobserve(img);
    img.dataset.asked = '1';
    if (img.localName === 'button') img.click(); else send({ type: 'photo', sum: img.dataset.photo, size: Number(img.dataset.size), id: ++lastId });
  }
}, { rootMargin: '300px' });

function show(img, blob) {
  const url = URL.createObjectURL(blob);
  img.onload = img.onerror = () => URL.revokeObjectURL(url);
  img.setAttribute(img.localName === 'img' ? 'src' : 'href', url); // a photo in a drawing has no src
}
// The core may send a photo again, once it has come from another phone, or because it is on the page twice. What is folded away asks when it is seen.
function gotPhoto({ sum, size, type, bytes, missing }) {
  for (const img of document.querySelectorAll(`[data-asked][data-photo="${CSS.escape(sum)}"][data-size="${Number(size)}"]`)) {
    img.toggleAttribute('data-missing', Boolean(missing));
    if (!missing && !img.hasAttribute('src') && !img.hasAttribute('href')) show(img, new Blob([bytes], { type }));
  }
}

// One tab writes: it holds a lock, or where there are no locks (plain http) it
// answers the others that it is here.
const LOCK = 'leafturn-writer';
const line = 'BroadcastChannel' in self ? new BroadcastChannel(LOCK) : null;
const lot = Math.random(); // of two tabs that ask at once the higher one stays
let letGo = null, asking = false;

function only(id) { // shows the app, or one of the shell's own pages instead
  for (const page of ['main', 'elsewhere', 'broken']) $(page).hidden = page !== id;
  $('bar').hidden = id !== 'main';
}
function start() {
  only('main');
  worker = new Worker('/worker.js');
  worker.onmessage = (event) => take(event.data);
  worker.onerror = () => only('broken');
}
function hold(lock) { // a lock lasts as long as the promise
  if (!lock) return stop();
  start();
  return new Promise((done) => { letGo = done; });
}
// stop ends the core at once: what it has not called saved is not saved.
function stop() {
  if (worker) worker.terminate();
  worker = null;
  busy.clear();
  if (letGo) letGo = letGo();
  only('elsewhere');
}
function elect() {
  if (navigator.locks) return navigator.locks.request(LOCK, { ifAvailable: true }, hold).catch(stop);
  if (!line) return start();
  asking = true;
  line.postMessage({ ask: lot });
  setTimeout(() => { if (asking) start(); asking = false; }, 400);
}
// takeOver asks the other tab to let go and, if that one sleeps, steals its lock.
function takeOver() {
  if (line) line.postMessage({ give: true });
  if (!navigator.locks) return setTimeout(start, 400);
  const steal = () => navigator.locks.request(LOCK, { steal: true }, hold).catch(stop);
  navigator.locks.request(LOCK, { signal: AbortSignal.timeout(1000) }, hold).catch(() => (letGo ? stop() : steal()));
}

if (line) line.onmessage = ({ data }) => {
  if (data.give && worker) stop();
  if (data.ask && !navigator.locks && (worker || asking && lot > data.ask)) line.postMessage({ here: true });
  if (data.here && asking) { asking = false; stop(); }
};

let registration = null, accepted = false; // accepted: a person said yes to the new version
async function keepForOffline() {
  if (!navigator.serviceWorker) return;
  navigator.serviceWorker.addEventListener('controllerchange', () => accepted && location.reload());
  registration = await navigator.serviceWorker.register('/sw.js');
  const offer = () => { $('update').hidden = !(registration.waiting && navigator.serviceWorker.controller); };
  registration.addEventListener('updatefound', () => registration.installing.addEventListener('statechange', offer));
  offer();
}
// push asks the browser whether messages come here, or after a tap begins or ends that.
async function push(how) {
  const desk = await kept.then(() => registration && registration.pushManager);
  let on = desk && await desk.getSubscription(), state = 'off';
  if (!desk) state = isSecureContext ? 'none' : 'insecure';
  else if (how === 'off' && on) on = await on.unsubscribe() ? null : on;
  else if (how === 'on' && await Notification.requestPermission() === 'granted') {
    const subscribe = async ({ key }) => (await navigator.serviceWorker.ready).pushManager.subscribe({ userVisibleOnly: true, applicationServerKey: key });
    on = await fetch('/api/v1/push/key').then((answer) => answer.json()).then(subscribe).catch(() => (state = 'failed') && null);
  }
  if (desk && Notification.permission === 'denied') state = 'refused';
  ask('push', { how, state, subscription: on ? JSON.stringify(on) : '' });
}

document.addEventListener('click', clicked);
document.addEventListener('submit', submitted);
document.addEventListener('input', typed);
document.addEventListener('visibilitychange', () => document.hidden || send({ type: 'visible' }));
addEventListener('hashchange', () => send({ type: 'go', hash: location.hash }));
addEventListener('online', () => send({ type: 'online' }));
setInterval(() => document.hidden || send({ type: 'tick' }), 60_000);
$('insecure').hidden = isSecureContext;
if (navigator.storage && navigator.storage.persist) navigator.storage.persist();
const kept = keepForOffline().catch(() => {}); // the app works without it, only not offline
elect();
