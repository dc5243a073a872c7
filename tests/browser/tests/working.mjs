// Stock, layout and cut: from sheets on the shelf to machine code.
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { AXE, BIN, clean, field, folder, open, work } from '../setup.mjs';

const STORE = join(folder, 'boxwright-stock.db');

/** A page of the four, opened from the first. */
async function go(page, name) {
  await page.click(`header nav >> text="${name}"`);
  await page.waitForFunction((n) => document.title.startsWith(n), name === 'Case' ? '' : name.toLowerCase());
}

const said = (page) => page.locator('h1').innerText();

/** Keeps a stock of its own for a walk. */
function stockOf(text) {
  if (existsSync(STORE)) rmSync(STORE);
  const file = join(mkdtempSync(join(work, 'stock-')), 'stock.kdl');
  writeFileSync(file, text);
  execFileSync(BIN, ['stock', '--folder', folder, 'import', file], { stdio: 'ignore' });
}
const SHEETS = 'sheet "BC large" board="BC" length="1600mm" width="1200mm" count=8 price=5.90\nsheet "C large" board="C" length="1600mm" width="1200mm" count=12 price=3.40\nsheet "B large" board="B" length="1600mm" width="1200mm" count=5 price=3.25\noff-cut "C-1" board="C" price=0.80 {\n    outline "0mm" "0mm" "900mm" "0mm" "900mm" "380mm" "760mm" "520mm" "0mm" "520mm"\n}\n';

/** Lays these jobs, so many of each, and waits for the end. */
async function lay(page, jobs, { title = 'walk', seconds = '1' } = {}) {
  await field(page, 'Call it').fill(title);
  for (const [job, many] of Object.entries(jobs)) {
    // Another walk may have left a second job of this title.
    await page.locator('.jobs label', { hasText: job }).last().click();
    if (many) await page.getByLabel(new RegExp(`^How many of ${job}`)).fill(String(many));
  }
  await page.getByLabel('Look for so many seconds').fill(seconds);
  await page.click('button:has-text("Lay them")');
  await page.waitForFunction(() => /Done after/.test(document.body.innerText), null, { timeout: 60_000 });
}

async function save(page) {
  await page.click('button:has-text("Save in the folder")');
  await page.waitForSelector('text=/^Saved as/');
}

/** A saved layout, shown on the page Cut. */
async function cutting(page, jobs, title) {
  stockOf(SHEETS);
  rmSync(join(folder, `${title}.layout.json`), { force: true });
  await go(page, 'Layout');
  await page.waitForSelector('.jobs label');
  await lay(page, jobs, { title });
  await save(page);
  await page.click('button:has-text("Cut it")');
  await page.waitForSelector('#path-view', { timeout: 60_000 });
}

/** Takes a machine, and waits until its path is there. */
async function choose(page, machine) {
  await page.locator('select', { has: page.locator(`option[value="${machine}"]`) }).selectOption(machine);
  await page.waitForFunction(() => !/Working it out/.test(document.body.innerText), null, { timeout: 60_000 });
}

export default {
  async 'stock: sheets added by keyboard alone, counted, taken off'() {
    rmSync(STORE, { force: true });
    const page = await open();
    await page.keyboard.press('7');
    await page.waitForSelector('text=Nothing is kept yet');
    assert.ok(!existsSync(STORE), 'looking makes no file');
    for (let i = 0; (await page.evaluate(() => document.activeElement.id)) !== 'add-name'; i++) {
      assert.ok(i < 40, 'never reached the name');
      await page.keyboard.press('Tab');
    }
    await page.keyboard.type('C large');
    await page.keyboard.press('Tab');
    await page.keyboard.press('C');
    for (const text of ['1600', '4 ft', '12', '3.4']) {
      await page.keyboard.press('Tab');
      await page.keyboard.press('Control+A');
      await page.keyboard.type(text);
    }
    await page.keyboard.press('Enter');
    await page.waitForSelector('tbody th:has-text("C large")');
    assert.match(await page.locator('tbody tr').innerText(), /1600 × 1219\.2 mm/);
    assert.match(await said(page), /12 sheets of 1 kind/);
    assert.ok(existsSync(STORE));
    const count = page.getByLabel('How many of C large');
    await count.fill('9');
    await count.press('Enter');
    await page.waitForFunction(() => /9 sheets/.test(document.querySelector('h1').innerText));
    // Wrong input says what is wrong and changes nothing.
    await count.fill('nine');
    await count.press('Enter');
    await page.waitForSelector('[role=alert]:has-text("whole number")');
    await page.fill('#add-name', 'bad');
    await field(page, 'Along the flutes').fill('3 kg');
    await field(page, 'Across the flutes').fill('100');
    await page.click('#add button');
    await page.waitForSelector('[role=alert]:has-text("length")');
    assert.match(await said(page), /9 sheets of 1 kind/);
    await page.click('[aria-label="Remove C large"]');
    await page.click('dialog[open] >> text=Leave it');
    assert.equal(await page.locator('tbody tr').count(), 1);
    await page.click('[aria-label="Remove C large"]');
    await page.click('dialog[open] >> text=Remove it');
    await page.waitForSelector('text=Nothing is kept yet');
    assert.match(await page.locator('ol').innerText(), /9 x C large taken out/);
    await clean(page, ['409']);
  },

  async 'stock: text out and in, and two windows that do not overwrite each other'() {
    stockOf(SHEETS);
    const page = await open();
    await go(page, 'Stock');
    await page.waitForSelector('tbody tr');
    const [download] = await Promise.all([page.waitForEvent('download'), page.click('text=Export text')]);
    const text = readFileSync(await download.path(), 'utf8');
    const cli = execFileSync(BIN, ['stock', '--folder', folder, 'export'], { encoding: 'utf8' });
    assert.equal(text, cli, 'as the command line writes it');
    const other = await open();
    await go(other, 'Stock');
    await other.waitForSelector('tbody tr');
    await page.getByLabel('How many of B large').fill('4');
    await page.getByLabel('How many of B large').press('Enter');
    await page.waitForFunction(() => /B large counted: 1 fewer/.test(document.body.innerText));
    await other.getByLabel('How many of B large').fill('50');
    await other.getByLabel('How many of B large').press('Enter');
    await other.waitForSelector('[role=alert]:has-text("changed elsewhere")');
    assert.equal(await other.getByLabel('How many of B large').inputValue(), '4');
    // In place of all, then added up.
    const file = join(work, 'few.kdl');
    writeFileSync(file, 'sheet "E large" board="E" length="1600mm" width="1200mm" count=3 price=3.1\n');
    const put = async (how) => {
      await other.setInputFiles('input[type=file]', file);
      await other.getByLabel(how).check();
      await other.click('dialog[open] >> text="Import it"');
      await other.waitForFunction(() => !document.querySelector('dialog[open]'));
    };
    await put(/Put it in place/);
    await other.waitForFunction(() => /3 sheets of 1 kind/.test(document.querySelector('h1').innerText));
    await put(/Add it to the stock/);
    await other.waitForFunction(() => /6 sheets of 1 kind/.test(document.querySelector('h1').innerText));
    writeFileSync(file, 'sheet "E large" board="E"\nsheet 5\n');
    await put(/Add it to the stock/);
    await other.waitForSelector('[role=alert]:has-text("line 1")');
    await clean(page);
    await clean(other, ['409']);
  },

  async 'layout: two jobs laid, saved, used and taken back'() {
    stockOf(SHEETS);
    const page = await open();
    await go(page, 'Layout');
    await page.waitForSelector('.jobs label');
    await page.click('button:has-text("Lay them")');
    await page.waitForSelector('[role=alert]:has-text("at least one job")');
    await lay(page, { 'mantel clock': 4, 'brass weights': '' }, { title: 'two jobs' });
    assert.ok((await page.locator('#sheets-view use').count()) >= 5);
    const result = await page.locator('.result').innerText();
    assert.match(result, /% of \d+ sheets? is in use/);
    assert.match(result, /Board C: \d+ sheets?;/);
    assert.match(result, /4 of 4/);
    await save(page);
    const file = join(folder, 'two-jobs.layout.json');
    const saved = readFileSync(file, 'utf8');
    assert.equal(JSON.parse(saved).title, 'two jobs');
    await page.click('text=Take the sheets from the stock');
    assert.match(await page.locator('dialog[open]').innerText(), /Taken out:\s+\d x BC large\s+\d x C large|Taken out:\s+\d x C/);
    await page.click('dialog[open] >> text=Leave it');
    await page.click('text=Take the sheets from the stock');
    await page.click('dialog[open] >> text=Take them');
    await page.waitForSelector('text=this layout was used already');
    await go(page, 'Stock');
    await page.waitForSelector('text=/layout two jobs used/');
    await page.click('text=Undo the use of two jobs');
    await page.waitForSelector('text=/the use of layout two jobs taken back/');
    assert.match(await said(page), /25 sheets of 3 kinds and 1 off-cut/);
    // A file changed meanwhile is not overwritten.
    await go(page, 'Layout');
    await page.click('button:has-text("Lay them again")');
    await page.waitForFunction(() => /Done after/.test(document.body.innerText), null, { timeout: 60_000 });
    await page.click('button:has-text("Save in the folder")');
    await page.waitForSelector('[role=alert]:has-text("already")');
    assert.equal(readFileSync(file, 'utf8'), saved);
    await clean(page, ['409']);
  },

  async 'layout: sheets typed in, what finds no place, and a search that is stopped'() {
    writeFileSync(join(folder, 'parts-box.kdl'), 'job "parts box" {\n    style "slotted-case"\n    inside length="200mm" width="140mm" depth="120mm"\n    board "C"\n    quantity 20\n}\n');
    const page = await open();
    await go(page, 'Layout');
    await page.waitForSelector('.jobs label');
    await page.getByText('Sheets typed here').click();
    await page.getByLabel('Along flutes').fill('1 m');
    await page.getByLabel('Across').fill('1200');
    await page.getByLabel('Many', { exact: true }).fill('1');
    await lay(page, { 'mantel clock': 30 }, { title: 'too many' });
    assert.match(await page.locator('.result').innerText(), /no room was left on what there is/);
    assert.match(await said(page), /without a place/);
    await page.getByLabel('Along flutes').fill('300');
    await page.click('button:has-text("Lay them again")');
    await page.waitForFunction(() => /too large for every sheet/.test(document.body.innerText), null, { timeout: 60_000 });
    await page.getByLabel('Along flutes').fill('1600');
    await page.getByLabel('Many', { exact: true }).fill('20');
    await page.locator('.jobs label', { hasText: 'parts box' }).click();
    await page.getByLabel('Look for so many seconds').fill('300');
    await page.click('button:has-text("Lay them again")');
    await page.waitForSelector('#sheets-view use', { timeout: 60_000 });
    await page.click('text=Stop, keep the best');
    await page.waitForFunction(() => /Stopped after/.test(document.body.innerText));
    assert.ok((await page.locator('#sheets-view use').count()) > 0, 'the best so far is kept');
    assert.ok(await page.locator('button:has-text("Save in the folder")').isEnabled());
    rmSync(join(folder, 'parts-box.kdl'));
    await clean(page);
  },

  async 'cut: played back, stepped, sped, and machine code byte for byte'() {
    const page = await open();
    await cutting(page, { 'mantel clock': 3 }, 'clock cut');
    await choose(page, 'knife-table');
    const total = await page.locator('.clock').innerText();
    assert.match(total, /0 s of \d/);
    const strokes = await page.locator('#path-view .stroke[data-stroke]').count();
    assert.ok(strokes > 10);
    await page.locator('#what').focus();
    // One stroke, two, and back.
    await page.keyboard.press('ArrowRight');
    assert.equal(await page.locator('#path-view [data-stroke].made').count(), 1);
    await page.keyboard.press('ArrowRight');
    assert.equal(await page.locator('#path-view [data-stroke].made').count(), 2);
    await page.keyboard.press('ArrowLeft');
    assert.equal(await page.locator('#path-view [data-stroke].made').count(), 1);
    await page.keyboard.press('End');
    assert.equal(await page.locator('#path-view [data-stroke].made').count(), strokes);
    assert.match(await page.locator('p.now').innerText(), /done/);
    await page.keyboard.press('Home');
    // Sped by the machine's own time: 10 s of it take 1 s at 10 times.
    assert.match(await page.locator('.pace').innerText(), /10×/);
    const at = () => page.locator('.slide input').inputValue().then(Number);
    await page.keyboard.press('Space');
    await page.waitForTimeout(1000);
    await page.keyboard.press('Space');
    const then = await at();
    assert.ok(then > 4 && then < 30, `${then} s of the machine in one`);
    await page.waitForTimeout(200);
    assert.equal(await at(), then, 'it stands still');
    await page.keyboard.press('ArrowUp');
    assert.match(await page.locator('.pace').innerText(), /1[23]×/);
    const set = (n, v) => page.locator('#player input[type=range]').nth(n).evaluate((e, v) => { e.value = v; e.dispatchEvent(new Event('input', { bubbles: true })); }, v);
    await set(1, 2);
    assert.match(await page.locator('.pace').innerText(), /100×/);
    await set(1, -1);
    assert.match(await page.locator('.pace').innerText(), /0\.1×/);
    // Near, the ends of strokes show.
    await page.locator('#path-view').focus();
    for (let i = 0; i < 12; i++) await page.keyboard.press('+');
    await page.keyboard.press('ArrowLeft');
    assert.match(await page.locator('figcaption').innerText(), /tool on/);
    await page.keyboard.press('0');
    const takes = await page.locator('#takes').innerText();
    assert.match(takes, /Keep hands off the table while it moves/);
    assert.match(takes, /Cost in all/);
    const out = mkdtempSync(join(work, 'cut-'));
    execFileSync(BIN, ['cut', join(folder, 'clock-cut.layout.json'), '--machine', 'knife-table', '--out', out], { stdio: 'ignore' });
    const [download] = await Promise.all([page.waitForEvent('download'), page.click('[data-file=gcode]')]);
    const name = readdirSync(out).find((n) => n.endsWith('.gcode'));
    assert.equal(download.suggestedFilename(), name);
    assert.ok(readFileSync(await download.path()).equals(readFileSync(join(out, name))), 'the same bytes');
    for (const kind of ['dxf', 'svg', 'pdf']) {
      await page.waitForFunction(() => !document.querySelector('[data-file]').disabled);
      const [file] = await Promise.all([page.waitForEvent('download'), page.click(`[data-file=${kind}]`)]);
      assert.ok(readFileSync(await file.path()).length > 300, kind);
    }
    // The laser's bed is too small for these sheets, and it says so.
    await page.locator('select', { has: page.locator('option[value="bench-laser"]') }).selectOption('bench-laser');
    await page.waitForSelector('[role=alert]:has-text("bed")', { timeout: 60_000 });
    await clean(page, ['409']);
  },

  async 'cut: on a laser, with nicks, and what fire can do'() {
    stockOf('sheet "E laser" board="E" length="600mm" width="400mm" count=40 price=0.45\n');
    writeFileSync(join(folder, 'part-box.kdl'), 'job "part box" {\n    style "mailer"\n    inside length="90mm" width="60mm" depth="40mm"\n    board "E"\n    crease "perforated"\n}\n');
    rmSync(join(folder, 'lasered.layout.json'), { force: true });
    const page = await open();
    await go(page, 'Layout');
    await page.waitForSelector('.jobs label');
    await page.locator('select', { has: page.locator('option[value="bench-laser"]') }).selectOption('bench-laser');
    await lay(page, { 'part box': 2 }, { title: 'lasered' });
    await save(page);
    await page.click('button:has-text("Cut it")');
    await page.waitForSelector('#path-view', { timeout: 60_000 });
    await choose(page, 'bench-laser');
    const takes = await page.locator('#takes').innerText();
    assert.match(takes, /never leave the laser running alone/);
    assert.match(takes, /Energy\s+[\d.]+ k?J/);
    const nicks = () => page.locator('#takes tr', { hasText: 'Nicks' }).innerText();
    assert.ok(!/Nicks\s+0/.test(await nicks()), await nicks());
    await page.getByText('Nicks hold the parts').click();
    await page.waitForFunction(() => /Nicks\s+0/.test(document.querySelector('#takes').innerText), null, { timeout: 60_000 });
    rmSync(join(folder, 'part-box.kdl'));
    await clean(page);
  },

  async 'the pages: links, keys, back, and the case kept'() {
    const page = await open();
    await field(page, 'Call it').fill('kept case');
    await page.waitForFunction(() => document.querySelector('h1').innerText.includes('kept case'));
    for (const [key, name] of [['i', 'contents'], ['t', 'ship'], ['7', 'stock'], ['8', 'layout'], ['9', 'cut']]) {
      await page.locator('header nav a').first().focus();
      await page.keyboard.press(key);
      await page.waitForFunction((n) => document.title === `${n} · boxwright`, name);
      assert.equal(await page.locator('h1').count(), 1);
      assert.equal(await page.locator('header nav a[aria-current]').innerText(), name[0].toUpperCase() + name.slice(1));
    }
    await page.waitForTimeout(400);
    const hash = await page.evaluate(() => location.hash);
    assert.match(hash, /^#cut\.ey/);
    await page.goBack();
    await page.waitForFunction(() => document.title === 'layout · boxwright');
    await page.keyboard.press('6');
    await page.waitForFunction(() => /kept case/.test(document.title));
    await page.goto(page.url().replace(/#.*/, hash));
    await page.reload();
    await page.waitForFunction(() => document.title === 'cut · boxwright');
    await page.keyboard.press('6');
    await page.waitForFunction(() => /kept case/.test(document.querySelector('h1').innerText));
    await clean(page);
  },

  async 'axe finds nothing on stock, layout and cut, light and dark, and nothing sticks out'() {
    for (const dark of [false, true])
      for (const width of [1440, 768]) {
        const page = await open({ dark, width });
        await page.evaluate(AXE);
        const check = async (where) => {
          const { violations } = await page.evaluate(() => axe.run(document));
          const told = violations.map((v) => `${v.id}: ${v.nodes.map((n) => `${n.target} ${n.any.map((a) => a.message).join('; ')}`).slice(0, 3).join(' | ')}`);
          assert.deepEqual(told, [], `${where}, ${dark ? 'dark' : 'light'}, ${width}`);
          const over = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
          assert.ok(over <= 0, `${where}, ${width}: ${over} px too wide`);
        };
        await cutting(page, { 'mantel clock': 3 }, 'axe');
        await choose(page, 'knife-table');
        await check('cut');
        await page.locator('#path-view').focus();
        await page.keyboard.press('End');
        await check('cut, done');
        await go(page, 'Layout');
        await page.getByText('Sheets typed here').click();
        await check('layout');
        await page.click('text=Take the sheets from the stock');
        await check('question');
        await page.keyboard.press('Escape');
        await go(page, 'Stock');
        await page.waitForSelector('tbody tr');
        await check('stock');
        await page.click('[aria-label="Remove C large"]');
        await check('remove');
        await page.keyboard.press('Escape');
        await clean(page, ['409']);
      }
  },
};
