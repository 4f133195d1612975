// Settings in the browser: units, drills, blades, the box, undo after a refusal,
// and that what is printed is what is set.
import assert from 'node:assert/strict';
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { after, afterEach, before, beforeEach, test } from 'node:test';
import * as b from './bench.mjs';

let browser, bench, page, folder;

const SHOP = `units = "inch"
[panel]
thickness = 0.75
[clear]
all = 1
[paper]
size = "8.5x11"
[saw]
blades = ["flat-5", { name = "grandfather", width = 0.06, thickness = 0.02, kerf = 0.03 }]
[drills]
owned = ["1/16in", "1.6mm", "no. 52", "1.625mm"]
[[boards.stock]]
name = "picket"
length = 72
width = "5-1/2"
price = 3
`;

before(async () => { browser = await b.launch(); });
after(async () => browser?.close());
beforeEach(async () => { folder = b.folder(); });
afterEach(async () => {
  await page?.context().close();
  await bench?.stop();
  b.clear(folder);
});

async function open(shop = '') {
  writeFileSync(join(folder, 'shop.toml'), shop);
  bench = await b.start(['--drawer', b.face(''), b.face('owl.svg')], folder);
  page = await b.visit(browser, bench.url);
  await b.judged(page);
}

// What is typed and left stands in the model at once; then it is saved or refused.
async function type(label, text) {
  const field = page.getByLabel(label, { exact: true });
  await field.fill(text);
  await field.press('Tab');
  await b.until(async () => !await b.model(page, 'saving'), 'answered');
}

const fold = (name) => page.getByRole('heading', { name }).click();
const undo = () => page.getByRole('button', { name: 'Undo' }).click();
const state = (path) => b.model(page, `state.shop.${path}`);

test('changing the units changes no board, whatever was written without one', async () => {
  await open(SHOP);
  await fold('Panel and box');
  await type('Panel width', '6');
  await b.saved(page);
  const figures = async () => {
    const { panel, window, bridges, totals } = await b.model(page, 'view.report');
    return JSON.stringify({ panel, window: [window.x_mm, window.y_mm, window.width_mm, window.height_mm], needed: bridges.map((one) => one.needed_mm), length: totals.cut_length_mm });
  };
  const was = await figures();
  assert.match(was, /"thickness_mm":19.05/, 'three quarters of an inch');
  for (const units of ['mm', 'inch']) {
    await page.getByRole('button', { name: /units/ }).click();
    await b.until(async () => await state('units') === units && !await b.model(page, 'saving'), units);
    assert.equal(await b.model(page, 'error'), null, 'all is still a setting');
    assert.equal(await figures(), was, units);
  }
  assert.deepEqual([await state('panel.thickness'), await state('panel.width'), await state('clear.all'), await state('paper.size')], ['0.75in', '6in', '1in', '8.5x11in']);
  const [board] = await state('boards.stock');
  assert.deepEqual([board.length, board.width, (await state('saw.blades'))[1].kerf], ['72in', '5-1/2in', '0.03in']);
  // And from millimetres.
  await page.getByRole('button', { name: /units/ }).click();
  await b.saved(page);
  await type('Panel height', '260');
  await page.getByRole('button', { name: /units/ }).click();
  await b.until(async () => await state('units') === 'inch' && !await b.model(page, 'saving'), 'inches again');
  assert.equal((await b.model(page, 'view.report.panel')).height_mm, 260);
});

test('a chip takes or leaves its own bit alone, however the shop spells the others', async () => {
  await open(SHOP);
  const owned = await state('drills.owned');
  for (const bit of ['1/16 in', '1.6 mm', '#52', '1.625mm']) assert.ok(await page.getByLabel(bit, { exact: true }).isChecked(), `${bit} is shown as owned`);
  await page.getByLabel('1 mm', { exact: true }).check();
  await b.saved(page);
  assert.deepEqual(await state('drills.owned'), [...owned, '1 mm'], 'one more');
  await page.getByLabel('1.6 mm', { exact: true }).uncheck();
  await b.saved(page);
  assert.deepEqual(await state('drills.owned'), ['1/16in', 'no. 52', '1.625mm', '1 mm'], 'one less');
});

test('the blades only this shop has can be picked', async () => {
  await open(SHOP);
  await page.getByLabel('Blade', { exact: true }).selectOption('grandfather');
  await b.until(async () => await b.model(page, 'view.report.setup.blade') === 'grandfather', 'sawn with it');
  assert.equal(await b.model(page, 'error'), null);
});

test('undo after a refused change leads to what was saved, then further back', async () => {
  await open();
  await fold('Panel and box');
  await type('Panel width', '1mm');
  await page.getByText('not saved: a setting is wrong').waitFor();
  await undo();
  await b.until(async () => await state('panel.width') === '5-1/4in', 'also where nothing else was changed');
  for (const width of ['6in', '7in']) {
    await type('Panel width', width);
    await b.saved(page);
  }
  await type('Panel width', '1mm');
  await page.getByText('not saved: a setting is wrong').waitFor();
  for (const width of ['7in', '6in']) {
    await undo();
    await b.saved(page);
    assert.equal(await state('panel.width'), width);
    await b.until(async () => Math.abs((await b.model(page, 'view.report.panel')).width_mm - parseFloat(width) * 25.4) < 0.01, `${width} is shown`);
  }
});

test('a refused question about what is no longer shown says nothing', async () => {
  await open();
  await fold('Panel and box');
  let hold = true;
  const late = [];
  await page.route('**/api/check', async (route) => {
    if (!hold) return route.continue();
    const reply = await route.fetch();
    late.push(() => route.fulfill({ response: reply }));
  });
  const field = page.getByLabel('Panel width', { exact: true });
  await field.fill('1mm');
  await b.until(() => late.length > 0, 'asked');
  hold = false;
  await field.fill('6in');
  await field.press('Tab');
  await b.saved(page);
  late.forEach((answer) => answer());
  await page.waitForTimeout(300);
  assert.equal(await b.model(page, 'error'), null, 'the saved state is sound');
  await b.saved(page);
});

test('the box’s fields come and go with it, and a side it decides says so', async () => {
  await open();
  await fold('Panel and box');
  await page.getByText('Plan a lantern box').click();
  await page.getByLabel('Lid', { exact: true }).waitFor();
  await b.saved(page);
  assert.ok(await page.getByLabel('Panel width', { exact: true }).isEnabled(), 'the panel decides the box');
  await undo();
  await page.getByLabel('Lid', { exact: true }).waitFor({ state: 'detached' });
  await page.getByRole('button', { name: 'Redo' }).click();
  await page.getByLabel('Lid', { exact: true }).selectOption('none');
  await b.saved(page);
  await page.evaluate(async () => (await import('/model.js')).set({ box: { width: '7in' } }));
  await b.saved(page);
  await page.getByText('set by the box: its width is 7in').waitFor();
  const width = page.getByLabel('Panel width', { exact: true });
  assert.ok(await width.isDisabled(), 'it would do nothing');
  assert.equal(await width.inputValue(), '7', 'what comes of it');
  assert.ok(await page.getByLabel('Panel height', { exact: true }).isEnabled(), 'the height is free');
});

test('only the pages of what is set are printed', async () => {
  await open();
  await b.station(page, 'Print');
  await page.evaluate(() => {
    window.prints = [];
    window.print = () => { window.prints.push([...document.querySelectorAll('#press img')].map((image) => image.style.page).join()); dispatchEvent(new Event('afterprint')); };
  });
  const press = () => page.getByRole('button', { name: 'Print at true size' }).click();
  const prints = () => page.evaluate(() => window.prints);
  await press();
  await b.until(async () => (await prints()).length === 1, 'the pages shown');
  assert.match((await prints())[0], /^p2159x2794/, 'letter');
  // Pages on their way are waited for.
  const waiting = [];
  let hold = true;
  await page.route('**/api/pages', async (route) => {
    if (hold) await new Promise((go) => waiting.push(go));
    await route.continue();
  });
  await page.getByLabel('Sheet').selectOption('a4');
  await press();
  await page.waitForTimeout(400);
  assert.equal((await prints()).length, 1, 'not the old pages');
  hold = false;
  waiting.splice(0).forEach((go) => go());
  await b.until(async () => (await prints()).length === 2, 'but the new ones');
  assert.match((await prints())[1], /^p2100x2970/, 'A4');
  // Pages that cannot be fetched, of this face or another, print nothing.
  await page.unroute('**/api/pages');
  await page.route('**/api/pages', (route) => route.abort());
  await b.drop(page, [b.face('cat.svg')]);
  await b.until(async () => await b.model(page, 'project') === 'cat', 'another face');
  await b.station(page, 'Place');
  await page.locator('.station', { hasText: 'Print' }).click();
  await page.getByText('The pages could not be fetched').waitFor();
  await press();
  await page.getByText('Nothing was printed').waitFor();
  assert.equal((await prints()).length, 2, 'not the first face');
  await page.unroute('**/api/pages');
  await b.station(page, 'Place');
  await b.station(page, 'Print');
  await press();
  await b.until(async () => (await prints()).length === 3, 'once they are there');
});

test('pages that arrive late stay off another station’s board', async () => {
  await open();
  const waiting = [];
  await page.route('**/api/pages', async (route) => {
    await new Promise((go) => waiting.push(go));
    await route.continue();
  });
  await page.locator('.station', { hasText: 'Print' }).click();
  await b.until(() => waiting.length > 0, 'asked');
  await b.station(page, 'Place');
  const answered = page.waitForResponse('**/api/pages');
  waiting.splice(0).forEach((go) => go());
  await answered;
  await page.waitForTimeout(200);
  assert.equal(await page.locator('.pages').count(), 0, 'the board stays');
  assert.ok(await page.locator('.board .face').count() > 0);
});
