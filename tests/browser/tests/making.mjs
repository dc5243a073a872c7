import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { readFileSync, readdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { BIN, clean, decode, edit, field, folder, open, sentence, work } from '../setup.mjs';

export default {
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
    // Another style, from the gallery.
    await tabTo(() => document.activeElement.textContent === 'See all styles');
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
    assert.match(await page.locator('figcaption.stacked').innerText(), /Flat/);
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
};
