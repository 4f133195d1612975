// What the page says is kept is what is kept: half-typed entries, refused widths,
// choices forgotten, a drawing drawn anew, and the word “saved”.
import assert from 'node:assert/strict';
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { after, afterEach, before, beforeEach, test } from 'node:test';
import * as b from './bench.mjs';

let browser, bench, page, folder;

before(async () => { browser = await b.launch(); });
after(async () => browser?.close());
beforeEach(async () => { folder = b.folder(); });
afterEach(async () => {
  const faults = page?.faults ?? [];
  await page?.context().close();
  await bench?.stop();
  b.clear(folder);
  assert.deepEqual(faults, [], 'nothing goes wrong unseen');
});

async function open(face = 'owl') {
  bench = await b.start([b.face(`${face}.svg`)], folder);
  page = await b.visit(browser, bench.url);
  await b.judged(page);
}

const field = (label) => page.getByLabel(label, { exact: true });
const kept = (name = 'owl') => readFileSync(join(folder, `${name}.fretgrin.toml`), 'utf8');
const thickness = () => b.model(page, 'view.report.panel.thickness_mm');

test('an entry not understood changes nothing, and nothing is called saved that is not', async () => {
  await open();
  const was = await thickness();
  for (const written of ['1/2 inc', '0.5x', '1/0', '-']) {
    await field('Thickness, measured').fill('1/2');
    await b.until(async () => await thickness() !== was, 'tried while it is typed');
    assert.equal(await page.locator('#saved').textContent(), 'changing …');
    await field('Thickness, measured').fill(written);
    await field('Thickness, measured').press('Tab');
    await b.saved(page);
    await b.until(async () => await thickness() === was, `${written} is not a half inch`);
  }
  await field('Stretch').fill('5');
  await field('Stretch').fill('5x');
  await field('Stretch').press('Tab');
  await b.saved(page);
  assert.equal(await b.model(page, 'state.shop.fit.stretch'), 0);
  // And the next change is saved as ever.
  await field('Wood').selectOption({ index: 3 });
  await b.saved(page);
  const wood = await b.model(page, 'state.shop.wood.species');
  assert.ok(kept().includes(`species = "${wood}"`) && kept().includes('thickness = "5/8in"'), kept());
});

test('escape takes back what was typed, and undo in a field is the text’s only while it is typed', async () => {
  await open();
  const was = await thickness();
  await field('Thickness, measured').fill('1/2');
  await b.until(async () => await thickness() !== was, 'tried');
  await page.keyboard.press('Escape');
  assert.equal(await field('Thickness, measured').inputValue(), '5/8');
  await page.keyboard.press('Tab');
  await b.saved(page);
  await b.until(async () => await thickness() === was, 'as it was');
  await field('Turn').focus();
  await page.keyboard.press('ArrowUp');
  await b.saved(page);
  await page.keyboard.press('Control+z');
  await b.until(async () => await b.model(page, 'view.report.fit.turn_deg') === 0, 'the step is undone');
});

test('numbers of the printer and the batch are saved once they are typed out', async () => {
  await open();
  await b.station(page, 'Print');
  const revision = await b.model(page, 'revision');
  await field('True ÷ printed, across').fill('');
  await field('True ÷ printed, across').pressSequentially('0.998');
  await field('True ÷ printed, across').press('Tab');
  await b.saved(page);
  assert.equal(await b.model(page, 'revision'), revision + 1, 'one change');
  await field('Copies in the PDF').fill('-1');
  await page.getByText('write a number from 1 up').waitFor();
  await field('Copies in the PDF').press('Tab');
  await b.until(async () => await field('Copies in the PDF').inputValue() === '1', 'as it was');
  assert.equal(await b.model(page, 'state.shop.out.copies'), 1);
});

test('forgetting all choices accepts nothing; a width there is no room for is told and taken back', async () => {
  await open('cat');
  await b.station(page, 'Mend');
  await b.mendedSo(page, (answer) => answer.edits.length > 0, 'mended');
  const before = await b.model(page, 'revision');
  await page.getByRole('button', { name: 'Forget all choices' }).click();
  await b.until(async () => (await page.locator('#says').textContent()).includes('No choice was made yet'), 'nothing to forget, and said so');
  await b.saved(page);
  assert.equal(await b.model(page, 'revision'), before, 'nothing to undo');
  assert.equal(await b.model(page, 'state.mend.on'), false);
  const edits = (await b.mended(page)).edits.length;
  const bridge = (await b.mended(page)).edits.find((edit) => edit.width_mm !== null);
  await page.locator(`[data-edit=e${bridge.id}] .fault`).click();
  const width = page.locator(`[data-edit=e${bridge.id}]`).getByLabel('Width', { exact: true });
  await width.fill('10in');
  await width.press('Tab');
  await page.getByText('as you asked, has no room').first().waitFor();
  await page.getByRole('button', { name: 'Needed width again' }).first().click();
  await b.mendedSo(page, (answer) => answer.edits.length === edits && answer.lost_widths.length === 0, 'all edits again');
});

test('placing a bridge is left by escape or by the same key', async () => {
  await open('cat');
  await b.station(page, 'Mend');
  await b.mendedSo(page, (answer) => answer.edits.length > 0, 'mended');
  const key = page.getByRole('button', { name: 'Place a bridge' });
  const telling = page.getByText('Tap in an opening');
  for (const leave of [() => page.keyboard.press('Escape'), () => key.click()]) {
    await key.click();
    await telling.waitFor();
    await leave();
    await telling.waitFor({ state: 'detached' });
  }
});

test('mirroring a face in a box stops nothing', async () => {
  await open('cat');
  await page.getByRole('heading', { name: 'Panel and box' }).click();
  await page.getByText('Plan a lantern box').click();
  await b.saved(page);
  const stops = () => b.model(page, 'view.report.totals.stop');
  const was = await stops();
  for (const name of ['Mirror', 'Mirror', 'Centre']) {
    await page.getByRole('button', { name, exact: true }).click();
    await b.saved(page);
    assert.equal(await stops(), was, name);
  }
});

test('a drawing drawn anew takes the old one’s place; settings stay and undo leads back', async () => {
  await open();
  await page.getByRole('button', { name: 'Turn: more' }).click();
  await b.saved(page);
  const cutouts = () => b.model(page, 'view.report.totals.cutouts');
  const was = await cutouts();
  await page.getByRole('heading', { name: 'How the drawing is read' }).click();
  const anew = join(folder, 'owl.svg');
  writeFileSync(anew, '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 60 90"><path d="M5 5h20v20h-20z M35 5h20v20h-20z M5 60h50v20h-50z"/></svg>');
  const chooser = page.waitForEvent('filechooser');
  await page.getByRole('button', { name: 'Take in a changed drawing' }).click();
  await (await chooser).setFiles(anew);
  await b.until(async () => await cutouts() === 3, 'the new drawing');
  assert.deepEqual([await b.model(page, 'project'), await b.model(page, 'view.report.fit.turn_deg')], ['owl', 1]);
  await page.getByRole('button', { name: 'Undo' }).click();
  await b.until(async () => await cutouts() === was, 'the old one again');
});

test('“saved” is not said while another tab’s change stands against this one', async () => {
  await open();
  const second = await b.atOdds(page);
  assert.equal(await second.locator('#saved').textContent(), 'not saved');
  await second.getByRole('button', { name: 'Show theirs' }).click();
  await b.saved(second);
  page.faults.length = 0; // the refused change is a 409 in the console
});

test('on a drawing that is small edits beside each other are refused each', async () => {
  // A tenth as large, so that it is laid some eight times as large as drawn.
  const small = readFileSync(b.face('moth.svg'), 'utf8').replace('width="110mm" height="148mm"', 'width="11mm" height="14.8mm"');
  writeFileSync(join(folder, 'small.svg'), small);
  bench = await b.start([join(folder, 'small.svg')], folder);
  page = await b.visit(browser, bench.url);
  await b.judged(page);
  await b.station(page, 'Mend');
  const { edits } = await b.mendedSo(page, (answer) => answer.edits.length > 0, 'mended');
  const apart = (p, q) => Math.hypot(p.at[0] - q.at[0], p.at[1] - q.at[1]);
  const neighbours = (p, q) => q.kind === p.kind && q.id !== p.id && q.id !== p.pair && apart(p, q) > 3 && apart(p, q) < 12;
  const [one, other] = edits.flatMap((p) => edits.filter((q) => neighbours(p, q)).map((q) => [p, q]))[0];
  const refused = (edit) => async () => (await b.model(page, 'state.mend.settled')).some((s) => s.kind === edit.kind && Math.hypot(s.x - edit.own[0], s.y - edit.own[1]) < 0.01);
  for (const edit of [one, other]) {
    await page.evaluate(async (id) => {
      const { editOf, refuse } = await import('/mend.js');
      refuse(editOf(`e${id}`));
    }, edit.id);
  }
  await b.until(refused(other), 'the second one is refused');
  assert.ok(await refused(one)(), 'and the first one still is');
});

test('what a file settles twice is shown once, and is taken back whole', async () => {
  await open('moth');
  await b.station(page, 'Mend');
  await b.mendedSo(page, (answer) => answer.edits.length > 0, 'mended');
  await page.getByRole('button', { name: 'Refuse edit 1', exact: true }).click();
  await b.mendedSo(page, (answer) => answer.refused.length === 2, 'an edit and its image');
  await b.saved(page);
  await page.context().close();
  await bench.stop();
  const [block] = kept('moth').match(/(\[\[mend\.settled\]\]\n(.+\n)+\n?)+/);
  writeFileSync(join(folder, 'moth.fretgrin.toml'), kept('moth').replace(block, `${block.trimEnd()}\n\n${block}`));
  bench = await b.start([join(folder, 'moth.fretgrin.toml')], folder);
  page = await b.visit(browser, bench.url);
  await b.judged(page);
  assert.equal((await b.model(page, 'state.mend.settled')).length, 4, 'the file says it twice');
  await b.station(page, 'Mend');
  await page.getByText('Refused (2)').waitFor();
  await page.getByRole('button', { name: 'Accept again' }).first().click();
  await b.until(async () => (await b.model(page, 'state.mend.settled')).length === 0, 'nothing is left of it');
});
