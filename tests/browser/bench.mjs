// What the browser tests share: a server of the real program, Debian's Chromium,
// and a few ways to use the page as a maker does.
import { spawn, spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { chromium } from 'playwright-core';

export const root = resolve(import.meta.dirname, '../..');
export const face = (name) => join(root, 'demo-faces', name);
const program = process.env.FRETGRIN_BIN ?? join(root, 'target/release/fretgrin');

export const folder = () => mkdtempSync(join(tmpdir(), 'fretgrin-bench-'));
export const clear = (path) => path && rmSync(path, { recursive: true, force: true });

// Starts the bench in a folder; resolves when it has told its address.
export async function start(args, where, port = 0) {
  const server = spawn(program, ['open', '--no-browser', '--port', String(port), ...args], { cwd: where });
  const url = await new Promise((done, fail) => {
    let said = '';
    const hear = (text) => {
      said += text;
      const found = said.match(/http:\S+/);
      if (found) done(found[0]);
    };
    server.stdout.on('data', hear);
    server.stderr.on('data', hear);
    server.on('error', fail);
    server.on('exit', () => fail(new Error(`the bench ended: ${said}`)));
  });
  const stop = (signal = 'SIGTERM') => new Promise((done) => {
    if (server.exitCode !== null || server.signalCode !== null) return done();
    server.on('exit', done);
    server.kill(signal);
  });
  return { url, port: Number(new URL(url).port), stop };
}

// Runs a command of the program; gives its exit code and what it said.
export const run = (args, cwd) => spawnSync(program, args, { cwd, encoding: 'utf8' });

export const launch = () => chromium.launch({ executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium', args: ['--no-sandbox'] });

// With FRETGRIN_ASSETS the page's own files come from that folder instead of the
// program, under the same headers: work on them needs no build.
async function fresh(context) {
  const folder = process.env.FRETGRIN_ASSETS;
  if (!folder) return;
  await context.route(/\/([a-z]+\.(js|css|svg))?(\?.*)?$/, async (route) => {
    if (route.request().method() !== 'GET') return route.continue();
    const path = new URL(route.request().url()).pathname;
    const index = await route.fetch({ url: new URL('/', route.request().url()).href }).catch(() => null);
    if (!index) return; // the page was closed meanwhile
    const type = path.endsWith('.js') ? 'text/javascript' : path.endsWith('.css') ? 'text/css' : path.endsWith('.svg') ? 'image/svg+xml' : 'text/html';
    const body = readFileSync(join(folder, path === '/' ? 'index.html' : path));
    return route.fulfill({ headers: { ...index.headers(), 'content-type': type, 'content-length': String(body.length) }, body });
  });
}

// Opens a page that notes whatever goes wrong on it.
export async function visit(browser, url, options = {}) {
  const context = await browser.newContext({ viewport: { width: 1440, height: 900 }, acceptDownloads: true, ...options });
  await fresh(context);
  const page = await context.newPage();
  page.faults = [];
  page.on('pageerror', (error) => page.faults.push(error.message));
  page.on('console', (message) => message.type() === 'error' && page.faults.push(message.text()));
  page.setDefaultTimeout(15000);
  await page.goto(url);
  return page;
}

export const STATIONS = ['Place', 'Mend', 'Night', 'Print', 'Drawer'];
const READY = {
  place: '.board .face', mend: '[data-part=edits] h2', night: '.lantern img', print: '.pages img', drawer: '.tile .verdict-line:not(.soft)',
};

// Goes to a station and waits until it shows what it is for.
export async function station(page, name) {
  await page.locator('.station', { hasText: name }).click();
  await page.locator(READY[name.toLowerCase()]).first().waitFor();
}

export const judged = (page) => page.locator('.verdict strong').waitFor();
export const saved = (page) => page.getByText('saved', { exact: true }).waitFor();

// A second tab on the project of `page`, whose change stands against the first one's.
export async function atOdds(page) {
  const second = await page.context().newPage();
  await second.goto(page.url());
  await judged(second);
  await page.getByRole('button', { name: 'Turn: more' }).click();
  await saved(page);
  await second.getByRole('button', { name: 'Turn: less' }).click();
  await second.getByText('Another tab changed this project').waitFor();
  return second;
}

// What the page holds: its model, and the mending it shows.
export const model = (page, path) => page.evaluate(async (keys) => {
  const { model: whole } = await import('/model.js');
  return keys.split('.').reduce((value, key) => value?.[key], whole);
}, path);
export const mended = (page) => page.evaluate(async () => (await import('/mend.js')).mending.answer);

// Asks again and again until the answer is yes.
export async function until(check, what, limit = 15000) {
  const end = Date.now() + limit;
  for (;;) {
    const found = await check();
    if (found) return found;
    if (Date.now() > end) throw new Error(`never: ${what}`);
    await new Promise((go) => setTimeout(go, 40));
  }
}

// The mending shown, once it belongs to the saved state and is as `check` says.
export const mendedSo = (page, check, what) => until(async () => {
  const answer = await model(page, 'saving') ? null : await mended(page);
  return answer && check(answer) ? answer : null;
}, what);

// Drops files from the desktop on the page, as the browser itself reports it.
export async function drop(page, files, at = [700, 450]) {
  const session = await page.context().newCDPSession(page);
  const data = { items: [], files, dragOperationsMask: 1 };
  for (const type of ['dragEnter', 'dragOver', 'drop']) {
    await session.send('Input.dispatchDragEvent', { type, x: at[0], y: at[1], data });
  }
  await session.detach();
}

// Drags with the mouse from one place of the screen to another, in steps.
export async function drag(page, from, to, steps = 12) {
  await page.mouse.move(...from);
  await page.mouse.down();
  await page.mouse.move(...to, { steps });
  await page.mouse.up();
}

// Where the middle of something is on the screen, once it is there: it may just be drawn anew.
export async function middle(locator) {
  const box = await until(() => locator.boundingBox(), 'it has a place');
  return [box.x + box.width / 2, box.y + box.height / 2];
}

// Where a place of the panel (millimetres) is on the screen.
export const onScreen = (page, at) => page.evaluate(async ([x, y]) => {
  const { board } = await import('/board.js');
  const { model: whole } = await import('/model.js');
  const p = new DOMPoint(x, whole.view.report.panel.height_mm - y).matrixTransform(board.svg.getScreenCTM());
  return [p.x, p.y];
}, at);

// Presses the key for a kind of file and gives its name and bytes.
export async function download(page, kind) {
  const [file] = await Promise.all([page.waitForEvent('download'), page.locator(`[data-file=${kind}]`).click()]);
  const path = await file.path();
  return { name: file.suggestedFilename(), path, bytes: readFileSync(path) };
}

// Measures a PDF with a reader that shares no code with its writer; null where
// there is none (see DEVELOPERS.md) and none is required.
export function measure(path) {
  const python = process.env.FRETGRIN_PYTHON;
  if (!python && !process.env.REQUIRE_EXTERNAL) return null;
  const said = spawnSync(python ?? 'python3', [join(import.meta.dirname, 'measure.py'), path], { encoding: 'utf8' });
  if (said.status !== 0) throw new Error(`the PDF could not be measured: ${said.stderr ?? said.error}`);
  return JSON.parse(said.stdout);
}

export const median = (values) => [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)];
export const share = (values, part) => [...values].sort((a, b) => a - b)[Math.min(values.length - 1, Math.floor(values.length * part))];
