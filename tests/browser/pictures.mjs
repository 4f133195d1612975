// The README's pictures of the bench page: node pictures.mjs FOLDER
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import * as b from './bench.mjs';

const out = process.argv[2];
const folder = b.folder();
const browser = await b.launch();

// A picture small in bytes: the browser itself packs it as WebP.
async function keep(page, name) {
  const png = (await page.screenshot()).toString('base64');
  const easel = await browser.newPage();
  const webp = await easel.evaluate(async (data) => {
    const image = await createImageBitmap(await (await fetch(`data:image/png;base64,${data}`)).blob());
    const canvas = new OffscreenCanvas(image.width, image.height);
    canvas.getContext('2d').drawImage(image, 0, 0);
    const blob = await canvas.convertToBlob({ type: 'image/webp', quality: 0.86 });
    return btoa(String.fromCharCode(...new Uint8Array(await blob.arrayBuffer())));
  }, png);
  await easel.close();
  writeFileSync(join(out, `${name}.webp`), Buffer.from(webp, 'base64'));
}

async function shown(face, options, act, name) {
  const bench = await b.start(['--drawer', b.face(''), b.face(face)], folder);
  const page = await b.visit(browser, bench.url, options);
  await b.judged(page);
  await act(page);
  await page.mouse.move(2, 2);
  await page.waitForTimeout(250);
  await keep(page, name);
  await page.context().close();
  await bench.stop();
}

const desktop = { viewport: { width: 1280, height: 800 } };
const tablet = { viewport: { width: 820, height: 1100 }, isMobile: true, hasTouch: true };
const phone = { viewport: { width: 390, height: 780 }, isMobile: true, hasTouch: true };

await shown('fox.svg', desktop, async (page) => {
  await page.locator('.faults .fault').first().click();
}, 'bench-place');
await shown('cat.svg', { ...desktop, colorScheme: 'dark' }, async (page) => {
  await b.station(page, 'Mend');
  await page.getByRole('button', { name: /^Accept/ }).click();
  await b.saved(page);
  await page.locator('[data-part=edits] .fault').first().click();
}, 'bench-mend');
await shown('gourd.svg', tablet, async (page) => b.station(page, 'Print'), 'bench-print');
await shown('moon.svg', { ...phone, colorScheme: 'dark' }, async (page) => b.station(page, 'Night'), 'bench-night');
await shown('owl.svg', phone, async () => {}, 'bench-phone');
await shown('owl.svg', desktop, async (page) => {
  await b.station(page, 'Drawer');
  await b.until(async () => await page.locator('.tile .verdict-line:not(.soft)').count() === 6, 'all judged');
}, 'bench-drawer');

await browser.close();
b.clear(folder);
