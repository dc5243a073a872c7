import { chromium } from 'playwright-core';
const [url, out, w = 1440, h = 900, script = ''] = process.argv.slice(2);
const b = await chromium.launch({ executablePath: '/usr/bin/chromium', args: ['--no-sandbox', '--use-gl=angle', '--use-angle=swiftshader', '--enable-unsafe-swiftshader'] });
const p = await b.newPage({ viewport: { width: +w, height: +h } });
p.on('console', (m) => console.log(m.type(), m.text()));
p.on('pageerror', (e) => console.log('ERR', e.message));
await p.goto(url); await p.waitForTimeout(1500);
if (script) { await eval(`(async()=>{${script}})()`); await p.waitForTimeout(700); }
await p.screenshot({ path: out }); await b.close();
