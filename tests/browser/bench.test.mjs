// The bench page in a real browser: a face is dropped, moved, judged, mended,
// printed, and all of it is there after a reload. Needs Debian's chromium.
//   npm ci --prefix tests/browser && npm test --prefix tests/browser
import assert from 'node:assert/strict';
import { spawn } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { after, before, test } from 'node:test';
import { chromium } from 'playwright-core';

const root = resolve(import.meta.dirname, '../..');
const program = process.env.FRETGRIN_BIN ?? join(root, 'target/release/fretgrin');
const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

let bench, browser, page, url, folder, faults = [];

before(async () => {
  folder = mkdtempSync(join(tmpdir(), 'fretgrin-bench-'));
  bench = spawn(program, ['open', '--no-browser', '--port', '0', join(root, 'demo-faces/moth.svg')], { cwd: folder });
  url = await new Promise((done, fail) => {
    let said = '';
    bench.stdout.on('data', (text) => {
      said += text;
      const found = said.match(/http:\S+/);
      if (found) done(found[0]);
    });
    bench.on('exit', () => fail(new Error(`the bench ended: ${said}`)));
  });
  browser = await chromium.launch({
    executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium',
    args: ['--no-sandbox'],
  });
  page = await browser.newPage({ viewport: { width: 1440, height: 900 } });
  page.on('pageerror', (error) => faults.push(error.message));
  page.on('console', (message) => message.type() === 'error' && faults.push(message.text()));
  await page.goto(url);
  await page.getByText('stop this face').waitFor();
});

after(async () => {
  await browser?.close();
  bench?.kill();
  if (folder) rmSync(folder, { recursive: true, force: true });
});

const station = (name) => page.getByRole('button', { name, exact: true }).first().click();

test('the face is judged at once', async () => {
  await page.getByText(/\d+ things stop this face/).waitFor();
  assert.ok((await page.getByText('Falls out').count()) >= 4, 'islands are told');
});

test('a number typed is checked and painted soon', async () => {
  const width = page.getByLabel('Width', { exact: true });
  const before = await width.inputValue();
  const started = Date.now();
  await page.getByRole('button', { name: 'Width: less' }).click();
  await page.waitForFunction(
    ([id, old]) => document.getElementById(id).value !== old,
    [await width.getAttribute('id'), before],
  );
  await page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))));
  assert.ok(Date.now() - started < 2000, `took ${Date.now() - started} ms`);
  assert.notEqual(await width.inputValue(), before, 'the width changed');
});

test('mending proposes numbered edits', async () => {
  await station('Mend');
  await page.getByText('Bridge to an island').first().waitFor();
  assert.ok((await page.getByText('Bridge to an island').count()) >= 4, 'a bridge for every island');
});

test('the template comes as a true-size PDF', async () => {
  await station('Print');
  const [download] = await Promise.all([
    page.waitForEvent('download'),
    page.getByRole('button', { name: /Template/ }).or(page.getByRole('link', { name: /Template/ })).first().click(),
  ]);
  const bytes = readFileSync(await download.path(), 'latin1');
  assert.ok(bytes.startsWith('%PDF-1.7'), 'a PDF');
  assert.match(bytes, /\/MediaBox\s*\[\s*0 0 612 792\s*\]/, 'exactly Letter');
  assert.match(bytes, /\/PrintScaling\s*\/None/, 'never scaled');
});

test('a reload keeps all', async () => {
  await station('Place');
  const width = page.getByLabel('Width', { exact: true });
  const typed = await width.inputValue();
  await page.getByText('saved', { exact: true }).waitFor();
  await page.reload();
  await page.getByText('stop this face').waitFor();
  assert.equal(await page.getByLabel('Width', { exact: true }).inputValue(), typed, 'the width is still there');
});

test('the page passes an accessibility audit', async () => {
  for (const name of ['Place', 'Mend', 'Print', 'Drawer']) {
    await station(name);
    await page.waitForTimeout(800);
    const found = await page.evaluate(async (source) => {
      // The page's own rules forbid injected scripts; the audit runs in the debugger's world.
      (0, eval)(source);
      return (await window.axe.run(document, { resultTypes: ['violations'] })).violations;
    }, axe).catch((error) => assert.fail(`the audit could not run: ${error.message}`));
    const grave = found.filter((v) => ['serious', 'critical'].includes(v.impact));
    assert.deepEqual(grave.map((v) => `${v.id}: ${v.nodes[0].html.slice(0, 120)}`), [], name);
  }
});

test('strangers are turned away', async () => {
  const bare = url.split('#')[0];
  const asked = await fetch(new URL('/api/check', bare), { method: 'POST', body: '{}' });
  assert.ok([401, 403, 404].includes(asked.status), `without the key: ${asked.status}`);
  const policy = (await fetch(bare)).headers.get('content-security-policy') ?? '';
  assert.match(policy, /default-src 'none'/, 'a strict policy');
});

test('nothing went wrong on the way', () => assert.deepEqual(faults, []));
