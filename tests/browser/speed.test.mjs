// How soon the page answers the hand, measured in the browser on a typical face:
// from input to paint, and from a change to its judgement.
import assert from 'node:assert/strict';
import { availableParallelism, loadavg } from 'node:os';
import { after, before, test } from 'node:test';
import * as b from './bench.mjs';

// On a machine with more to do than cores, everything waits its turn; the limits
// stretch by that much.
const busy = Math.max(1, loadavg()[0] / availableParallelism());
const PAINT = 100 * busy; // ms from input to paint, and from a change to its judgement painted
const CHECK = 50 * busy; // ms of work for a re-check
const ENOUGH = 40; // measurements

let bench, browser, page, folder;

before(async () => {
  folder = b.folder();
  bench = await b.start([b.face('owl.svg')], folder);
  browser = await b.launch();
  page = await b.visit(browser, bench.url);
  await b.judged(page);
  await page.evaluate(async () => {
    const { watch } = await import('/model.js');
    Object.assign(window, { paints: [], judged: [], worked: [], asked: [] });
    // The frame that shows an event has been painted when a message posted in it arrives.
    const painted = (then) => requestAnimationFrame(() => {
      const { port1, port2 } = new MessageChannel();
      port1.onmessage = then;
      port2.postMessage(null);
    });
    for (const kind of ['pointermove', 'click', 'keydown']) addEventListener(kind, (event) => painted(() => window.paints.push(performance.now() - event.timeStamp)), true);
    let since = null;
    watch((what) => {
      if (what === 'state') since ??= performance.now();
      if (what !== 'view' || since === null) return;
      const began = since;
      since = null;
      painted(() => window.judged.push(performance.now() - began));
    });
    new PerformanceObserver((list) => {
      for (const entry of list.getEntries()) {
        if (!/\/api\/(check|change)/.test(entry.name)) continue;
        window.asked.push(entry.responseEnd - entry.startTime);
        window.worked.push(...entry.serverTiming.filter(({ name }) => name === 'work').map(({ duration }) => duration));
      }
    }).observe({ type: 'resource' });
  });
});

after(async () => {
  await browser?.close();
  await bench?.stop();
  b.clear(folder);
});

const told = (name, values) => {
  const text = (part) => b.share(values, part).toFixed(0);
  return `${name}: median ${text(0.5)} ms, 95 of 100 under ${text(0.95)} ms, of ${values.length}`;
};

test('a dragged face is painted at once and judged as it moves', async (t) => {
  const [x, y] = await b.middle(page.locator('#hands .hold'));
  await page.mouse.move(x, y);
  await page.mouse.down();
  for (let i = 0; i < ENOUGH; i += 1) {
    await page.mouse.move(x + 30 * Math.sin(i / 4), y + 20 * Math.cos(i / 4));
    await page.waitForTimeout(30);
  }
  await page.mouse.up();
  await b.saved(page);
  const found = await page.evaluate(() => ({ paints: window.paints, judged: window.judged, asked: window.asked, worked: window.worked }));
  t.diagnostic(told('drag, input to paint', found.paints));
  t.diagnostic(told('drag, change to its judgement on the page', found.judged));
  t.diagnostic(told('re-check, asked and answered', found.asked));
  t.diagnostic(told('re-check, work of the program', found.worked));
  assert.ok(found.paints.length >= ENOUGH / 2, 'measured');
  assert.ok(b.median(found.paints) < PAINT, `paint ${b.median(found.paints)}`);
  assert.ok(b.median(found.judged) < PAINT, `judged ${b.median(found.judged)}`);
  assert.ok(b.median(found.worked) < CHECK, `re-check ${b.median(found.worked)}`);
});

test('every change of wood and saw is judged soon', async (t) => {
  await page.evaluate(() => Object.assign(window, { paints: [], judged: [], asked: [], worked: [] }));
  const more = page.getByRole('button', { name: 'Thickness, measured: more' });
  const less = page.getByRole('button', { name: 'Thickness, measured: less' });
  for (let i = 0; i < 6; i += 1) {
    await more.click();
    await b.saved(page);
    await less.click();
    await b.saved(page);
  }
  const found = await page.evaluate(() => ({ paints: window.paints, judged: window.judged, worked: window.worked }));
  t.diagnostic(told('key, input to paint', found.paints));
  t.diagnostic(told('key, change to its judgement on the page, saved', found.judged));
  assert.ok(b.median(found.paints) < PAINT, `paint ${b.median(found.paints)}`);
  assert.ok(b.median(found.judged) < PAINT, `judged ${b.median(found.judged)}`);
  assert.ok(b.median(found.worked) < CHECK, `re-check and save ${b.median(found.worked)}`);
});
