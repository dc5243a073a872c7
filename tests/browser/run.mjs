// Walks through the studio in a real browser, against the real program.
//
//   node run.mjs [--boxwright PATH] [--pictures] [--only WORD] [--dist]
//
// A program without its page built in, or any with --dist, gets the one in studio/dist put in front.
import { pictures } from './pictures.mjs';
import { close, option } from './setup.mjs';
import choosing from './tests/choosing.mjs';
import learning from './tests/learning.mjs';
import looking from './tests/looking.mjs';
import making from './tests/making.mjs';
import sending from './tests/sending.mjs';
import working from './tests/working.mjs';

const ONLY = option('only') ?? '';
const tests = { ...making, ...choosing, ...looking, ...working, ...sending, ...learning };

let failed = 0;
try {
  for (const [name, test] of Object.entries(tests)) {
    if (!name.includes(ONLY)) continue;
    const start = Date.now();
    try {
      await test();
      console.log(`ok    ${name} (${((Date.now() - start) / 1000).toFixed(1)} s)`);
    } catch (cause) {
      failed += 1;
      console.log(`FAIL  ${name}\n      ${String(cause.message).split('\n').slice(0, 14).join('\n      ')}`);
    }
  }
  if (process.argv.includes('--pictures')) await pictures();
} finally {
  await close();
}
process.exit(failed ? 1 : 0);
