// Walks through the studio in a real browser, against the real program.
//
//   node run.mjs [--boxwright PATH] [--pictures] [--only WORD]
//
// A program without its page built in gets the one in studio/dist put in front of it.
import assert from 'node:assert/strict';
import { execFileSync, spawn } from 'node:child_process';
import { cpSync, existsSync, mkdirSync, mkdtempSync, readFileSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { loadavg, tmpdir } from 'node:os';
import { join } from 'node:path';
import { chromium } from 'playwright-core';
import { front } from './front.mjs';

const ROOT = new URL('../../', import.meta.url).pathname;
const option = (name) => {
  const at = process.argv.indexOf(`--${name}`);
  return at < 0 ? undefined : process.argv[at + 1];
};
const BIN = option('boxwright') ?? join(ROOT, 'target/release/boxwright');
const ONLY = option('only') ?? '';
const AXE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const work = mkdtempSync(join(tmpdir(), 'boxwright-browser-'));
const folder = join(work, 'jobs');
mkdirSync(folder);
cpSync(join(ROOT, 'examples'), folder, { recursive: true });

const studio = spawn(BIN, ['studio', '--no-open', folder], { stdio: ['ignore', 'pipe', 'inherit'] });
const address = await new Promise((done, fail) => {
  studio.on('exit', (code) => fail(new Error(`the studio ended with ${code}`)));
  studio.stdout.on('data', (text) => {
    const found = /http:\/\/\S+/.exec(String(text));
    if (found) done(found[0]);
  });
});
const builtIn = !process.argv.includes('--dist') && (await (await fetch(address)).text()).includes('id="page"');
const ahead = builtIn ? null : await front(address);
const home = ahead?.url ?? `${address.replace(/\/$/, '')}/`;

const browser = await chromium.launch({
  executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium',
  args: ['--no-sandbox', '--use-gl=angle', '--use-angle=swiftshader', '--enable-unsafe-swiftshader'],
});

/** A fresh page that keeps every complaint of the browser. */
async function open({ width = 1440, height = 900, hash = '', dark = false } = {}) {
  const context = await browser.newContext({ viewport: { width, height }, acceptDownloads: true, colorScheme: dark ? 'dark' : 'light' });
  const page = await context.newPage();
  page.complaints = [];
  page.on('console', (m) => m.type() === 'error' && page.complaints.push(m.text()));
  page.on('pageerror', (e) => page.complaints.push(e.message));
  await page.goto(home + hash);
  await drawn(page, 0);
  await page.waitForSelector('.board');
  return page;
}

const count = (page) => page.evaluate(() => performance.getEntriesByName('edit-to-paint').length);
const drawn = (page, before) => page.waitForFunction((n) => performance.getEntriesByName('edit-to-paint').length > n, before);

/** Does something that changes the case, and waits until it is painted. */
async function edit(page, act) {
  const before = await count(page);
  await act();
  await drawn(page, before);
}

const field = (page, label) => page.getByLabel(label, { exact: true });
const sentence = (page) => page.locator('h1').innerText();

async function clean(page, allowed = []) {
  const left = page.complaints.filter((c) => !allowed.some((a) => c.includes(a)));
  assert.deepEqual(left, [], 'complaints of the browser');
  await page.context().close();
}

const decode = (hash) => JSON.parse(Buffer.from(hash.replace(/^#/, ''), 'base64url').toString());

const tests = {
  async 'from nothing to the DXF of a case for a clock, byte for byte'() {
    const page = await open();
    await field(page, 'Call it').fill('mantel clock');
    await field(page, 'Length').fill('312');
    await field(page, 'Width').fill('148');
    await field(page, 'Height').fill('236');
    await edit(page, () => field(page, 'Room on every side').fill('15'));
    assert.match(await sentence(page), /mantel clock: 342 × 178 × 266 mm clear inside/);
    const [download] = await Promise.all([page.waitForEvent('download'), page.locator('[data-kind=dxf]').click()]);
    const got = readFileSync(await download.path());
    writeFileSync(
      join(work, 'clock.kdl'),
      'job "mantel clock" {\n    style "slotted-case"\n    inside length="312mm + 2 * 15mm" width="148mm + 2 * 15mm" depth="236mm + 2 * 15mm"\n    board "C"\n    crease "rule"\n}\n',
    );
    execFileSync(BIN, ['make', join(work, 'clock.kdl'), '--out', join(work, 'made'), '--only', 'dxf'], { stdio: 'ignore' });
    const [name] = readdirSync(join(work, 'made'));
    assert.equal(download.suggestedFilename(), name);
    assert.ok(got.equals(readFileSync(join(work, 'made', name))), 'the same bytes');
    await clean(page);
  },

  async 'the same by keyboard alone, and undo'() {
    const page = await open();
    const press = (key) => page.keyboard.press(key);
    const tabTo = async (test) => {
      for (let i = 0; i < 120; i++) {
        await press('Tab');
        if (await page.evaluate(test)) return;
      }
      assert.fail(`never reached ${test}`);
    };
    await press('Tab');
    assert.equal(await page.evaluate(() => document.activeElement.textContent), 'To the questions');
    await press('Enter');
    await tabTo(() => document.activeElement.labels?.[0]?.textContent === 'Call it');
    await press('Control+A');
    await page.keyboard.type('dial');
    await tabTo(() => document.activeElement.labels?.[0]?.textContent === 'Length');
    for (const size of ['280', '280', '40']) {
      await press('Control+A');
      await edit(page, () => page.keyboard.type(size));
      await press('Tab');
    }
    await page.waitForFunction(() => document.querySelector('h1').innerText.includes('300 × 300 × 60 mm'));
    // Another way of building, from the gallery.
    await tabTo(() => document.activeElement.textContent === 'See all ways of building');
    await press('Enter');
    await tabTo(() => document.activeElement.textContent.includes('Tray with lid'));
    await edit(page, () => press('Enter'));
    assert.match(await sentence(page), /tray with lid/);
    // A panel, the folding, the files.
    await press('Escape');
    await page.locator('h1 button').first().focus();
    await press(']');
    assert.equal(await page.locator('.panel.lit').count(), 1);
    await press('s');
    await press('Home');
    assert.match(await page.locator('figcaption.fold').innerText(), /Flat/);
    await press('End');
    await press('c');
    await press('ArrowLeft');
    await press('+');
    await press('f');
    await press('+');
    await press('ArrowLeft');
    await press('0');
    await press('5');
    const [download] = await Promise.all([
      page.waitForEvent('download'),
      (async () => {
        await tabTo(() => document.activeElement.dataset?.kind === 'dxf');
        await press('Enter');
      })(),
    ]);
    assert.match(download.suggestedFilename(), /^dial-.*\.dxf$/);
    await edit(page, () => press('Control+z'));
    assert.match(await sentence(page), /slotted case/);
    await edit(page, () => press('Control+Shift+z'));
    assert.match(await sentence(page), /tray with lid/);
    await press('?');
    await page.waitForSelector('dialog[open] >> text=How this page works');
    await press('Escape');
    assert.equal(await page.locator('dialog[open]').count(), 0);
    await clean(page);
  },

  async 'choosing from the gallery by what it is for'() {
    const page = await open();
    await page.click('text=See all ways of building');
    const cards = page.locator('.gallery .card');
    await cards.first().waitFor();
    const all = await cards.count();
    await field(page, 'Find by word').fill('chest');
    await page.waitForFunction(() => document.querySelectorAll('.gallery .card').length === 1);
    await field(page, 'Find by word').fill('');
    await page.locator('.tags button', { hasText: 'two pieces' }).click();
    const two = await cards.count();
    assert.ok(two > 0 && two < all);
    const loaded = await page.locator('.gallery img').evaluateAll((list) => Promise.all(list.map((i) => i.decode().then(() => i.naturalWidth > 0))));
    assert.ok(loaded.every(Boolean), 'pictures load');
    await edit(page, () => cards.first().click());
    await clean(page);
  },

  async 'wrong input says why beside the field and keeps the picture'() {
    const page = await open();
    const before = await page.locator('#flat-view .panel').first().getAttribute('d');
    await edit(page, () => field(page, 'Width').fill('12 parsecs'));
    const input = field(page, 'Width');
    assert.equal(await input.getAttribute('aria-invalid'), 'true');
    const ids = (await input.getAttribute('aria-describedby')).split(' ');
    const said = await Promise.all(ids.map((id) => page.locator(`[id="${id}"]`).innerText()));
    assert.match(said.join(' '), /side by side/);
    assert.equal(await page.locator('#flat-view .panel').first().getAttribute('d'), before);
    assert.match(await sentence(page), /cannot be drawn/);
    await edit(page, () => input.fill('180'));
    assert.equal(await input.getAttribute('aria-invalid'), 'false');
    await clean(page);
  },

  async 'a fine point lights what it drives, and says its range'() {
    const page = await open();
    await page.click('summary:has-text("Fine points")');
    await field(page, 'Slot').focus();
    assert.ok((await page.locator('.panel.lit').count()) > 0);
    assert.match(await page.locator('.point', { has: field(page, 'Slot') }).innerText(), /0 to 24 mm/);
    await edit(page, () => field(page, 'Slot').fill('8'));
    await edit(page, () => field(page, 'Slot').fill('99'));
    assert.match(await page.locator('.point', { has: field(page, 'Slot') }).locator('[role=alert]').innerText(), /\S/);
    await edit(page, () => page.locator('.point', { has: field(page, 'Slot') }).getByRole('button').click());
    assert.equal(await page.locator('.panel.lit').count(), 0);
    await clean(page);
  },

  async 'a panel under the pointer lights in both views and is named'() {
    const page = await open();
    await page.locator('[data-panel]').first().hover();
    assert.equal(await page.locator('.panel.lit').count(), 1);
    await page.waitForSelector('.tag');
    const box = await page.locator('#folded-view').boundingBox();
    await page.mouse.move(box.x + box.width / 2, box.y + box.height * 0.6);
    await page.waitForFunction(() => document.querySelectorAll('.panel.lit').length === 1);
    const name = await page.locator('.tag').innerText();
    await page.mouse.click(box.x + box.width / 2, box.y + box.height * 0.6);
    await page.mouse.move(5, 5);
    await page.waitForFunction((n) => document.querySelector('.tag')?.textContent === n, name);
    await clean(page);
  },

  async 'findings come worst first, light their panels, and are cured'() {
    const page = await open();
    await page.click('summary:has-text("Fine points")');
    await edit(page, () => field(page, 'Step').fill('0'));
    const order = await page.locator('.findings').first().locator('li').evaluateAll((l) => l.map((x) => x.className));
    const rank = order.map((c) => (c.includes('fail') ? 0 : c.includes('caution') ? 1 : 2));
    assert.deepEqual(rank, [...rank].sort());
    assert.ok(rank.length > 0 && rank[0] < 2, 'something is found');
    await page.locator('.findings .what').first().focus();
    assert.ok((await page.locator('.panel.lit').count()) > 0);
    const cure = page.locator('.findings .button.main').first();
    if (await cure.count()) {
      const said = await sentence(page);
      await edit(page, () => cure.click());
      assert.notEqual(await page.evaluate(() => location.hash), '');
      console.log(`    cured: ${said.split('.').at(-1).trim()} -> ${(await sentence(page)).split('.').at(-1).trim()}`);
    } else console.log('    no cure offered');
    await clean(page);
  },

  async 'comparing with a kept one'() {
    const page = await open();
    await page.click('text=Keep this one to compare');
    assert.equal(await page.locator('tr.moved').count(), 0);
    await edit(page, () => field(page, 'Height').fill('180'));
    const text = await page.locator('.compare').innerText();
    assert.match(text, /Clear depth\s+150 mm\s+200 mm\s+\+50 mm/);
    assert.match(text, /Board used/);
    await edit(page, () => page.click('text=Go back to the kept one'));
    assert.equal(await page.locator('tr.moved').count(), 0);
    await clean(page);
  },

  async 'the map of sizes, with progress, hover, keys and stopping'() {
    const page = await open();
    await page.click('text=Every size working?');
    await page.click('text=Draw the map');
    await page.waitForFunction(() => /468 of 468/.test(document.querySelector('dialog[open]').innerText), null, { timeout: 60_000 });
    const map = page.locator('dialog canvas');
    await map.hover({ position: { x: 20, y: 20 } });
    assert.match(await page.locator('#spot').innerText(), /(Works|Fails|Cannot)/);
    await map.focus();
    await page.keyboard.press('ArrowRight');
    const hover = await page.locator('#spot').innerText();
    await page.keyboard.press('ArrowDown');
    assert.notEqual(await page.locator('#spot').innerText(), hover);
    await page.locator('dialog[open] input[type=number]').first().fill('200');
    await page.locator('dialog[open] input[type=number]').last().fill('200');
    await page.click('text=Draw the map again');
    await page.click('dialog[open] >> text=Stop');
    await page.waitForFunction(() => /stopped/.test(document.querySelector('dialog[open]').innerText));
    await page.locator('dialog[open] input[type=number]').first().fill('9');
    await page.locator('dialog[open] input[type=number]').last().fill('7');
    await page.click('text=Draw the map again');
    await page.waitForFunction(() => /63 of 63/.test(document.querySelector('dialog[open]').innerText));
    await map.focus();
    for (let i = 0; i < 4; i++) await page.keyboard.press('ArrowRight');
    await edit(page, () => page.keyboard.press('Enter'));
    assert.match(await sentence(page), /350 × 60 × 150 mm/);
    await clean(page);
  },

  async 'every file can be had'() {
    const page = await open();
    await edit(page, () => field(page, 'Call it').fill('all of it'));
    const kinds = await page.locator('[data-kind]').evaluateAll((l) => l.map((x) => x.dataset.kind));
    assert.deepEqual([...new Set(kinds)].sort(), ['drawing', 'dxf', 'fold', 'glb', 'preview', 'report', 'svg', 'tiles', 'true-size']);
    for (const kind of kinds) {
      const [download] = await Promise.all([page.waitForEvent('download'), page.locator(`[data-kind=${kind}]`).click()]);
      assert.ok(readFileSync(await download.path()).length > 100, kind);
      await page.waitForFunction(() => !document.querySelector('[data-kind]').disabled);
    }
    await clean(page);
  },

  async 'a link holds the whole state and the view'() {
    const page = await open();
    await edit(page, () => field(page, 'Length').fill('400'));
    await page.click('header >> text=Dark');
    await page.getByRole('button', { name: /Units/ }).click();
    await page.waitForFunction(() => location.hash.length > 10);
    await page.waitForTimeout(400);
    const hash = await page.evaluate(() => location.hash);
    assert.equal(decode(hash).inside.length, '(400mm) + 2 * (10mm)');
    const other = await open({ hash });
    assert.match(await sentence(other), /in clear inside/);
    assert.ok(await other.evaluate(() => document.documentElement.hasAttribute('data-dark')));
    assert.equal(await other.evaluate(() => localStorage.length + sessionStorage.length + document.cookie.length), 0);
    const broken = await open({ hash: '#e30' });
    assert.match(await sentence(broken), /my case/);
    await clean(page);
    await clean(other);
    await clean(broken);
  },

  async 'jobs of the folder: open, save, and a file changed meanwhile'() {
    const page = await open();
    await page.click('text=Open from the folder');
    await page.locator('.job', { hasText: 'mantel-clock.kdl' }).click();
    await page.waitForFunction(() => document.querySelector('h1').innerText.includes('mantel clock: 342 × 178 × 266'));
    const path = join(folder, 'mantel-clock.kdl');
    const original = readFileSync(path, 'utf8');
    await edit(page, () => field(page, 'Depth').fill('300mm'));
    await page.keyboard.press('Control+s');
    await page.click('dialog[open] >> button:has-text("Save")');
    await page.waitForFunction(() => !document.querySelector('dialog[open]'));
    const saved = readFileSync(path, 'utf8');
    assert.equal(saved, original.replace('depth="266mm"', 'depth="300mm"'), 'only the edited value differs');
    // Someone else writes; ours is not put over it.
    writeFileSync(path, original.replace('266mm', '270mm'));
    await edit(page, () => field(page, 'Depth').fill('310mm'));
    await page.keyboard.press('Control+s');
    await page.click('dialog[open] >> button:has-text("Save")');
    await page.waitForSelector('text=Nothing was overwritten');
    assert.match(readFileSync(path, 'utf8'), /270mm/);
    await page.click('text=Keep mine under another name');
    await page.click('dialog[open] >> button:text-is("Save")');
    await page.waitForFunction(() => !document.querySelector('dialog[open]'));
    assert.match(readFileSync(join(folder, 'mantel-clock-2.kdl'), 'utf8'), /310mm/);
    await page.click('text=Open from the folder');
    await page.locator('.job', { hasText: 'mantel-clock.kdl' }).click();
    await page.waitForFunction(() => document.querySelector('h1').innerText.includes('342 × 178 × 270'));
    await clean(page, ['409']);
  },

  async 'the print view has the drawing and the steps'() {
    const page = await open();
    await page.evaluate(() => dispatchEvent(new Event('beforeprint')));
    await page.emulateMedia({ media: 'print' });
    assert.ok(await page.locator('article.paper svg').first().isVisible());
    assert.ok((await page.locator('article.paper li img').count()) > 3);
    assert.ok(!(await page.locator('header').isVisible()));
    await page.evaluate(() => dispatchEvent(new Event('afterprint')));
    await clean(page);
  },

  async 'axe finds nothing, light and dark, at every width'() {
    for (const dark of [false, true])
      for (const width of [1440, 768]) {
        const page = await open({ dark, width });
        await page.evaluate(AXE);
        const check = async (where) => {
          const { violations } = await page.evaluate(() => axe.run(document));
          const told = violations.map((v) => `${v.id}: ${v.nodes.map((n) => `${n.target} ${n.any.map((a) => a.message).join('; ')}`).slice(0, 3).join(' | ')}`);
          assert.deepEqual(told, [], `${where}, ${dark ? 'dark' : 'light'}, ${width}`);
        };
        await check('front');
        await page.click('summary:has-text("Fine points")');
        await page.click('summary:has-text("passed")');
        await page.click('text=Keep this one to compare');
        await edit(page, () => field(page, 'Step').fill('0'));
        await page.locator('.findings .what').first().click();
        await check('findings');
        await edit(page, () => field(page, 'Step').fill('nonsense'));
        await check('wrong input');
        await page.click('text=See all ways of building');
        await page.waitForTimeout(300);
        await check('gallery');
        await page.keyboard.press('Escape');
        await edit(page, () => field(page, 'Step').fill(''));
        await page.click('text=Every size working?');
        await page.click('text=Draw the map');
        await page.waitForFunction(() => /468 of 468/.test(document.querySelector('dialog[open]').innerText), null, { timeout: 60_000 });
        await check('map');
        await page.keyboard.press('Escape');
        await page.click('header >> text=Help');
        await check('help');
        await page.keyboard.press('Escape');
        await page.click('text=Open from the folder');
        await page.waitForSelector('.job');
        await check('jobs');
        await page.keyboard.press('Escape');
        await page.click('text=Save in the folder');
        await check('save');
        await clean(page);
      }
  },

  async 'nothing sticks out sideways at 768, 1024 and 1440'() {
    for (const width of [768, 1024, 1440]) {
      const page = await open({ width });
      const over = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
      assert.ok(over <= 0, `${width}: ${over} px too wide`);
      await clean(page);
    }
  },

  async 'edit to repainted both views, 200 edits'() {
    const page = await open();
    const width = field(page, 'Width');
    await page.evaluate(() => performance.clearMeasures());
    for (let i = 0; i < 200; i++) {
      await edit(page, () => width.fill(String(150 + (i % 50))));
      await page.waitForTimeout(40);
    }
    const times = await page.evaluate(() => performance.getEntriesByName('edit-to-paint').map((e) => e.duration).sort((a, b) => a - b));
    const [median, p95] = [times[Math.floor(times.length / 2)], times[Math.floor(times.length * 0.95)]];
    console.log(`    ${times.length} edits: median ${median.toFixed(1)} ms, p95 ${p95.toFixed(1)} ms; load of the machine ${loadavg()[0].toFixed(1)}`);
    assert.ok(median <= 50, `median ${median}`);
    assert.ok(p95 <= 120, `p95 ${p95}`);
    await clean(page);
  },
};

/** Pictures for docs/pictures, looked at before they are kept. */
async function pictures() {
  const out = join(ROOT, 'docs/pictures');
  mkdirSync(out, { recursive: true });
  const clock = { title: 'mantel clock', style: 'slotted-case', inside: { length: '(312mm) + 2 * (15mm)', width: '(148mm) + 2 * (15mm)', depth: '(236mm) + 2 * (15mm)' }, board: 'C', crease: 'rule', set: {}, quantity: 1, drawing: { owner: '', creator: '', approved: '', number: '', date: '' } };
  const hash = (state) => '#' + Buffer.from(JSON.stringify(state)).toString('base64url');
  const shot = async (page, name) => {
    await page.waitForTimeout(500);
    await page.screenshot({ path: join(out, name) });
  };
  for (const [width, height] of [[1440, 900], [1024, 768], [768, 1024]]) {
    const page = await open({ width, height, hash: hash(clock) });
    await shot(page, `studio-${width}.png`);
    await page.context().close();
  }
  let page = await open({ hash: hash({ ...clock, title: 'dials and hands', style: 'mailer', inside: { length: '(280mm) + 2 * (8mm)', width: '(280mm) + 2 * (8mm)', depth: '(44mm) + 2 * (8mm)' } }), dark: true });
  await page.evaluate(() => {
    const range = document.querySelector('#scrubber');
    range.value = Math.round(range.max * 0.75);
    range.dispatchEvent(new Event('input', { bubbles: true }));
  });
  await shot(page, 'studio-dark.png');
  await page.context().close();
  page = await open({ hash: hash({ ...clock, set: { step: '0mm' } }) });
  await page.locator('#works').scrollIntoViewIfNeeded();
  await page.keyboard.press('4');
  await page.locator('.findings .what').first().click();
  await shot(page, 'studio-findings.png');
  await page.context().close();
  page = await open({ hash: hash(clock) });
  await page.click('text=See all ways of building');
  await page.waitForTimeout(1200);
  await shot(page, 'studio-gallery.png');
  await page.keyboard.press('Escape');
  await page.keyboard.press('m');
  await page.click('text=Draw the map');
  await page.waitForFunction(() => /468 of 468/.test(document.querySelector('dialog[open]').innerText), null, { timeout: 60_000 });
  await page.locator('dialog canvas').hover({ position: { x: 200, y: 160 } });
  await shot(page, 'studio-sizes.png');
  await page.context().close();
}

let failed = 0;
try {
  for (const [name, test] of Object.entries(tests)) {
    if (!name.includes(ONLY)) continue;
    const start = Date.now();
    try {
      await test();
      console.log(`ok    ${name} (${((Date.now() - start) / 1000).toFixed(1)} s)`);
    } catch (cause) {
      failed += 1;
      console.log(`FAIL  ${name}\n      ${String(cause.message).split('\n').slice(0, 14).join('\n      ')}`);
    }
  }
  if (process.argv.includes('--pictures')) await pictures();
} finally {
  await browser.close();
  ahead?.server.close();
  studio.removeAllListeners('exit');
  studio.kill();
  if (existsSync(work)) rmSync(work, { recursive: true, force: true });
}
process.exit(failed ? 1 : 0);
