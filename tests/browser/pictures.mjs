// Pictures for docs/pictures, looked at before they are kept.
import { execFileSync } from 'node:child_process';
import { mkdirSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { BIN, folder, open, ROOT } from './setup.mjs';

const CLOCK = { title: 'mantel clock', style: 'slotted-case', inside: { length: '(312mm) + 2 * (15mm)', width: '(148mm) + 2 * (15mm)', depth: '(236mm) + 2 * (15mm)' }, board: 'C', crease: 'rule', set: {}, quantity: 1, drawing: { owner: '', creator: '', approved: '', number: '', date: '' } };

export async function pictures() {
  const out = join(ROOT, 'docs/pictures');
  mkdirSync(out, { recursive: true });
  const clock = CLOCK;
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
  await page.click('text=See all styles');
  await page.waitForTimeout(1200);
  await shot(page, 'studio-gallery.png');
  await page.keyboard.press('Escape');
  await page.keyboard.press('m');
  await page.click('text=Draw the map');
  await page.waitForFunction(() => /468 of 468/.test(document.querySelector('dialog[open]').innerText), null, { timeout: 60_000 });
  await page.waitForTimeout(200);
  await page.locator('dialog canvas').click({ position: { x: 560, y: 200 } });
  await shot(page, 'studio-sizes.png');
  await page.context().close();
  page = await open({ hash: hash({ ...clock, sheet: ['1000mm', '1400mm'], bed: ['1600mm', '1000mm'] }) });
  await page.click('summary:has-text("Sheets, machine")');
  await page.locator('summary:has-text("Sheets, machine")').evaluate((e) => e.scrollIntoView());
  await shot(page, 'studio-workshop.png');
  await page.context().close();
  page = await open({ hash: hash({ ...clock, view: { unit: 'in' } }), dark: true });
  await page.click('text=See all styles');
  await page.waitForTimeout(1200);
  await shot(page, 'studio-gallery-dark.png');
  await page.context().close();
  // The clock packed into a case, and the case sent.
  page = await open({ hash: hash({ ...clock, contents: ['contents "mantel clock" mass="4.1kg" fragile=40'] }) });
  await page.click('header nav >> text="Contents"');
  const thing = (n) => page.locator('fieldset', { hasText: `Thing ${n}` });
  const things = [
    { 'Call it': 'mantel clock', Length: '312', Width: '148', Depth: '236', 'Mass of one': '4.1', 'Bears a peak of, in g': '40' },
    { 'Call it': 'movement', 'How many': '2', Length: '150', Width: '130', Depth: '95', 'Mass of one': '1.8', 'Bears a peak of, in g': '60' },
  ];
  for (const [n, each] of things.entries()) {
    if (n > 0) await page.click('text=Add a thing');
    for (const [label, text] of Object.entries(each)) await thing(n + 1).getByLabel(label, { exact: true }).fill(text);
  }
  await thing(1).locator('select').nth(1).selectOption('depth');
  await page.click('button:has-text("Propose inside sizes")');
  await page.waitForSelector('#sizes table', { timeout: 60_000 });
  await page.waitForTimeout(4500);
  await shot(page, 'studio-contents.png');
  await page.click('header nav >> text="Ship"');
  await page.getByLabel('How many on one another').fill('4');
  await page.waitForSelector('text=/4 cases on one another/', { timeout: 60_000 });
  await shot(page, 'studio-ship.png');
  await page.context().close();
  // The workshop's stock, two jobs laid on it, and the knife table cutting them.
  rmSync(join(folder, 'boxwright-stock.db'), { force: true });
  rmSync(join(folder, 'this-week.layout.json'), { force: true });
  execFileSync(BIN, ['stock', '--folder', folder, 'import', join(ROOT, 'examples/workshop-stock.kdl')], { stdio: 'ignore' });
  page = await open();
  await page.click('header nav >> text="Stock"');
  await page.waitForSelector('tbody tr');
  await shot(page, 'studio-stock.png');
  await page.click('header nav >> text="Layout"');
  await page.waitForSelector('.jobs label');
  for (const [job, many] of [['mantel clock', 6], ['brass weights', 8]]) {
    await page.locator('.jobs label', { hasText: job }).click();
    await page.getByLabel(`How many of ${job}`, { exact: true }).fill(String(many));
  }
  await page.click('button:has-text("Lay them")');
  await page.waitForFunction(() => /Done after/.test(document.body.innerText), null, { timeout: 60_000 });
  await page.click('button:has-text("Save in the folder")');
  await page.waitForSelector('text=/^Saved as/');
  await page.waitForTimeout(4500);
  await shot(page, 'studio-layout.png');
  await page.click('button:has-text("Cut it")');
  await page.waitForSelector('#path-view', { timeout: 60_000 });
  await page.locator('select', { has: page.locator('option[value="knife-table"]') }).selectOption('knife-table');
  await page.waitForFunction(() => !/Working it out/.test(document.body.innerText), null, { timeout: 60_000 });
  await page.locator('.slide input').evaluate((range) => {
    range.value = range.max * 0.55;
    range.dispatchEvent(new Event('input', { bubbles: true }));
  });
  await shot(page, 'studio-cut.png');
  await page.context().close();
  await learned(shot);
}

/** The clock orders of a year in six sizes; strips of board C measured, and what that means for a case. */
export async function learned(shot) {
  let page = await open({ hash: '#' + Buffer.from(JSON.stringify(CLOCK)).toString('base64url') });
  await page.click('header nav >> text="Range"');
  await page.locator('select', { has: page.locator('option[value="orders.csv"]') }).selectOption('orders.csv');
  await page.getByLabel('Room on each side').fill('15');
  await page.click('button:has-text("Choose sizes")');
  await page.waitForSelector('#chosen-title', { timeout: 300_000 });
  await page.setViewportSize({ width: 1440, height: 1250 });
  await shot(page, 'studio-range.png');
  await page.setViewportSize({ width: 1440, height: 900 });
  await page.click('header nav >> text="First article"');
  await page.waitForSelector('#strips-files');
  await page.locator('select', { has: page.locator('option[value="bench-laser"]') }).selectOption('bench-laser');
  await page.click('text=Draw the strips');
  await page.waitForSelector('text=/bench-laser\\. In mm/');
  const fill = async (name, values) => {
    for (const [n, value] of values.entries()) await page.getByLabel(name(n + 1), { exact: true }).fill(value);
  };
  await fill((n) => `Thickness ${n}`, ['4.05', '4.10', '4.05', '4.00', '4.10', '4.05', '4.05', '4.10', '4.00', '4.05']);
  await fill((n) => `Strip ${n} along the flutes, between walls`, ['55.80', '55.75', '55.85', '55.80', '55.70']);
  await fill((n) => `Strip ${n} along the flutes, over walls`, ['63.95', '63.85', '63.95', '63.90', '63.80']);
  await fill((n) => `Strip ${n} across the flutes, between walls`, ['55.60', '55.65', '55.55', '55.70', '55.60']);
  await fill((n) => `Strip ${n} across the flutes, over walls`, ['63.70', '63.75', '63.65', '63.75', '63.70']);
  await fill((n) => `Hole ${n}`, ['20.15', '20.20', '20.15', '20.10', '20.20']);
  await fill((n) => `Piece ${n}`, ['19.85', '19.85', '19.80', '19.85', '19.85']);
  await page.click('text=Work out the figures');
  await page.click('text=Keep these figures');
  await page.waitForFunction(() => /1 set of figures kept/.test(document.querySelector('h1').innerText));
  await page.click('text=How many will hold?');
  await page.waitForSelector('#spread table', { timeout: 300_000 });
  await page.setViewportSize({ width: 1440, height: 1500 });
  await page.evaluate(() => scrollTo(0, 0));
  await page.waitForTimeout(4500);
  await shot(page, 'studio-first-article.png');
  await page.context().close();
}
