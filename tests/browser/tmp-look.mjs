import { close, open, stateHash } from './setup.mjs';
try {
  const page = await open({ hash: stateHash({ contents: ['contents "mantel clock" mass="4.1kg" fragile=40'] }) });
  await page.keyboard.press('t');
  await page.waitForTimeout(25000);
  await page.screenshot({ path: '/tmp/ship1.png' });
  console.log(await page.locator('main').innerText());
  console.log(page.complaints);
} finally { await close(); }
