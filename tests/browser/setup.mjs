// The program, a browser, and what every test does with them.
import assert from 'node:assert/strict';
import { spawn } from 'node:child_process';
import { cpSync, existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { chromium } from 'playwright-core';
import { front } from './front.mjs';

export const ROOT = new URL('../../', import.meta.url).pathname;
export const option = (name) => {
  const at = process.argv.indexOf(`--${name}`);
  return at < 0 ? undefined : process.argv[at + 1];
};
export const BIN = option('boxwright') ?? join(ROOT, 'target/release/boxwright');
export const AXE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
export const work = mkdtempSync(join(tmpdir(), 'boxwright-browser-'));
export const folder = join(work, 'jobs');
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
export async function open({ width = 1440, height = 900, hash = '', dark = false } = {}) {
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
export const drawn = (page, before) => page.waitForFunction((n) => performance.getEntriesByName('edit-to-paint').length > n, before);

/** Does something that changes the case, and waits until it is painted. */
export async function edit(page, act) {
  const before = await count(page);
  await act();
  await drawn(page, before);
}

export const field = (page, label) => page.getByLabel(label, { exact: true });
export const sentence = (page) => page.locator('h1').innerText();

export async function clean(page, allowed = []) {
  const left = page.complaints.filter((c) => !allowed.some((a) => c.includes(a)));
  assert.deepEqual(left, [], 'complaints of the browser');
  await page.context().close();
}

/** A link to a case that differs from the usual one in what is given. */
export const stateHash = (change, view = {}) => {
  const state = { title: 'my case', style: 'slotted-case', inside: { length: '342mm', width: '178mm', depth: '266mm' }, board: 'C', crease: 'rule', set: {}, quantity: 1, drawing: { owner: '', creator: '', approved: '', number: '', date: '' } };
  return '#' + Buffer.from(JSON.stringify({ ...state, ...change, view })).toString('base64url');
};

export const decode = (hash) => JSON.parse(Buffer.from(hash.replace(/^#/, ''), 'base64url').toString());

export async function close() {
  await browser.close();
  ahead?.server.close();
  studio.removeAllListeners('exit');
  studio.kill();
  if (existsSync(work)) rmSync(work, { recursive: true, force: true });
}
