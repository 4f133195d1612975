// What the maker is told, and where: about drawings taken in, about the face that is
// sawn, about what was picked, and why something was not done.
import assert from 'node:assert/strict';
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { after, afterEach, before, beforeEach, test } from 'node:test';
import * as b from './bench.mjs';

let browser, bench, page, folder;

before(async () => { browser = await b.launch(); });
after(async () => browser?.close());
beforeEach(async () => { folder = b.folder(); });
afterEach(async () => {
  const faults = (page?.faults ?? []).filter((fault) => !/ (409|422) /.test(fault)); // the browser notes refusals
  await page?.context().close();
  await bench?.stop();
  b.clear(folder);
  assert.deepEqual(faults, [], 'nothing goes wrong unseen');
});

async function open(face = 'cat', options = {}) {
  bench = await b.start([b.face(`${face}.svg`)], folder);
  page = await b.visit(browser, bench.url, options);
  await b.judged(page);
}

const DESK = { viewport: { width: 1280, height: 800 } };
const PHONE = { viewport: { width: 390, height: 844 }, isMobile: true, hasTouch: true };

function written(name, text) {
  const path = join(folder, name);
  writeFileSync(path, text);
  return path;
}

test('a bad drawing dropped while another tab’s change stands leaves the choice between the two', async () => {
  await open('owl');
  const second = await b.atOdds(page);
  await b.drop(second, [written('notes.txt', 'hello')]);
  await second.getByText('notes.txt: ').waitFor();
  await second.getByRole('button', { name: 'Close', exact: true }).click();
  await second.getByRole('button', { name: 'Keep mine' }).click();
  await b.saved(second);
  assert.equal(await second.getByLabel('Turn', { exact: true }).inputValue(), '-1°');
});

test('every bad drawing is told, the page stays where it is, and a good one ends it', async () => {
  await open('cat');
  await b.station(page, 'Mend');
  const bad = [written('notes.txt', 'hello'), written('blank.svg', '<svg xmlns="http://www.w3.org/2000/svg" width="100" height="100"/>'), written('empty.svg', '')];
  await b.drop(page, bad);
  for (const name of ['notes.txt: ', 'blank.svg: ', 'empty.svg: ']) await page.getByText(name, { exact: true }).waitFor();
  assert.equal(await page.locator('body').getAttribute('data-station'), 'mend', 'nothing came, nothing changes');
  const told = await page.locator('#wrongs p').allInnerTexts();
  for (const line of told) assert.doesNotMatch(line, /[.] \p{Ll}/u, 'sentences begin with a capital');
  await b.drop(page, [b.face('owl.svg')]);
  await b.until(async () => await b.model(page, 'project') === 'owl', 'the good one comes');
  await page.locator('#wrongs').waitFor({ state: 'hidden' });
});

test('while a drawing is being read, that is said', async () => {
  await open('cat');
  let go;
  await page.route('**/api/new*', async (route) => {
    await new Promise((free) => { go = free; });
    await route.continue();
  });
  await b.drop(page, [b.face('owl.svg')]);
  await page.getByText('Reading owl.svg …').waitFor();
  go();
  await b.until(async () => await b.model(page, 'project') === 'owl', 'read');
  await page.locator('#reading').waitFor({ state: 'hidden' });
});

// Whether the first line of what is open in the tray can be read, and most of it.
const read = (page, row) => page.evaluate((query) => {
  const [node, tray] = [document.querySelector(query), document.querySelector('#tray')].map((one) => one?.getBoundingClientRect());
  return Boolean(node && node.height && node.top >= tray.top - 1 && (node.bottom <= tray.bottom + 1 || node.height > tray.height));
}, row);

for (const [name, options] of Object.entries({ desk: DESK, phone: PHONE })) {
  test(`what is picked on the board opens its details in sight: ${name}`, async () => {
    await open('moth', options);
    const tap = async (locator) => {
      // The board takes its size: longer on a busy machine.
      let at = await b.middle(locator);
      await b.until(async () => {
        await page.waitForTimeout(300);
        const was = at;
        at = await b.middle(locator);
        return Math.hypot(at[0] - was[0], at[1] - was[1]) < 0.5;
      }, 'the board stands still');
      return options.hasTouch ? page.touchscreen.tap(...at) : page.mouse.click(...at);
    };
    const marks = page.locator('.spot.care');
    const last = await marks.nth(await marks.count() - 1).getAttribute('data-finding');
    if (options.hasTouch) await page.locator('#grip').click();
    await tap(page.locator(`.spot[data-finding="${last}"]`));
    await page.locator('.faults li.open').waitFor();
    await b.until(() => read(page, '.faults li.open'), 'the finding is in sight', 3000);
    await b.station(page, 'Mend');
    await b.mendedSo(page, (answer) => answer.edits.length > 0, 'mended');
    const knobs = page.locator('.edit-knob:has(.disc)');
    const key = await knobs.nth(await knobs.count() - 2).getAttribute('data-hold');
    if (options.hasTouch) await page.locator('#grip').click();
    await tap(page.locator(`.edit-knob[data-hold=${key}]`));
    await page.locator('[data-edit].open').waitFor();
    await b.until(() => read(page, '[data-edit].open'), 'the edit is in sight', 3000);
  });
}

const placeAt = async (at) => {
  if (await page.getByText('Tap in an opening').count() === 0) await page.getByRole('button', { name: 'Place a bridge' }).click();
  await page.mouse.click(...await b.onScreen(page, at));
};

test('every finding is told in letters of one size', async () => {
  bench = await b.start([b.face('owl.svg')], folder);
  page = await b.visit(browser, bench.url);
  await b.judged(page);
  const sizes = await page.locator('.faults .fault b').evaluateAll((all) => all.map((node) => [node.closest('li').className, getComputedStyle(node).fontSize]));
  assert.deepEqual([...new Set(sizes.map(([kind]) => kind))].sort(), ['care', 'note']);
  assert.equal(new Set(sizes.map(([, size]) => size)).size, 1, JSON.stringify(sizes));
});

test('no line ends within a length', async () => {
  bench = await b.start([b.face('gourd.svg')], folder);
  page = await b.visit(browser, bench.url, { viewport: { width: 1366, height: 768 } });
  await b.judged(page);
  await page.locator('.faults .fault').first().click();
  const row = page.locator('.faults .open .detail dd', { hasText: 'from the left' });
  await row.waitFor();
  const apart = await row.evaluate((node) => {
    const text = node.firstChild;
    const line = (at) => { const range = new Range(); range.setStart(text, at); range.setEnd(text, at + 1); return range.getBoundingClientRect().top; };
    const torn = [];
    for (let width = 120; width < 320; width += 2) {
      node.style.width = `${width}px`;
      for (const { 0: length, index } of text.data.matchAll(/\d+-\D?\d+\/\d+/g)) if (line(index) !== line(index + length.length - 1)) torn.push(`${length} at ${width}`);
    }
    return torn;
  });
  assert.deepEqual(apart, []);
});

test('a bridge tapped on wood is refused with a word; the next tap may place it', async () => {
  await open('cat', DESK);
  await b.station(page, 'Mend');
  const { before } = await b.mendedSo(page, (answer) => answer.edits.length > 0, 'mended');
  await placeAt([20, 240]);
  await page.locator('#tray').getByText('There is wood').waitFor();
  assert.equal((await b.model(page, 'state.mend.bridges')).length, 0, 'nothing is kept');
  const [hole] = before.report.cutouts.flatMap((one) => one.entries);
  await placeAt([hole.x_mm, hole.y_mm]);
  await b.mendedSo(page, (answer) => answer.bridges.length === 1, 'placed');
  assert.equal(await page.locator('#tray').getByText('There is wood').count(), 0);
});

test('trying something at Mend accepts nothing, and print says so', async () => {
  await open('cat', DESK);
  await b.station(page, 'Mend');
  await b.mendedSo(page, (answer) => answer.edits.length > 0, 'mended');
  const on = () => b.model(page, 'state.mend.on');
  await page.getByRole('button', { name: /^Refuse edit/ }).first().click();
  await b.mendedSo(page, (answer) => answer.refused.length > 0, 'refused');
  await b.saved(page);
  assert.equal(await on(), false, 'refusing accepts nothing');
  await b.station(page, 'Print');
  await page.getByText('what you settled at Mend is not accepted').waitFor();
  await b.station(page, 'Mend');
  await page.getByRole('button', { name: /^Accept/ }).first().click();
  await b.saved(page);
  await page.getByRole('button', { name: 'Forget all choices' }).click();
  await b.saved(page);
  assert.equal(await on(), true, 'nor does forgetting take it back');
});

test('once the edits are accepted, what is said is of the face that is sawn', async () => {
  await open('cat', DESK);
  await b.station(page, 'Mend');
  const { before, after } = await b.mendedSo(page, (answer) => answer.edits.length > 0, 'mended');
  assert.notEqual(after.report.totals.cutouts, before.report.totals.cutouts, 'another number of cut-outs');
  await page.getByRole('button', { name: /^Accept/ }).first().click();
  await b.saved(page);
  const verdict = await page.locator('[data-part=verdict] strong').innerText();
  await b.station(page, 'Place');
  await b.until(async () => await page.locator('.verdict strong').innerText() === verdict, 'the same verdict at Place');
  await page.getByRole('heading', { name: 'At the saw' }).click();
  const figures = await page.locator('.figures dd').allInnerTexts();
  assert.deepEqual(figures.slice(0, 2), [after.report.totals.cutouts, after.report.totals.entry_holes].map(String));
  const order = (await page.locator('.order').innerText()).trim().split('\n');
  assert.equal(order.length, after.report.order.length);
  order.forEach((line, i) => assert.ok(line.startsWith(`cut-out ${after.report.order[i].cutout}, `), line));
  await page.getByRole('heading', { name: 'As drawn, before mending' }).waitFor();
  // Moved, the face is mended anew where it lies now.
  await page.getByRole('button', { name: 'Turn: more' }).click();
  await b.saved(page);
  await b.until(async () => (await page.locator('.figures dd').first().innerText()) !== '…' && await page.evaluate(async () => (await import('/mend.js')).sawn()?.report.fit.turn_deg === 1), 'mended as it lies');
});

test('at night it is said that pieces hang in the light, until the mended face is the one lit', async () => {
  await open('cat', DESK);
  await b.station(page, 'Night');
  await page.getByText('2 pieces of wood shown here would fall out').waitFor();
  await b.station(page, 'Mend');
  await page.getByRole('button', { name: /^Accept/ }).first().click();
  await b.saved(page);
  await b.station(page, 'Night');
  await page.getByText('% of the panel is open, mended').waitFor();
  assert.equal(await page.getByText('would fall out').count(), 0);
});

const pagesOf = (bytes) => bytes.toString('latin1').match(/\/Type\s*\/Page\b/g).length;

test('a file is made of what is shown: a save is waited for, a refused setting told', async () => {
  await open('owl', DESK);
  await b.station(page, 'Print');
  const before = pagesOf((await b.download(page, 'template')).bytes);
  await page.route('**/api/change', async (route) => {
    await new Promise((go) => setTimeout(go, 700));
    await route.continue();
  });
  await page.getByRole('button', { name: 'Copies in the PDF: more' }).click();
  const after = pagesOf((await b.download(page, 'template')).bytes);
  assert.ok(after > before, `two copies have more pages: ${after} against ${before}`);
  let files = 0;
  page.on('download', () => { files += 1; });
  const margin = page.getByLabel('White margin', { exact: true });
  await margin.fill('4in');
  await margin.press('Tab');
  await page.getByText('not saved: a setting is wrong').waitFor();
  await page.locator('[data-file=job]').click();
  await page.locator('#got').getByText('Nothing was made. What is set is not saved').waitFor();
  assert.equal(files, 0);
});

test('nothing is made of what another tab has made of the project since', async () => {
  await open('owl', DESK);
  const second = await page.context().newPage();
  await second.goto(page.url());
  await b.judged(second);
  await b.station(second, 'Print');
  let files = 0;
  second.on('download', () => { files += 1; });
  await page.getByRole('button', { name: 'Turn: more' }).click();
  await b.saved(page);
  await second.locator('[data-file=template]').click();
  await second.locator('#got').getByText('Another tab changed this project').waitFor();
  const turned = await b.model(page, 'state');
  assert.deepEqual(await b.model(second, 'state'), turned, 'what is shown is what the other one made');
  await page.getByRole('button', { name: 'Turn: more' }).click();
  await b.saved(page);
  await second.locator('.station', { hasText: 'Night' }).click();
  await second.locator('.lantern img').waitFor();
  assert.equal(await b.model(second, 'revision'), await b.model(page, 'revision'), 'the picture is of what is shown');
  assert.equal(files, 0);
});

test('a face cannot be dragged out of reach, and escape takes a drag back', async () => {
  await open('owl', DESK);
  const hold = () => b.middle(page.locator('#hands .hold'));
  const was = await b.model(page, 'view.middle');
  const from = await hold();
  await page.mouse.move(...from);
  await page.mouse.down();
  await page.mouse.move(from[0] + 80, from[1] - 60, { steps: 6 });
  await page.keyboard.press('Escape');
  await page.mouse.move(from[0] + 90, from[1] - 60);
  await page.mouse.up();
  await b.saved(page);
  await b.until(async () => String(await b.model(page, 'view.middle')) === String(was), 'back where it was', 3000);
  for (let i = 0; i < 3; i += 1) {
    const [x, y] = await hold();
    await b.drag(page, [x, y], [x + 400, y + 300]);
    await b.saved(page);
  }
  const { fit, panel } = await b.model(page, 'view.report');
  assert.ok(fit.left_mm < panel.width_mm - 5 && fit.bottom_mm + fit.height_mm > 5, `a finger's width stays: ${JSON.stringify(fit)}`);
});

test('an entry that comes to nothing is told after it is left; a decimal comma is one', async () => {
  await open('owl', DESK);
  const width = page.getByLabel('Width', { exact: true });
  const was = await width.inputValue();
  for (const wrong of ['abc', '0', '-3']) {
    await width.fill(wrong);
    await width.press('Tab');
    await page.getByText(`“${wrong}” changed nothing`).waitFor();
    assert.equal(await width.inputValue(), was);
  }
  await width.fill('2,5');
  await width.press('Tab');
  await b.saved(page);
  await b.until(async () => Math.abs(await b.model(page, 'view.report.fit.width_mm') - 63.5) < 0.01, 'two and a half inches');
  assert.equal(await page.getByText('changed nothing').count(), 0);
});

test('a second tab’s face is listed, the full list folds again', async () => {
  await open('cat', DESK);
  const few = await page.locator('.faults li').count();
  await page.getByRole('button', { name: /^Show all/ }).click();
  await b.until(async () => await page.locator('.faults li').count() > few, 'all');
  await page.getByRole('button', { name: 'Show fewer' }).click();
  await b.until(async () => await page.locator('.faults li').count() === few, 'few');
  const second = await page.context().newPage();
  await second.goto(page.url());
  await b.judged(second);
  await b.drop(second, [b.face('moth.svg')]);
  await b.until(async () => await b.model(second, 'project') === 'moth', 'begun in another tab');
  await page.locator('.station', { hasText: 'Drawer' }).click();
  await page.locator('.projects').getByText('moth', { exact: true }).waitFor();
});
