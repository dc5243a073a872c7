// Contents and ship: from the things to the case, and from the case to the truck.
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { AXE, BIN, clean, field, open, stateHash, work } from '../setup.mjs';

const said = (page) => page.locator('h1').innerText();
/** Working something out may take its time on a busy machine. */
const LONG = { timeout: 60_000 };

/** A page opened by its key. */
async function go(page, key, name) {
  await page.locator('header nav a').first().focus();
  await page.keyboard.press(key);
  await page.waitForFunction((n) => document.title === `${n} · boxwright`, name);
}

/** Tab until the focus is where `test` says; a keyboard alone has to get there. */
async function tabTo(page, test, arg) {
  for (let i = 0; !(await page.evaluate(test, arg)); i++) {
    assert.ok(i < 80, `never reached ${arg}`);
    await page.keyboard.press('Tab');
  }
}
const labelled = (text) => document.activeElement.labels?.[0]?.innerText.trim().startsWith(text) ?? false;
const onButton = (text) => document.activeElement.matches('button') && document.activeElement.innerText.trim().startsWith(text);

/** Types into the field that this label names, reached by Tab. */
async function type(page, label, text) {
  await tabTo(page, labelled, label);
  await page.keyboard.press('Control+A');
  await page.keyboard.type(text);
}

const stated = { contents: ['contents "mantel clock" mass="4.1kg" fragile=40'] };
const judged = (page) => page.waitForSelector('#pallet img', LONG);

export default {
  async 'contents: a thing typed by keyboard alone, sizes proposed, one put into the case'() {
    const page = await open();
    await go(page, 'i', 'contents');
    for (const [label, text] of [['Call it', 'mantel clock'], ['Length', '312'], ['Width', '148'], ['Depth', '236'], ['Mass of one', '4.1'], ['Bears a peak', '40']]) await type(page, label, text);
    await tabTo(page, onButton, 'Propose inside sizes');
    await page.keyboard.press('Enter');
    // Factor 3 x 760 mm / 40 g = 57 mm, and 3 mm of clearance, on each side.
    await page.waitForSelector('#sizes table', LONG);
    assert.match(await said(page), /mantel clock, 4\.1 kg/);
    const first = await page.locator('#sizes tbody tr').first().innerText();
    const sizes = /([\d.]+) × ([\d.]+) × ([\d.]+) mm/.exec(first).slice(1).map(Number);
    assert.ok(sizes.reduce((a, b) => a + b) >= 312 + 148 + 236 + 6 * 57, first);
    const told = await page.locator('#sizes').innerText();
    assert.match(told, /Cushion of 57 mm on every side, for the mantel clock/);
    assert.match(told, /try a packed case/);
    assert.ok(await page.locator('#sizes img').evaluate((i) => i.complete && i.naturalWidth > 100), 'the picture is drawn');
    // A size is chosen with the arrows.
    await tabTo(page, () => document.activeElement.matches('#sizes input[type=radio]'), 'the sizes');
    if ((await page.locator('#sizes tbody tr').count()) > 1) {
      await page.keyboard.press('ArrowDown');
      assert.ok(await page.locator('#sizes tbody tr').nth(1).evaluate((e) => e.classList.contains('chosen')));
      await page.keyboard.press('ArrowUp');
    }
    await tabTo(page, onButton, 'Use this size');
    await page.keyboard.press('Enter');
    await page.waitForFunction((s) => document.querySelector('h1').innerText.includes(s), sizes.join(' × '), LONG);
    assert.match(await said(page), /mantel clock/);
    // The case keeps what is sent in it: its mass counts on its way.
    await go(page, 't', 'ship');
    await judged(page);
    await page.waitForFunction(() => /Contents\s+4\.1 kg/.test(document.querySelector('#outlook').innerText), null, LONG);
    await clean(page);
  },

  async 'contents: several things, wrong input told by number, and one taken off'() {
    const page = await open();
    await go(page, 'i', 'contents');
    await page.click('text=Add a thing');
    assert.equal(await page.evaluate(() => document.activeElement.id), 'thing-1');
    await page.keyboard.type('brass weight');
    await page.locator('fieldset', { hasText: 'Thing 2' }).locator('select').first().selectOption('cylinder');
    await page.click('button:has-text("Propose inside sizes")');
    await page.waitForSelector('[role=alert]:has-text("thing 2")', LONG);
    const second = page.locator('fieldset', { hasText: 'Thing 2' });
    await second.getByLabel('Diameter').fill('62');
    await second.getByLabel('Length').fill('210');
    await second.getByLabel('Mass of one').fill('3.4');
    await second.getByLabel('How many').fill('two');
    await page.click('button:has-text("Propose inside sizes")');
    await page.waitForSelector('[role=alert]:has-text("whole number")');
    await second.getByLabel('How many').fill('2');
    await page.click('button:has-text("Propose inside sizes")');
    await page.waitForSelector('#sizes table', LONG);
    assert.match(await said(page), /my thing and 2 x brass weight, 8\.8 kg/);
    await page.click('[aria-label="Remove thing 2"]');
    await page.waitForSelector('text=has changed since');
    await clean(page, ['409']);
  },

  async 'ship: a case judged by keyboard alone, anew as its conditions change'() {
    const page = await open({ hash: stateHash(stated) });
    await go(page, 't', 'ship');
    await judged(page);
    assert.match(await said(page), /my case: .* mm outside, .* kg packed, safe\s+\d+ high by estimate/);
    const told = () => page.locator('#outlook').innerText();
    assert.match(await told(), /People stand near stacks|people stand near stacks/);
    assert.match(await told(), /Contents\s+4\.1 kg/);
    assert.match(await told(), /30 days under load\s+60 %/);
    await type(page, 'Days under load', '180');
    await page.waitForFunction(() => /180 days under load\s+50 %/.test(document.querySelector('#outlook').innerText), null, LONG);
    await type(page, 'How many on one another', '40');
    await page.waitForFunction(() => /40 cases on one another do not hold/.test(document.querySelector('#outlook').innerText), null, LONG);
    await type(page, 'How many on one another', '2');
    await page.waitForFunction(() => /2 cases on one another hold/.test(document.querySelector('#outlook').innerText), null, LONG);
    // Wrong input says so, and what was there stays.
    await type(page, 'How many on one another', '1.5');
    await page.waitForSelector('[role=alert]:has-text("whole number")');
    await type(page, 'How many on one another', '2');
    await type(page, 'Highest, loaded', '12');
    await page.waitForFunction(() => /not one case goes/i.test(document.querySelector('#outlook').innerText), null, LONG);
    await type(page, 'Highest, loaded', '1800');
    await judged(page);
    for (const img of await page.locator('#pallet img').all()) assert.ok(await img.evaluate((i) => i.complete && i.naturalWidth > 100), 'drawn');
    assert.ok((await page.locator('#pallet tbody tr').count()) >= 6, 'containers and trailers');
    // The sheet is the one that the command line writes.
    const out = mkdtempSync(join(work, 'ship-'));
    const job = join(out, 'job.kdl');
    writeFileSync(job, `job "my case" {\n    style "slotted-case"\n    inside length="342mm" width="178mm" depth="266mm"\n    board "C"\n    crease "rule"\n    ${stated.contents[0]}\n}\n`);
    // It ends with 1 where something asked does not hold; the sheet is written all the same.
    try {
      execFileSync(BIN, ['ship', job, '--days', '180', '--high', '2', '--out', out], { stdio: 'ignore' });
    } catch (cause) {
      assert.equal(cause.status, 1);
    }
    const [download] = await Promise.all([page.waitForEvent('download', LONG), page.click('button:has-text("Shipping sheet")')]);
    assert.equal(download.suggestedFilename(), 'my-case-shipping.pdf');
    assert.ok(readFileSync(await download.path()).equals(readFileSync(join(out, 'my-case-shipping.pdf'))), 'the same bytes');
    await page.click('text=/^Units|mm\\/in/');
    await page.waitForFunction(() => /lbf/.test(document.querySelector('#outlook').innerText), null, LONG);
    await clean(page, ['409']);
  },

  async 'axe finds nothing on contents and ship, light and dark, and nothing sticks out'() {
    for (const dark of [false, true])
      for (const width of [1440, 768]) {
        const page = await open({ dark, width, hash: stateHash(stated) });
        await page.evaluate(AXE);
        const check = async (where) => {
          const { violations } = await page.evaluate(() => axe.run(document));
          const told = violations.map((v) => `${v.id}: ${v.nodes.map((n) => `${n.target} ${n.any.map((a) => a.message).join('; ')}`).slice(0, 3).join(' | ')}`);
          assert.deepEqual(told, [], `${where}, ${dark ? 'dark' : 'light'}, ${width}`);
          const over = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
          assert.ok(over <= 0, `${where}, ${width}: ${over} px too wide`);
        };
        await go(page, 'i', 'contents');
        await page.click('text=Add a thing');
        await check('contents, asked');
        await page.click('[aria-label="Remove thing 2"]');
        await field(page, 'Bears a peak of, in g').fill('40');
        await page.click('button:has-text("Propose inside sizes")');
        await page.waitForSelector('#sizes table', LONG);
        await check('contents');
        await go(page, 't', 'ship');
        await judged(page);
        await field(page, 'How many on one another').fill('40');
        await page.waitForSelector('text=do not hold', LONG);
        await page.click('summary:has-text("Rules and tables")');
        await page.click('summary:has-text("Where the figures come from")');
        await check('ship');
        await clean(page);
      }
  },
};
