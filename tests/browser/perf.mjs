// Edit to repainted both views, over 200 edits of the slotted case.
import { chromium } from 'playwright-core';
const b = await chromium.launch({ executablePath: '/usr/bin/chromium', args: ['--no-sandbox', '--use-gl=angle', '--use-angle=swiftshader', '--enable-unsafe-swiftshader'] });
const p = await b.newPage({ viewport: { width: 1440, height: 900 } });
await p.goto(process.argv[2]); await p.waitForFunction(() => performance.getEntriesByName('edit-to-paint').length > 0); await p.waitForTimeout(800);
await p.evaluate(() => performance.clearMeasures());
for (let i = 0; i < 200; i++) {
  const n = i + 1;
  await p.waitForTimeout(60);
  await p.evaluate((v) => { const f = [...document.querySelectorAll('label')].find((l) => l.textContent === 'Width'); const x = document.getElementById(f.htmlFor); x.value = v; x.dispatchEvent(new InputEvent('input', { bubbles: true })); }, String(150 + (i % 50)));
  await p.waitForFunction((n) => performance.getEntriesByName('edit-to-paint').length >= n, n, { polling: 25 });
}
const t = await p.evaluate(() => performance.getEntriesByName('edit-to-paint').map((e) => e.duration).sort((a, b) => a - b));
console.log('median', t[100].toFixed(1), 'p95', t[190].toFixed(1), 'max', t.at(-1).toFixed(1));
await b.close();
