// Range and first article: from an order history to sizes, from test strips to figures.
import assert from 'node:assert/strict';
import { readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { AXE, clean, field, folder, open } from '../setup.mjs';

const STORE = join(folder, 'boxwright-stock.db');
const ORDERS = 'length,width,height,count\n300,200,100,12\n180,120,90,30\n400,300,250,5\n';

async function go(page, name) {
  await page.click(`header nav >> text="${name}"`);
  await page.waitForSelector(`header nav a[aria-current]:has-text("${name}")`);
}

const said = (page) => page.locator('h1').innerText();

/** Presses Tab until this is reached. */
async function tabTo(page, is, what) {
  for (let i = 0; !(await page.evaluate(is)); i++) {
    assert.ok(i < 80, `never reached ${what}`);
    await page.keyboard.press('Tab');
  }
}

/** Types text over what the focused field holds. */
async function over(page, text) {
  await page.keyboard.press('Control+A');
  await page.keyboard.type(text);
}

async function chosen(page) {
  await page.click('button:has-text("Choose")');
  await page.waitForSelector('#chosen-title', { timeout: 60_000 });
}

/** Five readings of everything, a little apart. */
async function fill(page) {
  const cells = async (name, values) => {
    for (const [n, value] of values.entries()) await page.getByLabel(name(n + 1), { exact: true }).fill(value);
  };
  await cells((n) => `Thickness ${n}`, ['4.05', '4.10', '4.05', '4.00', '4.10']);
  for (const way of ['along', 'across']) {
    await cells((n) => `Strip ${n} ${way} the flutes, between walls`, ['55.80', '55.75', '55.85', '55.80', '55.70']);
    await cells((n) => `Strip ${n} ${way} the flutes, over walls`, ['63.95', '63.85', '63.95', '63.90', '63.80']);
  }
  await cells((n) => `Hole ${n}`, ['20.15', '20.20', '20.15', '20.10', '20.20']);
  await cells((n) => `Piece ${n}`, ['19.85', '19.85', '19.80', '19.85', '19.85']);
}

async function axe(page, where) {
  const { violations } = await page.evaluate(() => axe.run(document));
  const told = violations.map((v) => `${v.id}: ${v.nodes.map((n) => `${n.target} ${n.any.map((a) => a.message).join('; ')}`).slice(0, 3).join(' | ')}`);
  assert.deepEqual(told, [], where);
  const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
  assert.ok(wide <= 0, `${where}: ${wide} px too wide`);
}

export default {
  async 'range: sizes for pasted orders by keyboard alone, and a case of one of them'() {
    const page = await open();
    await page.keyboard.press('r');
    await page.waitForSelector('#what');
    await tabTo(page, () => document.activeElement.matches('input[type=radio][value=file]'), 'where the orders are');
    await page.keyboard.press('ArrowRight');
    await tabTo(page, () => document.activeElement.tagName === 'TEXTAREA', 'the orders');
    await page.keyboard.type('length,width\n1,2');
    await tabTo(page, () => document.activeElement.inputMode === 'numeric', 'how many sizes');
    await over(page, '2');
    await page.keyboard.press('Enter');
    await page.waitForSelector('[role=alert]:has-text("no column height")');
    await page.locator('textarea').focus();
    await over(page, ORDERS);
    await tabTo(page, () => document.activeElement.textContent.startsWith('Choose'), 'choosing');
    await page.keyboard.press('Enter');
    await page.waitForSelector('#chosen-title', { timeout: 60_000 });
    assert.match(await said(page), /^2 sizes for 47 orders: .* l of void, proved best\.$/);
    assert.equal(await page.locator('section:has(#chosen-title) tbody tr').count(), 2);
    assert.ok(await page.evaluate(() => [...document.images].every((i) => i.complete && i.naturalWidth > 0)), 'the curve is drawn');
    const [download] = await Promise.all([page.waitForEvent('download'), page.click('text=Take them as CSV')]);
    assert.match(readFileSync(await download.path(), 'utf8'), /^length_mm,width_mm,depth_mm,.*\n.*\n400,300,250,no,/);
    await page.getByLabel('Make it, a case of 400 × 300 × 250 mm').focus();
    await page.keyboard.press('Enter');
    await page.waitForSelector('#goes-in');
    await page.waitForFunction(() => /400 × 300 × 250/.test(document.body.innerText));
    await page.keyboard.press('r');
    // What was found is still there, and a kept size is one of the next.
    await page.waitForSelector('#chosen-title');
    await page.click('text=Keep a size');
    for (const [side, value] of [['Length', '500'], ['Width', '40 cm'], ['Depth', '300']]) await field(page, `${side} of kept size 1`).fill(value);
    await chosen(page);
    await page.waitForSelector('tbody >> text=kept');
    await clean(page, ['409']);
  },

  async 'range: a file of the folder, and a long search stopped'() {
    writeFileSync(join(folder, 'spring.csv'), ORDERS);
    let n = 1;
    const rows = Array.from({ length: 3000 }, () => [1, 2, 3].map(() => 50 + ((n = (n * 48271) % 2147483647) % 700)).join(','));
    writeFileSync(join(folder, 'many.csv'), `length,width,height\n${rows.join('\n')}\n`);
    const page = await open();
    await go(page, 'Range');
    await page.locator('select', { has: page.locator('option[value="spring.csv"]') }).selectOption('spring.csv');
    await field(page, 'How many sizes').fill('1');
    await chosen(page);
    assert.match(await said(page), /^1 size for 47 orders/);
    await page.locator('select', { has: page.locator('option[value="many.csv"]') }).selectOption('many.csv');
    await field(page, 'How many sizes').fill('9');
    await page.click('summary:has-text("More")');
    await page.locator('select', { has: page.locator('option[value="10000"]') }).selectOption('10000');
    await page.click('button:has-text("Choose again")');
    await page.waitForSelector('text=/ of up to 12/', { timeout: 60_000 });
    await page.click('text=Stop, keep the best');
    await page.waitForFunction(() => /Stopped\.|stopped before/i.test(document.body.innerText), null, { timeout: 60_000 });
    assert.equal(await page.locator('button:has-text("Stop, keep")').count(), 0);
    await clean(page);
  },

  async 'first article: strips, readings, figures kept, drawn with and forgotten'() {
    rmSync(STORE, { force: true });
    const page = await open();
    await page.keyboard.press('a');
    await page.waitForSelector('#strips-files');
    assert.match(await said(page), /nothing is measured yet/);
    await page.locator('select', { has: page.locator('option[value="bench-laser"]') }).selectOption('bench-laser');
    await page.click('text=Draw the strips');
    await page.waitForSelector('text=/bench-laser\\. In mm/');
    const [download] = await Promise.all([page.waitForEvent('download'), page.click('button:has-text("coupon.pdf")')]);
    assert.equal(readFileSync(await download.path()).subarray(0, 5).toString(), '%PDF-');
    await fill(page);
    await field(page, 'Thickness 2').fill('9');
    await page.click('text=Work out the figures');
    await page.waitForSelector('[role=alert]:has-text("Thickness 2")');
    assert.equal(await field(page, 'Thickness 2').getAttribute('aria-invalid'), 'true');
    await field(page, 'Thickness 2').fill('4.1');
    await page.keyboard.press('Enter');
    await page.waitForSelector('td:has-text("4.06 mm")');
    const [file] = await Promise.all([page.waitForEvent('download'), page.click('text=Take them as a file')]);
    const path = join(folder, '..', 'measurements.kdl');
    await file.saveAs(path);
    await page.click('text=Keep these figures');
    await page.waitForFunction(() => /1 set of figures kept/.test(document.querySelector('h1').innerText));
    // The case is drawn with them, until they are left off.
    await go(page, 'Case');
    await page.waitForSelector('text=/Drawn with figures measured here: caliper 4.06/');
    await page.getByLabel('Leave measured figures off').check();
    await page.waitForSelector('text=Figures measured here are left off.');
    await page.getByLabel('Leave measured figures off').uncheck();
    await page.waitForSelector('text=/Drawn with figures measured here/');
    await go(page, 'First article');
    await page.setInputFiles('#readings input[type=file]', path);
    await page.waitForFunction(() => document.querySelector('[aria-label="Thickness 1"]').value === '4.05mm');
    await page.click('[aria-label^="Forget number"]');
    await page.click('dialog[open] >> text=Leave it');
    assert.match(await said(page), /1 set/);
    await page.click('[aria-label^="Forget number"]');
    await page.click('dialog[open] >> text=Forget them');
    await page.waitForFunction(() => /nothing is measured yet/.test(document.querySelector('h1').innerText));
    await clean(page);
  },

  async 'first article: how many cases hold, by keyboard alone'() {
    rmSync(STORE, { force: true });
    const page = await open();
    await page.keyboard.press('a');
    await page.waitForSelector('#spread');
    await page.locator('#spread').focus();
    await page.keyboard.press('Tab');
    await over(page, '99');
    await page.keyboard.press('Enter');
    await page.waitForSelector('#spread [role=alert]:has-text("100 to 100000")');
    await over(page, '300');
    await page.keyboard.press('Enter');
    await page.waitForSelector('#spread table', { timeout: 60_000 });
    const text = await page.locator('#spread').innerText();
    assert.match(text, /Done: 300 cases of my case/);
    assert.match(text, /99 % of cases/);
    assert.match(text, /rests on tolerances alone/);
    const shares = [...text.matchAll(/(\d+(?:\.\d)?) %\t/g)].map((m) => Number(m[1]));
    assert.ok(shares.length >= 4, text);
    await clean(page);
  },

  async 'range and first article: axe finds nothing, light and dark, and nothing sticks out'() {
    rmSync(STORE, { force: true });
    for (const dark of [false, true])
      for (const width of [1440, 768]) {
        const page = await open({ dark, width });
        await page.evaluate(AXE);
        const where = (what) => `${what}, ${dark ? 'dark' : 'light'}, ${width}`;
        await go(page, 'Range');
        await page.click('label:has-text("Given here")');
        await field(page, 'Orders as CSV').fill(ORDERS);
        await field(page, 'How many sizes').fill('2');
        await axe(page, where('range, empty'));
        await chosen(page);
        await axe(page, where('range'));
        await go(page, 'First article');
        await page.waitForSelector('#strips-files');
        await fill(page);
        await page.click('text=Work out the figures');
        await page.waitForSelector('#readings table');
        await field(page, 'How many cases').fill('100');
        await page.click('text=How many will hold?');
        await page.waitForSelector('#spread table', { timeout: 60_000 });
        await axe(page, where('first article'));
        // The pages stand side by side or below each other, none outside.
        const links = await page.locator('header nav a').evaluateAll((all) => all.map((a) => a.getBoundingClientRect()).map((r) => [r.left, r.right]));
        assert.ok(links.every(([left, right]) => left >= 0 && right <= width), where('links'));
        await clean(page);
      }
  },
};
