import assert from 'node:assert/strict';
import { readFileSync, unlinkSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { clean, edit, field, folder, open, ROOT, sentence, stateHash } from '../setup.mjs';

export default {
  async 'choosing from the gallery by what it is for'() {
    const page = await open();
    await page.click('text=See all styles');
    const cards = page.locator('.gallery .card');
    await cards.first().waitFor();
    const all = await cards.count();
    await field(page, 'Find by word').fill('chest');
    await page.waitForFunction(() => document.querySelectorAll('.gallery .card').length === 1);
    await field(page, 'Find by word').fill('');
    for (const word of ['post', 'more than one piece']) {
      await page.locator('.tags button', { hasText: word }).click();
      const some = await cards.count();
      assert.ok(some > 0 && some < all, word);
    }
    const loaded = await page.locator('.gallery img').evaluateAll((list) => Promise.all(list.map((i) => i.decode().then(() => i.naturalWidth > 0))));
    assert.ok(loaded.every(Boolean), 'pictures load');
    await edit(page, () => cards.first().click());
    await clean(page);
  },

  async 'a style file of the folder is in the gallery, and pictures follow the theme'() {
    const text = readFileSync(join(ROOT, 'styles/half-slotted.kdl'), 'utf8').replace('"half-slotted"', '"bench-tray"').replace('Half-slotted case', 'Bench tray').replace(/uses="[^"]*"/, 'uses="books"');
    const path = join(folder, 'bench-tray.kdl');
    writeFileSync(path, text);
    const page = await open();
    await page.click('text=See all styles');
    const card = page.locator('.gallery .card', { hasText: 'Bench tray' });
    await card.waitFor();
    assert.match(await card.innerText(), /the workshop's own/);
    await page.locator('.tags button', { hasText: 'books' }).click();
    assert.ok(await card.isVisible(), 'found by what it is for');
    const picture = card.locator('img');
    const bytes = () => picture.evaluate(async (i) => (await fetch(i.src)).text());
    const light = await bytes();
    assert.match(light, /^<svg/);
    await edit(page, () => card.click());
    assert.match(await sentence(page), /bench tray/);
    assert.match(await page.locator('#way').innerText(), /the workshop's own/);
    await page.click('header >> text=Dark');
    await page.click('text=See all styles');
    await card.waitFor();
    assert.notEqual(await bytes(), light, 'darker by night');
    unlinkSync(path);
    await page.keyboard.press('Escape');
    await page.click('text=See all styles');
    await card.waitFor({ state: 'detached' });
    await clean(page, ['404']);
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

  async 'the map of sizes, with progress, values, keys and stopping'() {
    const page = await open();
    const spot = page.locator('#spot');
    const map = page.locator('dialog canvas');
    await page.click('text=Every size working?');
    await page.click('text=Draw the map');
    await page.waitForFunction(() => /468 of 468/.test(document.querySelector('dialog[open]').innerText), null, { timeout: 60_000 });
    await map.hover({ position: { x: 20, y: 20 } });
    assert.match(await spot.innerText(), /^Clear length 100 mm, clear width 400 mm: cannot be drawn: .*\d mm/);
    await map.focus();
    await page.keyboard.press('ArrowRight');
    assert.match(await spot.innerText(), /^Clear length 120 mm, clear width 400 mm/);
    await page.keyboard.press('ArrowDown');
    assert.match(await spot.innerText(), /^Clear length 120 mm, clear width 380 mm/);
    assert.match(await page.locator('.along').innerText(), /Clear length, mm/);
    await page.locator('dialog[open] input[type=number]').first().fill('200');
    await page.locator('dialog[open] input[type=number]').last().fill('200');
    await page.click('text=Draw the map again');
    await page.click('dialog[open] >> text=Stop');
    await page.waitForFunction(() => /stopped/.test(document.querySelector('dialog[open]').innerText));
    await page.locator('dialog[open] input[type=number]').first().fill('9');
    await page.locator('dialog[open] input[type=number]').last().fill('7');
    await page.click('text=Draw the map again');
    await page.waitForFunction(() => /63 of 63/.test(document.querySelector('dialog[open]').innerText));
    // A click picks a cell, which then stays under the moving pointer; Escape lets go of it.
    const box = await map.boundingBox();
    await map.click({ position: { x: box.width - 10, y: box.height - 10 } });
    await map.hover({ position: { x: 10, y: 10 } });
    assert.match(await spot.innerText(), /^Clear length 600 mm, clear width 60 mm: passes/);
    await page.keyboard.press('Escape');
    assert.equal(await page.locator('dialog[open]').count(), 1);
    // By keys: go there, pick, take.
    for (let i = 0; i < 10; i++) await page.keyboard.press('ArrowLeft');
    for (let i = 0; i < 10; i++) await page.keyboard.press('ArrowDown');
    for (let i = 0; i < 4; i++) await page.keyboard.press('ArrowRight');
    await page.keyboard.press('Enter');
    assert.equal(await page.evaluate(() => document.activeElement.textContent), 'Take this size');
    await edit(page, () => page.keyboard.press('Enter'));
    assert.match(await sentence(page), /350 × 60 × 150 mm/);
    await clean(page);
  },

  async 'with inches chosen, everything is in inches'() {
    const page = await open({ hash: stateHash({ set: { step: '0mm' }, sheet: ['400mm', '900mm'] }, { unit: 'in' }) });
    await page.click('summary:has-text("Fine points")');
    await page.click('summary:has-text("passed")');
    await page.click('summary:has-text("Sheets, machine")');
    await page.click('summary:has-text("Measured the")');
    const left = await page.evaluate(() => {
      const words = [...document.querySelectorAll('.page p, .page span, .page h1, .page text, .page li')].filter((e) => !e.closest('.acts') && !e.querySelector('q')).map((e) => e.textContent);
      const fields = [...document.querySelectorAll('input')].flatMap((i) => [i.value, i.placeholder]);
      return [...words, ...fields].filter((t) => /\d ?mm\b/.test(t));
    });
    assert.deepEqual(left, []);
    assert.match(await page.locator('.findings').first().innerText(), /\d in\b/);
    await page.click('text=Every size working?');
    await page.click('text=Draw the map');
    await page.waitForFunction(() => /315 of 315/.test(document.querySelector('dialog[open]').innerText), null, { timeout: 60_000 });
    await page.locator('dialog canvas').hover({ position: { x: 20, y: 20 } });
    assert.match(await page.locator('#spot').innerText(), /^Clear length 4 in, clear width 16 in: cannot be drawn: .*\d in/);
    await clean(page);
  },

  async 'sheet, bed, how many, and the title block'() {
    const page = await open();
    const press = (key) => page.keyboard.press(key);
    const why = async (label) => {
      const ids = (await field(page, label).getAttribute('aria-describedby')).split(' ');
      return (await Promise.all(ids.map((id) => page.locator(`[id="${id}"]`).innerText()))).join(' ');
    };
    await page.locator('summary', { hasText: 'Sheets, machine and paper' }).focus();
    await press('Enter');
    await press('Tab');
    await page.keyboard.type('500');
    assert.match(await why('Across its flutes'), /needed as well/);
    await press('Tab');
    await edit(page, () => page.keyboard.type('9'));
    await edit(page, () => page.keyboard.type('00'));
    assert.match(await page.locator('.findings').first().innerText(), /larger than the sheet/);
    const before = await page.locator('#flat-view .panel').first().getAttribute('d');
    await edit(page, () => field(page, 'Across its flutes').fill('2 stone'));
    assert.match(await why('Across its flutes'), /\S/);
    assert.equal(await field(page, 'Across its flutes').getAttribute('aria-invalid'), 'true');
    assert.equal(await page.locator('#flat-view .panel').first().getAttribute('d'), before);
    await edit(page, () => field(page, 'Across its flutes').fill('2000'));
    assert.doesNotMatch(await page.locator('#works .findings').allInnerTexts().then((t) => t.join()), /larger than/);
    await field(page, 'Length of the bed').fill('600');
    await edit(page, () => field(page, 'Width of the bed').fill('400'));
    assert.match(await page.locator('.findings').first().innerText(), /larger than the cutter's bed/);
    await field(page, 'How many cases').fill('a few');
    assert.match(await why('How many cases'), /whole number/);
    await edit(page, () => field(page, 'How many cases').fill('12'));
    await edit(page, () => field(page, 'Drawn by').fill('bench 2'));
    await edit(page, () => field(page, 'Drawing number').fill('MC-001'));
    await page.click('summary:has-text("Measured the")');
    await field(page, 'Along the flutes').fill('deep');
    assert.match(await why('Along the flutes'), /from 0 to 1/);
    await edit(page, () => field(page, 'Along the flutes').fill('1.5'));
    assert.match(await why('Along the flutes'), /between 0 and 1/);
    await edit(page, () => field(page, 'Along the flutes').fill('0.4'));
    assert.equal(await field(page, 'Along the flutes').getAttribute('aria-invalid'), 'false');
    await edit(page, () => field(page, 'Thickness at hand').fill('3.9'));
    assert.match(await sentence(page), /3\.9 mm/);
    await press('Control+s');
    await page.locator('dialog[open] input').first().fill('workshop');
    await page.click('dialog[open] >> button:text-is("Save")');
    await page.waitForFunction(() => !document.querySelector('dialog[open]'));
    const saved = readFileSync(join(folder, 'workshop.kdl'), 'utf8');
    for (const line of [/sheet "500mm" "2000mm"/, /bed "600mm" "400mm"/, /quantity 12/, /creator="bench 2"/, /number="MC-001"/, /caliper "3.9mm"/, /depth-along="?0.4/]) assert.match(saved, line);
    unlinkSync(join(folder, 'workshop.kdl'));
    await edit(page, () => field(page, 'Length of the bed').fill(''));
    assert.doesNotMatch(await page.locator('#works').innerText(), /larger than/);
    await clean(page);
  },
};
