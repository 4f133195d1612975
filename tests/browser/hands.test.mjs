// Fingers, quick hands and the keyboard: what is pressed once is done once, what is
// typed stays, what was not meant is not done.
import assert from 'node:assert/strict';
import { after, afterEach, before, beforeEach, test } from 'node:test';
import * as b from './bench.mjs';

let browser, bench, page, folder;

before(async () => { browser = await b.launch(); });
after(async () => browser?.close());
beforeEach(async () => { folder = b.folder(); });
afterEach(async () => {
  const faults = (page?.faults ?? []).filter((fault) => !/ERR_INTERNET_DISCONNECTED/.test(fault));
  await page?.context().close();
  await bench?.stop();
  b.clear(folder);
  assert.deepEqual(faults, [], 'nothing goes wrong unseen');
});

const PHONE = { viewport: { width: 390, height: 844 }, isMobile: true, hasTouch: true };

async function open(face, options = {}) {
  bench = await b.start([b.face(`${face}.svg`)], folder);
  page = await b.visit(browser, bench.url, options);
  await b.judged(page);
}

async function atMend(face, options) {
  await open(face, options);
  await b.station(page, 'Mend');
  return b.mendedSo(page, (answer) => answer.edits.length > 0, 'mended');
}

// Fingers on the screen: `touch(type, points)` as the browser itself reports them.
async function fingers() {
  const session = await page.context().newCDPSession(page);
  return (type, points = []) => session.send('Input.dispatchTouchEvent', { type, touchPoints: points.map(([x, y], id) => ({ x, y, id })) });
}

const mend = () => b.model(page, 'state.mend');
const shown = () => page.locator('.board').getAttribute('viewBox');
const settled = (check, what) => b.until(async () => check(await mend()), what);
const edit = (id) => page.locator(`[data-edit="e${id}"]`);

async function openEdit(id) {
  await edit(id).locator('.fault').click();
  await edit(id).locator('input').waitFor();
}

test('presses on a width made before the answer comes are steps each, and one choice', async () => {
  const { edits } = await atMend('cat');
  await openEdit(1);
  const more = edit(1).getByRole('button', { name: 'Width: more' });
  for (let press = 0; press < 5; press += 1) await more.click();
  const sixteenths = Math.round(edits[0].width_mm / 25.4 * 16) + 5;
  await settled(({ settled: all }) => all.length === 1 && Math.abs(all[0].width_mm - sixteenths * 25.4 / 16) < 0.01, 'five steps, one choice');
  await b.mendedSo(page, (answer) => answer.edits[0].settled !== null, 'answered');
  await edit(1).getByRole('button', { name: 'Needed width again' }).click();
  await settled(({ settled: all }) => all.length === 0, 'as needed');
});

test('what is typed in a width stays while the answer to something else comes', async () => {
  await atMend('cat');
  await openEdit(1);
  const field = edit(1).locator('input');
  await page.getByRole('button', { name: 'Refuse edit 2', exact: true }).click();
  // A field made anew between marking and typing takes the five at the second try.
  await b.until(async () => {
    await field.fill('5');
    return await field.inputValue() === '5' && await field.getAttribute('data-typed');
  }, 'a five is typed');
  await b.mendedSo(page, (answer) => answer.refused.length > 0, 'the other one is refused');
  await field.press('End');
  await field.pressSequentially('/16');
  assert.equal(await field.inputValue(), '5/16');
  await field.press('Enter');
  await settled(({ settled: all }) => all.filter((one) => one.width_mm !== undefined).every((one) => Math.abs(one.width_mm - 7.938) < 0.01)
    && all.some((one) => one.width_mm !== undefined), 'five sixteenths, nothing else');
});

test('two fingers bring the board closer at Mend, whatever the first one fell on', async () => {
  await atMend('cat', PHONE);
  await page.locator('#grip').click();
  const knob = page.locator('.edit-knob.moves:has(.disc)').first();
  const [x, y] = await b.middle(knob);
  const touch = await fingers();
  const pinch = async () => {
    const before = await shown();
    await touch('touchStart', [[x, y]]);
    await touch('touchStart', [[x, y], [x + 40, y + 40]]);
    for (const far of [60, 90, 120]) await touch('touchMove', [[x - far / 3, y], [x + far, y + far]]);
    await touch('touchEnd');
    await b.until(async () => await shown() !== before, 'closer');
  };
  await pinch();
  assert.deepEqual([(await mend()).settled, (await mend()).bridges], [[], []], 'no bridge is moved');
  assert.equal(await page.locator('.ghost').count(), 0);
  await page.getByRole('button', { name: 'Whole board' }).click();
  await page.locator('#grip').click();
  await page.getByRole('button', { name: 'Place a bridge' }).click();
  await page.locator('#grip').click();
  await pinch();
  await touch('touchStart', [[x, y]]);
  await touch('touchCancel');
  assert.deepEqual((await mend()).bridges, [], 'none is placed');
  assert.ok(await page.evaluate(async () => (await import('/mend.js')).mending.placing), 'the next tap still does');
});

test('a second pinch with one finger kept down, a rolling tap and a finger taken away lay nothing', async () => {
  await open('owl', PHONE);
  await page.locator('#grip').click();
  const laid = async () => JSON.stringify(await b.model(page, 'state'));
  const fit = await laid();
  const touch = await fingers();
  const [x, y] = await b.onScreen(page, [12, 240]); // beside the face
  await touch('touchStart', [[x, y], [x + 60, y]]);
  await touch('touchMove', [[x - 5, y], [x + 90, y]]);
  await touch('touchEnd', [[x - 5, y]]);
  await touch('touchStart', [[x - 5, y], [x + 60, y]]);
  await touch('touchMove', [[x - 5, y], [x + 110, y]]);
  await touch('touchEnd');
  await page.getByRole('button', { name: 'Whole board' }).click();
  const at = await b.middle(page.locator('.spot.care').first());
  await touch('touchStart', [at]);
  await touch('touchMove', [[at[0] + 4, at[1] + 3]]);
  await touch('touchEnd');
  await page.locator('.faults li.open').waitFor();
  await page.locator('#grip').click();
  let middle = [0, 0];
  await b.until(async () => {
    const was = middle;
    middle = await b.onScreen(page, [66, 127]);
    return Math.hypot(middle[0] - was[0], middle[1] - was[1]) < 0.5;
  }, 'the board stands still');
  await touch('touchStart', [middle]);
  await touch('touchMove', [[middle[0] + 40, middle[1] + 20]]);
  await b.until(async () => await laid() !== fit, 'dragged');
  await touch('touchCancel');
  await b.until(async () => await laid() === fit, 'back where it was');
});

test('by keyboard a proposed bridge moves as often as asked, and keeps the keyboard', async () => {
  const { edits, before: drawn } = await atMend('cat');
  await openEdit(1);
  await page.locator('.edit-knob[data-hold=e1]').focus();
  for (let press = 0; press < 3; press += 1) await page.keyboard.press('ArrowRight');
  // Millimetres of the panel to the right of where it was proposed.
  const moved = ({ bridges: [bridge] }) => bridge && (bridge.x - edits[0].own[0]) * drawn.report.fit.scale;
  await settled((now) => Math.abs(moved(now) - 3) < 0.01, 'three presses, three millimetres');
  await b.mendedSo(page, (answer) => answer.bridges.length > 0, 'answered');
  const held = () => page.evaluate(() => document.activeElement?.closest('[data-hold]')?.dataset.hold);
  await b.until(async () => await held() === 'h0', 'the keyboard is on the bridge that was moved');
  await page.keyboard.press('ArrowLeft');
  await settled((now) => Math.abs(moved(now) - 2) < 0.01, 'and goes on from there');
});

test('a double press takes out one bridge', async () => {
  const { before: drawn } = await atMend('gourd');
  const holes = drawn.report.cutouts.flatMap((one) => one.entries).slice(0, 3);
  for (const [i, hole] of holes.entries()) {
    await page.getByRole('button', { name: 'Place a bridge' }).click();
    await page.mouse.click(...await b.onScreen(page, [hole.x_mm, hole.y_mm]));
    await settled(({ bridges }) => bridges.length === i + 1, 'placed');
  }
  await b.mendedSo(page, (answer) => answer.bridges.length + answer.lost_bridges.length === 3, 'answered');
  await page.getByRole('button', { name: /Take out your bridge|Take it out/ }).first().dblclick();
  await b.saved(page);
  assert.equal((await mend()).bridges.length, 2);
});

test('the bench is asked again after it could not be reached', async () => {
  await open('cat');
  await page.context().setOffline(true);
  await page.locator('.station', { hasText: 'Mend' }).click();
  await page.getByText('Waiting for fretgrin …').waitFor();
  let tries = 0;
  page.on('request', (request) => { tries += request.url().includes('/api/mend'); });
  await page.waitForTimeout(2000);
  assert.ok(tries <= 2, `asked ${tries} times in two seconds`);
  await page.context().setOffline(false);
  await page.locator('[data-part=edits] h2').waitFor();
  assert.equal(await page.getByText('cannot be mended').count(), 0);
});

test('a key of the top bar keeps the press and the keyboard while the page is saving', async () => {
  await open('owl');
  await page.getByRole('button', { name: 'Turn: more' }).click();
  await b.saved(page);
  const turn = () => b.model(page, 'view.report.fit.turn_deg');
  const undo = page.getByRole('button', { name: 'Undo' });
  // Pressed while nothing is on its way, let go after another change was saved.
  await page.mouse.move(...await b.middle(undo));
  await page.mouse.down();
  await page.evaluate(async () => (await import('/model.js')).set({ fit: { stretch: 3 } }));
  await b.saved(page);
  await page.mouse.up();
  await b.until(async () => await b.model(page, 'state.shop.fit.stretch') === 0, 'the press is done');
  await b.saved(page);
  await undo.press('Enter');
  await b.until(async () => await turn() === 0, 'undone to the start');
  assert.equal(await undo.isDisabled(), true, 'there is nothing more');
  assert.ok(await undo.evaluate((key) => key === document.activeElement), 'the keyboard stays on it');
  await page.keyboard.press('Enter');
  await page.keyboard.press('Tab');
  await page.keyboard.press('Enter');
  await b.until(async () => await turn() === 1, 'redo is the next key');
});

test('a bridge moved again on a symmetric face moves with its mirror image, and so does its width', async () => {
  const { edits, summary } = await atMend('moth');
  const { id } = edits.find((one) => one.kind === 'bridge' && one.pair);
  const paired = ([one, other]) => other && Math.abs(one.x + other.x) < 0.01 && Math.abs(one.y - other.y) < 0.01 && one.width_mm === other.width_mm;
  await openEdit(id);
  await edit(id).getByRole('button', { name: 'Move it right' }).click();
  await b.mendedSo(page, (answer) => answer.bridges.length === 2, 'placed with its image');
  const [first] = (await mend()).bridges;
  const again = page.locator('[data-edit=h0]');
  await again.getByText('Its mirror image is your bridge 2').waitFor();
  await again.getByRole('button', { name: 'Move it down' }).click();
  await again.getByRole('button', { name: 'Width: more' }).click();
  await settled(({ bridges }) => bridges[0].y < first.y && bridges[0].width_mm > 0 && paired(bridges), 'both moved again, both wider');
  const answer = await b.mendedSo(page, ({ bridges }) => bridges.every((one) => one.fixed), 'answered');
  assert.equal(answer.summary.axis_mm, summary.axis_mm, 'the face is still symmetric');
  // Through the middle they change sides and stay a pair.
  const { at } = answer.bridges[0];
  for (const x of [summary.axis_mm - 1, 2 * summary.axis_mm - at[0]]) {
    await page.evaluate(async (to) => (await import('/mend.js')).moveBridge('h0', to), [x, at[1]]);
  }
  await settled(({ bridges }) => bridges[0].x * first.x < 0 && paired(bridges), 'sides changed');
});

test('the drawer keeps the press and the keyboard while something is answered', async () => {
  bench = await b.start(['--drawer', b.face(''), b.face('owl.svg')], folder);
  page = await b.visit(browser, bench.url);
  await b.judged(page);
  await b.station(page, 'Drawer');
  const answered = () => page.evaluate(async () => {
    (await import('/model.js')).tell('view');
    await new Promise((go) => requestAnimationFrame(() => requestAnimationFrame(go)));
  });
  const held = () => page.evaluate(() => document.activeElement.value || document.activeElement.textContent);
  for (const key of [page.getByRole('button', { name: 'Pick a drawing' }), page.getByLabel('All', { exact: true }), page.locator('[data-face="1"] button')]) {
    await key.focus();
    const was = await held();
    await answered();
    assert.equal(await held(), was);
  }
  await page.mouse.move(...await b.middle(page.locator('.tile', { hasText: 'cat.svg' })));
  await page.mouse.down();
  await answered();
  await page.mouse.up();
  await b.until(async () => await b.model(page, 'project') === 'cat', 'the press takes the face');
});
