// Everybody can use the page: an audit of every station in both lights, the whole
// path by keyboard alone, by touch, at every width, and without motion.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { after, before, test } from 'node:test';
import * as b from './bench.mjs';

const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
let bench, browser, folder;
let looked; // a page kept for what only looks: mending and night are worked out once

before(async () => {
  folder = b.folder();
  bench = await b.start(['--drawer', b.face(''), b.face('cat.svg')], folder);
  browser = await b.launch();
  looked = await b.visit(browser, bench.url, { isMobile: true, hasTouch: true });
});

after(async () => {
  await browser?.close();
  await bench?.stop();
  b.clear(folder);
});

const unfold = (page) => page.locator('details.card').evaluateAll((cards) => cards.forEach((card) => { card.open = true; }));

// What is wrong by the audit's rules. The page's policy forbids injected scripts;
// the audit runs in the debugger's world, which it does not bind.
// In dark, only colours can differ.
const RULES = { light: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'], dark: ['color-contrast'] };

async function audit(page, light) {
  const found = await page.evaluate(async ([source, runOnly]) => {
    if (!window.axe) (0, eval)(source);
    return (await window.axe.run(document, { resultTypes: ['violations'], runOnly })).violations;
  }, [axe, RULES[light]]);
  return found.map((wrong) => `${wrong.id}: ${wrong.nodes[0].html.slice(0, 140)} (${wrong.nodes.length})`);
}

for (const light of ['light', 'dark']) {
  test(`every station passes the audit, ${light}`, async () => {
    await looked.emulateMedia({ colorScheme: light });
    await b.station(looked, 'Place');
    await b.judged(looked);
    await unfold(looked);
    if (!await looked.locator('.faults li.open').count()) await looked.locator('.faults .fault').first().click();
    assert.deepEqual(await audit(looked, light), [], 'Place, everything open');
    for (const name of b.STATIONS.slice(1)) {
      await b.station(looked, name);
      if (name === 'Mend' && !await looked.locator('.edit-row.open').count()) await looked.locator('[data-part=edits] .fault').first().click();
      assert.deepEqual(await audit(looked, light), [], name);
    }
    assert.deepEqual(looked.faults, []);
  });
}

// What has the keyboard: its name, and whether that can be seen.
const held = (page) => page.evaluate(() => {
  const node = document.activeElement;
  const label = node.labels?.[0]?.innerText;
  const style = getComputedStyle(node);
  const seen = node.matches(':focus-visible') && (parseFloat(style.outlineWidth) > 0 && style.outlineStyle !== 'none' || node.closest('svg, .pick, .chip, .switch') !== null);
  return { name: (node.getAttribute('aria-label') ?? label ?? node.innerText ?? '').trim().replace(/\s+/g, ' '), seen, part: node.closest('header, nav, #stage, #tray')?.id || node.closest('header')?.tagName || '' };
});

// Tabs to what is called so; fails when the keyboard is ever out of sight.
async function tabTo(page, name, most = 90) {
  for (let i = 0; i < most; i += 1) {
    await page.keyboard.press('Tab');
    const now = await held(page);
    if (now.name && !now.seen) assert.fail(`the keyboard is out of sight on “${now.name}”`);
    if (typeof name === 'string' ? now.name === name : name.test(now.name)) return now;
  }
  return assert.fail(`not reached by Tab: ${name}`);
}

test('the whole path by keyboard alone', async () => {
  const page = await b.visit(browser, bench.url);
  await b.judged(page);
  await page.keyboard.press('Tab');
  assert.equal((await held(page)).name, 'Skip to the settings', 'first of all');
  const order = [];
  for (let i = 0; i < 25; i += 1) {
    await page.keyboard.press('Tab');
    order.push((await held(page)).part);
  }
  const parts = order.filter((part, i) => part && part !== order[i - 1]);
  assert.deepEqual(parts, ['HEADER', 'stations', 'stage', 'tray'], 'top bar, stations, board, settings');
  const [chooser] = await Promise.all([page.waitForEvent('filechooser'), page.keyboard.press('Control+o')]);
  await chooser.setFiles({ name: 'tom.svg', mimeType: 'image/svg+xml', buffer: readFileSync(b.face('cat.svg')) });
  await b.until(async () => await b.model(page, 'project') === 'tom', 'the drawing picked is opened');
  await page.locator('.station').first().focus();
  await tabTo(page, /^The face\./);
  const [was] = [await b.model(page, 'view.middle')];
  for (const key of ['ArrowRight', 'Shift+ArrowUp', 'ArrowLeft', '+', ']', 'm', 'c']) await page.keyboard.press(key);
  await b.saved(page);
  const fit = await b.model(page, 'view.report.fit');
  assert.deepEqual([fit.mirrored, fit.turn_deg], [true, -1], 'moved, scaled, turned, mirrored, centred');
  for (let i = 0; i < 7; i += 1) await page.keyboard.press('Control+z');
  await b.until(async () => !(await b.model(page, 'undo')), 'all undone');
  assert.deepEqual(await b.model(page, 'view.middle'), was);
  await tabTo(page, /^Falls out/);
  await page.keyboard.press('Enter');
  await page.locator('.faults li.open').waitFor();
  await page.locator('.station').first().focus();
  await tabTo(page, 'Mend it');
  await page.keyboard.press('Enter');
  await page.locator('[data-part=edits] h2').waitFor();
  await page.locator('.station').nth(1).focus();
  await tabTo(page, 'Divider between before and after');
  await page.keyboard.press('Home');
  await tabTo(page, /Bridge to an island/);
  await page.keyboard.press('Enter');
  // Two tabs within one frame would be past the row before it opens.
  await page.locator('.edit-row.open .keys button').first().waitFor();
  await tabTo(page, 'Move it up');
  await page.keyboard.press('Enter');
  await b.mendedSo(page, (answer) => answer.bridges.length > 0, 'moved');
  await page.locator('.station').nth(1).focus();
  await tabTo(page, /^Take out your bridge 1/);
  await page.keyboard.press('Enter');
  await b.mendedSo(page, (answer) => answer.bridges.length < 2, 'taken out');
  await page.locator('.station').nth(2).focus();
  await tabTo(page, 'Print', 3);
  await page.keyboard.press('Enter');
  await page.locator('.pages img').first().waitFor();
  await page.locator('.station').nth(3).focus();
  await tabTo(page, /^Template PDF/);
  const [file] = await Promise.all([page.waitForEvent('download'), page.keyboard.press('Enter')]);
  assert.match(file.suggestedFilename(), /-template\.pdf$/);
  await page.locator('.station').nth(3).focus();
  await tabTo(page, 'Drawer', 2);
  await page.keyboard.press('Space');
  await page.locator('.tile', { hasText: 'owl.svg' }).locator('.verdict-line:not(.soft)').waitFor();
  await tabTo(page, /^owl\.svg/);
  await page.keyboard.press('Enter');
  await b.until(async () => await b.model(page, 'project') === 'owl', 'a face of the drawer is taken');
  assert.deepEqual(page.faults, []);
  await page.context().close();
});

test('by touch: a finger moves the face, two fingers grow it and turn it, two beside it come closer', async () => {
  const page = await b.visit(browser, bench.url, { viewport: { width: 820, height: 1180 }, hasTouch: true, isMobile: true });
  await b.judged(page);
  const session = await page.context().newCDPSession(page);
  const touch = (type, ...points) => session.send('Input.dispatchTouchEvent', { type, touchPoints: points.map(([x, y], id) => ({ x, y, id })) });
  const glide = async (from, to) => {
    await touch('touchStart', from[0]);
    if (from.length > 1) await touch('touchStart', ...from);
    for (let i = 1; i <= 8; i += 1) await touch('touchMove', ...from.map(([x, y], n) => [x + (to[n][0] - x) * i / 8, y + (to[n][1] - y) * i / 8]));
    await touch('touchEnd');
  };
  const [x, y] = await b.middle(page.locator('#hands .hold'));
  const old = await b.model(page, 'view.middle');
  await glide([[x, y]], [[x, y + 60]]);
  await b.saved(page);
  assert.ok((await b.model(page, 'view.middle'))[1] < old[1] - 10, 'moved down');
  const scale = await b.model(page, 'view.report.fit.scale');
  await glide([[x - 60, y + 60], [x + 60, y + 60]], [[x - 40, y + 60], [x + 40, y + 60]]);
  await b.saved(page);
  const smaller = await b.model(page, 'view.report.fit.scale');
  assert.ok(Math.abs(smaller / scale - 2 / 3) < 0.03, `pinched to two thirds: ${smaller / scale}`);
  const before = await page.locator('.board').getAttribute('viewBox');
  await glide([[80, 300], [160, 300]], [[60, 300], [260, 300]]);
  const [, , closer] = (await page.locator('.board').getAttribute('viewBox')).split(' ').map(Number);
  assert.ok(closer < Number(before.split(' ')[2]) * 0.6, 'the board comes closer');
  assert.equal(await b.model(page, 'view.report.fit.scale'), smaller, 'and the face stays');
  await page.context().close();
});

const WIDTHS = { desktop: [1440, 900], 'tablet, level': [1180, 820], 'tablet, upright': [820, 1180], phone: [360, 740], 'small phone': [320, 568], 'outer screen': [280, 653], 'phone, level': [740, 360], 'letters twice as large': [640, 400] };

// What is too small for a finger, sticks out, is cut off or lies over something else.
const cramped = (page) => page.evaluate(() => {
  const wrong = [];
  const seen = (node) => node.checkVisibility({ visibilityProperty: true, opacityProperty: true }) && node.getBoundingClientRect().width > 2;
  const name = (node) => `${node.tagName.toLowerCase()}.${node.className.baseVal ?? node.className} “${(node.getAttribute('aria-label') ?? node.innerText ?? '').slice(0, 30)}”`;
  if (document.documentElement.scrollWidth > innerWidth) wrong.push(`scrolls sideways: ${document.documentElement.scrollWidth}`);
  for (const node of document.querySelectorAll('button, select, input[type=text], summary, label.pick, label.chip, label.switch, .handle .target, .divider .target')) {
    if (!seen(node)) continue;
    const { width, height } = node.getBoundingClientRect();
    if (Math.min(width, height) < 43.5) wrong.push(`smaller than 44 px: ${name(node)} ${width.toFixed(0)} × ${height.toFixed(0)}`);
    if (node.scrollWidth > node.clientWidth + 2 && !['SELECT', 'INPUT'].includes(node.tagName) && node.clientWidth) wrong.push(`cut off: ${name(node)}`);
  }
  for (const node of document.querySelectorAll('.tray, .card, .shelf')) if (seen(node) && node.scrollWidth > node.clientWidth + 1) wrong.push(`sticks out: ${name(node)}`);
  const inside = (query, around) => {
    const room = document.querySelector(around)?.getBoundingClientRect();
    for (const node of document.querySelectorAll(query)) {
      const box = node.getBoundingClientRect();
      if (seen(node) && (box.left < room.left - 1 || box.right > room.right + 1 || box.top < room.top - 1 || box.bottom > room.bottom + 1)) wrong.push(`sticks out of ${around}: ${name(node)} ${node.textContent}`);
    }
  };
  inside('.bar .pick', '.bar');
  inside('.bar', '.stage');
  inside('.rulers text', '.board');
  const boxes = ['.zoom', '.bar', '.grip', '.stations', '.top', '.tray'].map((kind) => [kind, document.querySelector(kind)]).filter(([, node]) => node && seen(node)).map(([kind, node]) => [kind, node.getBoundingClientRect()]);
  for (const [kind, p] of boxes) for (const [other, q] of boxes) {
    if (kind < other && p.left < q.right - 1 && q.left < p.right - 1 && p.top < q.bottom - 1 && q.top < p.bottom - 1) wrong.push(`${kind} lies over ${other}`);
  }
  return wrong;
});

test('at every width nothing is cramped, cut off, covered or sideways', async () => {
  for (const [name, [width, height]] of Object.entries(WIDTHS)) {
    await looked.setViewportSize({ width, height });
    for (const station of b.STATIONS) {
      await b.station(looked, station);
      await unfold(looked);
      assert.deepEqual(await cramped(looked), [], `${station}, ${name}`);
      if (station !== 'Mend') continue;
      const board = await looked.locator('.board .panel').boundingBox();
      assert.ok(board.height > (height < 600 ? 120 : 150), `the board keeps room on ${name}: ${board.height}`);
    }
  }
});

test('letters set twice as large in the browser are not cut off and cover nothing', async () => {
  const page = await b.visit(browser, bench.url);
  await b.judged(page);
  for (const [width, height] of [[1366, 768], [820, 1180], [390, 844]]) {
    await page.setViewportSize({ width, height });
    await page.evaluate(() => { document.documentElement.style.fontSize = '200%'; });
    for (const station of b.STATIONS) {
      await page.locator('.station', { hasText: station }).click();
      if (station === 'Mend') await page.locator('.bar').waitFor();
      await unfold(page);
      assert.deepEqual(await cramped(page), [], `${station}, ${width} pixels`);
    }
  }
  await page.context().close();
});

test('a setting that is wrong is told beside the keys of a phone, not over them', async () => {
  const page = await b.visit(browser, bench.url, { viewport: { width: 390, height: 844 } });
  await b.judged(page);
  await page.getByLabel('Thickness, measured', { exact: true }).fill('99in');
  await page.getByText('not saved: a setting is wrong').waitFor();
  const [words, keys] = [await page.locator('#saved').boundingBox(), await page.locator('#tools').boundingBox()];
  assert.ok(words.x + words.width <= keys.x, `${words.x + words.width} of ${keys.x}`);
  await page.context().close();
});

test('before there is a face the stations lead nowhere, and say so', async (t) => {
  const empty = b.folder();
  const none = await b.start([], empty);
  t.after(async () => {
    await none.stop();
    b.clear(empty);
  });
  const page = await b.visit(browser, none.url, { viewport: { width: 390, height: 844 } });
  const print = page.locator('.station', { hasText: 'Print' });
  await page.getByRole('button', { name: 'Pick a drawing' }).waitFor();
  assert.equal(await print.isDisabled(), true);
  await print.focus();
  await page.keyboard.press('Enter');
  await page.getByText('Bring a face first').waitFor({ state: 'attached' });
  assert.equal(await page.locator('.station[aria-current]').textContent(), 'Drawer');
  assert.equal(await page.locator('#grip').isVisible(), false, 'no empty tray');
  const chooser = page.waitForEvent('filechooser');
  await page.getByRole('button', { name: 'Pick a drawing' }).click();
  await (await chooser).setFiles(b.face('owl.svg'));
  await b.judged(page);
  assert.equal(await print.isDisabled(), false);
  await page.context().close();
});

test('without motion when that is asked for; words on the wood can be read', async () => {
  const page = await b.visit(browser, bench.url, { reducedMotion: 'reduce' });
  await b.judged(page);
  const moving = await page.evaluate(() => [...document.querySelectorAll('*')].filter((node) => {
    const style = getComputedStyle(node);
    return parseFloat(style.transitionDuration) > 0 || parseFloat(style.animationDuration) > 0;
  }).length);
  assert.equal(moving, 0, 'nothing glides');
  for (const light of ['day', 'evening']) {
    await page.evaluate((choice) => { document.documentElement.dataset.light = choice; }, light);
    await b.station(page, 'Mend');
    const pairs = await page.evaluate(() => {
      const ink = (node, name) => getComputedStyle(node)[name];
      const find = (query) => document.querySelector(query);
      return [['ruler', ink(find('.rulers text'), 'fill'), ink(find('.stage'), 'backgroundColor')], ['before and after', ink(find('.side-word'), 'fill'), ink(find('.wood-fill'), 'fill')],
        ['number of an edit', ink(find('.edit-knob text'), 'fill'), ink(find('.edit-knob .disc'), 'fill')]];
    });
    for (const [what, fore, back] of pairs) assert.ok(contrast(fore, back) >= 4.5, `${what}, ${light}: ${contrast(fore, back).toFixed(2)} of 4.5`);
  }
  await page.context().close();
});

// WCAG 2.2, relative luminance and contrast ratio.
function contrast(...colours) {
  const light = (colour) => {
    const [r, g, c] = colour.match(/[\d.]+/g).map(Number).map((v) => v / 255).map((v) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4));
    return 0.2126 * r + 0.7152 * g + 0.0722 * c;
  };
  const [low, high] = colours.map(light).sort((p, q) => p - q);
  return (high + 0.05) / (low + 0.05);
}
