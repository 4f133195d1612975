// The whole path in a real browser: a face is dropped, laid, judged, mended by
// hand, printed true to size, and all of it is there after a reload and a crash.
import assert from 'node:assert/strict';
import { readFileSync, readdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import * as b from './bench.mjs';

let bench, browser, page, folder;

before(async () => {
  folder = b.folder();
  bench = await b.start(['--drawer', b.face('')], folder);
  browser = await b.launch();
  page = await b.visit(browser, bench.url);
});

after(async () => {
  await browser?.close();
  await bench?.stop();
  b.clear(folder);
});

const near = (a, c, within, what) => assert.ok(Math.abs(a - c) <= within, `${what}: ${a} against ${c}`);

test('an SVG dropped on the page is judged at once', async () => {
  await page.getByText('Bring a face').waitFor();
  await b.drop(page, [b.face('cat.svg')]);
  await page.getByText('things stop this face').waitFor();
  assert.equal(await b.model(page, 'project'), 'cat');
  assert.equal(await page.locator('.faults li', { hasText: 'Falls out' }).count(), 2, 'the slit pupils');
  assert.ok(readdirSync(folder).includes('cat.fretgrin.toml'), 'and kept in a file at once');
});

test('a picture dropped on the page is traced and judged', async () => {
  const easel = await browser.newPage({ viewport: { width: 700, height: 900 } });
  await easel.setContent(`<body style="margin:0"><img width="700" src="data:image/svg+xml;base64,${readFileSync(b.face('owl.svg')).toString('base64')}">`);
  const photo = join(folder, 'photo.png');
  writeFileSync(photo, await easel.screenshot());
  await easel.close();
  await b.drop(page, [photo]);
  await b.until(async () => await b.model(page, 'project') === 'photo', 'the picture is opened');
  const report = await b.model(page, 'view.report');
  assert.ok(report.totals.cutouts >= 15, `cut-outs found: ${report.totals.cutouts}`);
  await b.drop(page, [new URL(import.meta.url).pathname]);
  await page.getByRole('alert').getByText(/path\.test\.mjs: /).waitFor();
  await page.getByRole('button', { name: 'Close', exact: true }).click();
  assert.equal(await b.model(page, 'project'), 'photo', 'what is no drawing changes nothing');
  page.faults = page.faults.filter((fault) => !/ 422 /.test(fault)); // the browser notes the refusal
});

test('the drawer shows every face with its verdict, and one is picked', async () => {
  await b.station(page, 'Drawer');
  await b.until(async () => await page.locator('.tile .verdict-line:not(.soft)').count() === 6, 'six faces judged');
  await page.locator('.projects').getByText('cat').click();
  await b.judged(page);
  assert.equal(await b.model(page, 'project'), 'cat');
});

test('a finding picked on the wood tells where, how much, against what and what helps', async () => {
  const mark = page.locator('.spot.stop').first();
  const id = await mark.getAttribute('data-finding');
  await page.mouse.click(...await b.middle(mark));
  const open = page.locator(`.faults li.open[data-finding="${id}"]`);
  await open.waitFor();
  for (const word of ['Where', 'from the left', 'What helps']) assert.ok((await open.innerText()).includes(word), word);
  await page.mouse.click(...await b.middle(page.locator(`.spot[data-finding="${id}"]`)));
  await open.waitFor({ state: 'detached' });
});

test('the face is dragged, catches the centre, and is turned and scaled by handles', async () => {
  const hold = await b.middle(page.locator('#hands .hold'));
  await b.drag(page, hold, [hold[0] + 4, hold[1] - 90]);
  await b.saved(page);
  const [was, window] = [await b.model(page, 'view.middle'), await b.model(page, 'view.report.window')];
  assert.ok(was[1] > window.y_mm + window.height_mm / 2 + 5, 'moved up');
  near(was[0], window.x_mm + window.width_mm / 2, 0.001, 'four pixels aside the centre catches it');
  const corner = await b.middle(page.locator('[data-hold=scale] .knob').first());
  const mid = await b.middle(page.locator('#hands .hold'));
  await b.drag(page, corner, [corner[0] + (mid[0] - corner[0]) * 0.2, corner[1] + (mid[1] - corner[1]) * 0.2]);
  await b.saved(page);
  const grip = await b.middle(page.locator('[data-hold=turn] .knob'));
  await b.drag(page, grip, [grip[0] + 60, grip[1] + 10]);
  await b.saved(page);
  const fit = await b.model(page, 'view.report.fit');
  assert.ok(fit.turn_deg < -5, `turned clockwise: ${fit.turn_deg}`);
  for (let i = 0; i < 3; i += 1) await page.getByRole('button', { name: 'Undo' }).click();
  await b.saved(page);
  await b.until(async () => (await b.model(page, 'view.report.fit.turn_deg')) === 0, 'undone');
});

test('numbers are typed in inches and in millimetres', async () => {
  const width = page.getByLabel('Width', { exact: true });
  await width.fill('2-1/2in');
  await width.press('Tab');
  await b.saved(page);
  await b.until(async () => Math.abs(await b.model(page, 'view.report.fit.width_mm') - 63.5) < 0.01, '2-1/2 in wide');
  await page.getByRole('button', { name: /units/ }).click();
  await b.saved(page);
  assert.equal(await width.inputValue(), '63.5');
  await width.fill('70');
  await width.press('Tab');
  await b.saved(page);
  await b.until(async () => Math.abs(await b.model(page, 'view.report.fit.width_mm') - 70) < 0.01, '70 mm wide');
  await width.fill('wide');
  await page.getByText('write it like').waitFor();
  await page.keyboard.press('Escape');
  await width.fill('70');
  await page.getByRole('button', { name: /units/ }).click();
  await page.getByRole('button', { name: 'Fill the window' }).click();
  await b.saved(page);
});

test('wood, thickness, grain, blade, drills and box are chosen, and each is judged anew', async () => {
  const report = () => b.model(page, 'view.report');
  // The width may be practice's, whatever the wood; how it came about names its strengths.
  const needs = async () => (await report()).bridges.map((bridge) => bridge.derivation.join()).join();
  const changed = async (what, act, see) => {
    const old = await see();
    await act();
    await b.saved(page);
    await b.until(async () => await see() !== old, `${what} changes what is judged`);
  };
  await changed('the wood', () => page.getByLabel('Wood', { exact: true }).selectOption({ index: 5 }), needs);
  await changed('the thickness', () => page.getByRole('button', { name: 'Thickness, measured: less' }).click(), needs);
  // Slanting, not level: a box's walls are cut with the grain upright, and level is refused with it.
  await changed('the grain', () => page.getByLabel('Grain').selectOption('45'), needs);
  await changed('the blade', () => page.getByLabel('Blade', { exact: true }).selectOption({ index: 0 }), async () => (await report()).setup.blade);
  await changed('the drills', () => page.getByLabel('1 mm', { exact: true }).check(), async () => JSON.stringify(await b.model(page, 'state.shop.drills.owned')));
  await page.getByRole('heading', { name: 'Panel and box' }).click();
  await changed('the box', () => page.getByText('Plan a lantern box').click(), async () => JSON.stringify((await report()).window));
  assert.ok(await page.locator('.nail').count() > 4, 'nails are shown');
  for (let i = 0; i < 6; i += 1) {
    await page.getByRole('button', { name: 'Undo' }).click();
    await b.saved(page);
  }
  assert.ok(!await b.model(page, 'state.shop.box'), 'all undone');
});

test('a bridge is dragged to another place, its image with it', async () => {
  await b.station(page, 'Mend');
  const proposed = await b.mended(page);
  const bridge = proposed.edits.find((edit) => edit.kind === 'bridge');
  assert.ok(bridge, 'a bridge is proposed');
  assert.ok(proposed.after.report.totals.stop < proposed.before.report.totals.stop, 'it helps');
  await page.getByLabel('After', { exact: true }).check();
  const knob = page.locator(`.edit-knob[data-hold=e${bridge.id}] .target`);
  const from = await b.middle(knob);
  // To the other end of the slit: mirrored about the island's middle.
  const island = proposed.before.report.islands.map((one) => [one.x_mm, one.y_mm]).sort((p, q) => Math.hypot(p[0] - bridge.at[0], p[1] - bridge.at[1]) - Math.hypot(q[0] - bridge.at[0], q[1] - bridge.at[1]))[0];
  const goal = [2 * island[0] - bridge.at[0], 2 * island[1] - bridge.at[1]];
  await b.drag(page, from, await b.onScreen(page, goal));
  const moved = await b.mendedSo(page, (answer) => answer.bridges.length > 0, 'the bridge is placed');
  const placed = moved.bridges.find((one) => Math.hypot(one.at[0] - goal[0], one.at[1] - goal[1]) < 3);
  assert.ok(placed, `near where it was let go: ${JSON.stringify(moved.bridges.map((one) => one.at))} for ${goal}`);
  assert.equal(moved.bridges.length, bridge.pair ? 2 : 1, 'its image moved, too');
  assert.equal(moved.after.report.islands.length, 0, 'nothing falls out');
});

test('a bridge is widened, taken back by undo and set again by redo', async () => {
  const width = async () => (await b.mended(page)).bridges[0].width_mm;
  const old = await width();
  const row = page.locator('[data-edit=h0]');
  if (!await row.locator('.detail').count()) await row.locator('.fault').click();
  await row.getByRole('button', { name: 'Width: more' }).click();
  await b.mendedSo(page, (answer) => answer.bridges[0].width_mm > old, 'wider');
  const wide = await width();
  assert.equal(await page.evaluate(() => document.activeElement.getAttribute('aria-label')), 'Width: more', 'the keyboard stays where it was');
  await page.keyboard.press('Control+z');
  await b.mendedSo(page, (answer) => answer.bridges[0].width_mm === old, 'undone');
  await page.keyboard.press('Control+y');
  await b.mendedSo(page, (answer) => answer.bridges[0].width_mm === wide, 'done again');
});

test('an edit is refused and accepted again; all are accepted', async () => {
  const [count] = [(await b.mended(page)).refused.length];
  assert.equal(await b.model(page, 'state.mend.on'), false, 'dragging and widening accept nothing');
  await page.getByRole('button', { name: /^Accept/ }).first().click();
  await b.saved(page);
  assert.equal(await b.model(page, 'state.mend.on'), true);
  const edits = (await b.mendedSo(page, (answer) => answer.refused.length === count, 'worked out')).edits.length;
  if (edits > 0) {
    await page.getByRole('button', { name: /^Refuse edit/ }).first().click();
    await b.mendedSo(page, (answer) => answer.refused.length > count, 'refused');
    await page.getByRole('button', { name: 'Undo' }).click();
    await b.mendedSo(page, (answer) => answer.refused.length === count, 'accepted again');
  }
});

test('how far to mend is chosen, and what would only want care stays as drawn', async () => {
  const all = (await b.mended(page)).summary.area_changed_share;
  await page.getByLabel('Only what would fail').check();
  await b.mendedSo(page, (answer) => answer.summary.area_changed_share < all, 'less is changed');
  await b.saved(page);
  assert.equal(await b.model(page, 'state.mend.only_stops'), true, 'remembered');
  await page.getByLabel('All that is weak').check();
  await b.mendedSo(page, (answer) => answer.summary.area_changed_share === all, 'as before');
});

test('before and after stand side by side under a divider that slides', async () => {
  await page.getByLabel('Compare').check();
  const divider = page.getByRole('slider', { name: 'Divider between before and after' });
  const at = await b.middle(divider.locator('circle'));
  await b.drag(page, at, [at[0] - 60, at[1]]);
  const moved = Number(await divider.getAttribute('aria-valuenow'));
  assert.ok(moved < 45, `slid: ${moved}`);
  await page.keyboard.press('ArrowRight');
  assert.equal(Number(await divider.getAttribute('aria-valuenow')), moved + 2, 'and by keys');
  await page.getByLabel('As sawn').check();
  assert.ok((await page.locator('.board path.cut').first().getAttribute('d')).length > 500, 'the opening as the blade leaves it');
  await b.station(page, 'Night');
  const lit = await page.locator('.lantern img').evaluate((image) => image.decode().then(() => image.naturalHeight));
  assert.ok(lit > 400, 'and at night');
});

test('the PDF is true to size, and so is what the browser prints', async (t) => {
  await b.station(page, 'Print');
  const pages = await page.locator('.pages img').evaluateAll((images) => Promise.all(images.map((image) => image.decode().then(() => image.naturalWidth / image.naturalHeight))));
  assert.ok(pages.length >= 2 && pages.every((ratio) => ratio > 0.5), `pages shown: ${pages}`);
  const pdf = await b.download(page, 'template');
  assert.equal(pdf.name, 'cat-template.pdf');
  assert.match(pdf.bytes.toString('latin1'), /\/PrintScaling\s*\/None/, 'never scaled');
  const found = b.measure(pdf.path);
  if (!found) return t.skip('no PyMuPDF: set FRETGRIN_PYTHON');
  const [x0, y0, x1, y1] = found.panel;
  near(x1 - x0, 133.35, 0.01, 'the panel 5-1/4 in wide');
  near(y1 - y0, 254, 0.01, 'and 10 in high');
  const { fit } = (await b.mended(page)).after.report;
  near(found.cut[0] - x0, fit.left_mm, 0.01, 'the face from the left');
  near(found.cut[1] - y0, fit.bottom_mm, 0.01, 'and from below');
  near(found.cut[2] - found.cut[0], fit.width_mm, 0.01, 'its width');
  near(found.cut[3] - found.cut[1], fit.height_mm, 0.01, 'its height');
  for (const paper of ['letter', 'a4']) {
    await page.getByLabel('Sheet').selectOption(paper);
    await b.saved(page);
    await b.until(async () => Math.abs(await page.locator('.pages img').first().evaluate((image) => image.width / image.height) - (paper === 'a4' ? 210 / 297 : 8.5 / 11)) < 0.01, paper);
    await page.evaluate(() => { window.print = () => { window.printed = true; }; window.printed = false; });
    await page.getByRole('button', { name: 'Print at true size' }).click();
    await page.waitForFunction(() => window.printed);
    const printed = join(folder, `${paper}.pdf`);
    writeFileSync(printed, await page.pdf({ preferCSSPageSize: true }));
    const { lines } = b.measure(printed);
    for (const mm of [100, 101.6]) {
      const off = lines.map((line) => Math.abs(line - mm)).sort((p, q) => p - q);
      assert.ok(off[1] < 0.01, `both ${mm} mm rulers on ${paper}: off by ${off.slice(0, 2)}`);
    }
    await page.evaluate(() => dispatchEvent(new Event('afterprint')));
  }
});

test('every file of the take-away list comes', async () => {
  const begins = { png: '\x89PNG', svg: '<!-- fretgrin', json: '{', pdf: '%PDF', csv: 'mark,part', dxf: '' };
  const kinds = await page.locator('[data-file]').evaluateAll((keys) => keys.map((key) => key.dataset.file));
  assert.ok(kinds.length >= 10, kinds.join());
  for (const kind of kinds) {
    const file = await b.download(page, kind);
    const start = begins[file.name.split('.').at(-1)];
    assert.ok(start !== undefined && file.bytes.length > 100 && file.bytes.toString('latin1').startsWith(start), `${kind}: ${file.name}`);
  }
});

test('a reload keeps all, and the commands read the same project', async () => {
  const state = await b.model(page, 'state');
  await page.reload();
  await b.judged(page);
  assert.deepEqual(await b.model(page, 'state'), state);
  await b.station(page, 'Mend');
  assert.ok((await b.mended(page)).bridges.length > 0, 'the dragged bridge is there');
  const said = b.run(['check', 'cat.fretgrin.toml', '--json'], folder);
  assert.equal(JSON.parse(said.stdout).islands.length, 0, 'fretgrin check sees the mended face');
});

test('a second tab meets the first one’s change and loses nothing', async () => {
  const second = await page.context().newPage();
  await second.goto(page.url());
  await b.judged(second);
  const turn = second.getByLabel('Turn', { exact: true });
  await b.station(page, 'Place');
  await page.getByRole('button', { name: 'Turn: more' }).click();
  await b.saved(page);
  await second.getByRole('button', { name: 'Turn: less' }).click();
  await second.getByText('Another tab changed this project').waitFor();
  await second.getByRole('button', { name: 'Keep mine' }).click();
  await b.saved(second);
  assert.equal(await turn.inputValue(), '-1°');
  await second.getByRole('button', { name: 'Undo' }).click();
  await b.until(async () => await turn.inputValue() === '1°', 'the first tab’s change is one undo away');
  await second.close();
});

test('a crash loses nothing that was saved', async () => {
  await page.reload();
  await b.judged(page);
  const width = page.getByLabel('Width', { exact: true });
  for (let i = 0; i < 6; i += 1) await page.getByRole('button', { name: 'Width: less' }).click();
  await b.saved(page);
  const kept = await width.inputValue();
  await bench.stop('SIGKILL');
  await page.getByRole('button', { name: 'Width: less' }).click();
  await page.getByText('fretgrin cannot be reached').waitFor();
  const text = readFileSync(join(folder, 'cat.fretgrin.toml'), 'utf8');
  bench = await b.start([join(folder, 'cat.fretgrin.toml')], folder);
  const again = await b.visit(browser, bench.url);
  await b.judged(again);
  assert.equal(await again.getByLabel('Width', { exact: true }).inputValue(), kept);
  assert.equal(readFileSync(join(folder, 'cat.fretgrin.toml'), 'utf8'), text, 'the file is whole');
  assert.deepEqual(readdirSync(folder).filter((name) => name.startsWith('.')), [], 'nothing is left beside it');
  assert.deepEqual(again.faults, []);
  assert.deepEqual(page.faults.filter((fault) => !/ERR_CONNECTION|409/.test(fault)), [], 'nothing went wrong on the way');
});
