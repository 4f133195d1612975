// The page under attack: drawings that carry scripts, other pages, other hosts.
// A sentinel would tell if anything of theirs ever ran.
import assert from 'node:assert/strict';
import { writeFileSync } from 'node:fs';
import { createServer, request } from 'node:http';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import * as b from './bench.mjs';

let bench, browser, page, folder, other, seen = [];

before(async () => {
  folder = b.folder();
  bench = await b.start(['--drawer', folder, b.face('owl.svg')], folder);
  browser = await b.launch();
  page = await b.visit(browser, bench.url);
  await b.judged(page);
  // A page of somebody else, on this machine, too.
  other = createServer((asked, reply) => {
    seen.push({ url: asked.url, referer: asked.headers.referer });
    reply.setHeader('content-type', 'text/html');
    reply.end('<!doctype html><title>elsewhere</title>');
  });
  await new Promise((done) => other.listen(0, '127.0.0.1', done));
});

after(async () => {
  await browser?.close();
  await bench?.stop();
  other?.close();
  b.clear(folder);
});

// Every way a drawing may try to run something or to call somewhere.
const hostile = (port) => {
  const call = `fetch('http://127.0.0.1:${port}/ran');window.ran=1`;
  const text = (more, attributes = '') => `<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="90" height="160" ${attributes}><rect x="10" y="10" width="60" height="40"/>${more}</svg>`;
  const html = '<body xmlns="http://www.w3.org/1999/xhtml">';
  return {
    'script.svg': text(`<script>${call}</script><script href="data:text/javascript,${call}"/><script xlink:href="http://127.0.0.1:${port}/ran.js"/>`),
    'onload.svg': text(`<g onload="${call}" onclick="${call}" onfocus="${call}" tabindex="0"><rect x="20" y="80" width="30" height="30" onmouseover="${call}"/></g>`, `onload="${call}"`),
    'foreign.svg': text(`<foreignObject width="90" height="90">${html}<img src="x" onerror="${call}"/><iframe src="javascript:${call}"/><script>${call}</script></body></foreignObject>`),
    'link.svg': text(`<a href="javascript:${call}" xlink:href="javascript:${call}"><rect x="20" y="80" width="30" height="30"/></a><animate attributeName="href" to="javascript:${call}"/>`),
    'set.svg': text(`<set attributeName="onmouseover" to="${call}"/><animate onbegin="${call}" attributeName="x" dur="1s"/>`),
    'outside.svg': text(`<image href="http://127.0.0.1:${port}/picture.png" width="9" height="9"/><use href="http://127.0.0.1:${port}/use.svg#a"/><style>@import url(http://127.0.0.1:${port}/style.css); rect { fill: url(http://127.0.0.1:${port}/fill.svg#a) }</style>`),
    'names.svg': text(`<rect id="&lt;img src=x onerror=${call.replaceAll("'", '&#39;')}&gt;" x="20" y="90" width="0.2" height="40"/><title>&lt;script&gt;${call.replaceAll("'", '&#39;')}&lt;/script&gt;</title>`),
    'entity.svg': `<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/passwd">]>${text('<text>&x;</text>')}`,
    'page.svg': `<!doctype html><script>${call}</script><svg onload="${call}"></svg>`,
    [`<img src=x onerror="${call.replaceAll('/', '\u2215')}">.svg`]: text(''),
  };
};

test('no drawing runs anything or calls anywhere, at any station', async () => {
  const { port } = other.address();
  let opened = 0;
  for (const [name, text] of Object.entries(hostile(port))) {
    const path = join(folder, name);
    writeFileSync(path, text);
    const before = await b.model(page, 'project');
    await b.drop(page, [path]);
    await b.until(async () => await b.model(page, 'project') !== before || await page.locator('#wrongs').isVisible(), `${name} is answered`);
    const refused = page.getByRole('button', { name: 'Close', exact: true });
    if (await refused.count()) {
      await refused.click();
      continue;
    }
    opened += 1;
    await page.mouse.move(700, 400);
    for (const spot of await page.locator('.faults .fault').all()) await spot.click();
    for (const name of ['Mend', 'Print', 'Place']) await b.station(page, name);
    const strangers = await page.evaluate(() => document.querySelectorAll('body script, foreignObject, iframe, object, embed, img[src^="x"], [onload], [onclick], [onmouseover], [href^="javascript"]').length);
    assert.equal(strangers, 0, `${name}: nothing of it is in the page`);
  }
  assert.ok(opened >= 5, `most are opened for their plain shapes: ${opened}`);
  await page.waitForTimeout(300);
  assert.equal(await page.evaluate(() => window.ran), undefined, 'nothing ran');
  assert.deepEqual(seen, [], 'nobody was called');
});

test('the policy lets nothing in that is not the page’s own', async () => {
  const { port } = other.address();
  const tries = await page.evaluate(async (elsewhere) => {
    const done = {};
    const attempt = async (name, act) => {
      try { done[name] = (await act()) ?? 'done'; } catch (error) { done[name] = `refused: ${error.name}`; }
    };
    await attempt('markup', () => { document.createElement('div').innerHTML = '<img src=x onerror="window.ran=2">'; });
    await attempt('text as script', () => { setTimeout('window.ran = 3', 0); });
    await attempt('inline script', () => { const node = document.createElement('script'); node.text = 'window.ran = 4'; document.body.append(node); });
    await attempt('call', () => fetch(elsewhere));
    await attempt('picture', () => new Promise((good, bad) => { const node = new Image(); node.onload = good; node.onerror = () => bad(new TypeError('blocked')); node.src = `${elsewhere}/picture.png`; }));
    const frame = document.createElement('iframe');
    frame.src = elsewhere;
    document.body.append(frame);
    await new Promise((go) => setTimeout(go, 300));
    frame.remove();
    return { done, ran: window.ran };
  }, `http://127.0.0.1:${port}`);
  for (const [name, what] of Object.entries(tries.done)) assert.match(what, /^refused/, name);
  assert.equal(tries.ran, undefined, 'nothing ran');
  assert.deepEqual(seen, [], 'nobody was called');
});

test('another page can neither ask, nor frame, nor learn the key', async () => {
  const { port } = other.address();
  const stranger = await browser.newPage();
  await stranger.goto(`http://127.0.0.1:${port}/`);
  seen = [];
  const got = await stranger.evaluate(async (home) => {
    const ask = (options) => fetch(`${home}/api/start`, { method: 'POST', body: '{}', ...options }).then((reply) => reply.status, (error) => error.name);
    const frame = document.createElement('iframe');
    frame.src = home;
    document.body.append(frame);
    await new Promise((done) => { frame.onload = done; setTimeout(done, 1500); });
    let inside = 'nothing';
    try { inside = frame.contentDocument?.title ?? 'nothing'; } catch { /* another origin: sealed */ }
    return { plain: await ask({}), keyed: await ask({ headers: { 'x-bench-key': 'a' } }), blind: await ask({ mode: 'no-cors' }), inside };
  }, `http://127.0.0.1:${bench.port}`);
  assert.equal(got.plain, 'TypeError', 'no answer may be read');
  assert.equal(got.keyed, 'TypeError', 'and the key’s header is not allowed at all');
  assert.equal(got.inside, 'nothing', 'the page is not framed');
  await stranger.close();
  const address = await page.evaluate(() => location.href);
  assert.ok(!address.includes('key='), 'the key left the address at once');
});

test('only its own address, origin and key are answered', async () => {
  const key = new URL(bench.url).hash.slice('#key='.length);
  const home = `127.0.0.1:${bench.port}`;
  const ask = (headers, path = '/api/start', method = 'POST') => new Promise((done, fail) => {
    const asked = request({ host: '127.0.0.1', port: bench.port, path, method, headers, setHost: false }, (reply) => { reply.resume(); done(reply.statusCode); });
    asked.on('error', fail);
    asked.end(method === 'POST' ? '{}' : undefined);
  });
  const good = { host: home, origin: `http://${home}`, 'x-bench-key': key, 'content-length': 2 };
  assert.equal(await ask(good), 200, 'our own page');
  for (const [what, wrong, status] of [
    ['a name made to point here', { host: `rebound.example:${bench.port}` }, 403], ['another origin', { origin: 'http://elsewhere.example' }, 403],
    ['no origin', { origin: 'null' }, 403], ['a wrong key', { 'x-bench-key': key.replace(/.$/, (c) => (c === '0' ? '1' : '0')) }, 401], ['no key', { 'x-bench-key': '' }, 401],
  ]) assert.equal(await ask({ ...good, ...wrong }), status, what);
  for (const path of ['/../owl.fretgrin.toml', '/%2e%2e/etc/passwd', '//etc/passwd', '/owl.fretgrin.toml', '/assets/../app.js']) {
    assert.equal(await ask({ host: home }, path, 'GET'), 404, path);
  }
  assert.equal(await ask({ ...good, 'content-length': 9 << 20 }, '/api/new?name=a.svg'), 413, 'too large a drawing');
});
