// A stand-in for the studio's server while the page is drawn: it runs the real `boxwright`
// and turns the files it writes into the wire shapes. Slow and rough; for development only.
import { execFileSync } from 'node:child_process';
import { createServer } from 'node:http';
import { mkdtempSync, readFileSync, readdirSync, writeFileSync, existsSync } from 'node:fs';
import { createHash } from 'node:crypto';
import { extname, join } from 'node:path';

const BIN = process.env.BOXWRIGHT ?? '/work/main/target/release/boxwright';
const ROOT = new URL('../../', import.meta.url).pathname;
const PAGE = join(ROOT, 'studio/dist');
const port = Number(process.argv[2] ?? 8484);
const work = mkdtempSync('/tmp/mock-');
const cache = new Map();

const q = (s) => JSON.stringify(String(s));
function kdl(s) {
  const lines = [`job ${q(s.title || 'case')} {`, `style ${q(s.style)}`,
    `inside length=${q(s.inside.length)} width=${q(s.inside.width)} depth=${q(s.inside.depth)}`,
    `board ${q(s.board)}`, `crease ${q(s.crease)}`];
  if (s.set && Object.keys(s.set).length) lines.push(`set ${Object.entries(s.set).map(([k, v]) => `${k}=${q(v)}`).join(' ')}`);
  return lines.join('\n') + '\n}\n';
}
function run(s, out, extra) {
  const file = join(work, 'job.kdl');
  writeFileSync(file, kdl(s));
  return execFileSync(BIN, ['make', file, '--out', out, '--json', ...extra], { stdio: ['ignore', 'pipe', 'pipe'] }).toString();
}
function glb(path) {
  const b = readFileSync(path), n = b.readUInt32LE(12);
  const j = JSON.parse(b.subarray(20, 20 + n).toString()), bin = b.subarray(28 + n);
  const read = (i) => {
    const a = j.accessors[i], v = j.bufferViews[a.bufferView], w = { SCALAR: 1, VEC3: 3, VEC4: 4 }[a.type];
    const off = (v.byteOffset ?? 0) + (a.byteOffset ?? 0), size = { 5121: 1, 5126: 4, 5125: 4 }[a.componentType];
    const step = v.byteStride ?? w * size, out = [];
    for (let k = 0; k < a.count; k++) for (let c = 0; c < w; c++) {
      const o = off + k * step + c * size;
      out.push(a.componentType === 5126 ? bin.readFloatLE(o) : a.componentType === 5125 ? bin.readUInt32LE(o) : bin[o]);
    }
    return out;
  };
  return { j, read };
}
function frame(n) {
  const [x, y, z, w] = n.rotation ?? [0, 0, 0, 1], t = (n.translation ?? [0, 0, 0]).map((v) => v * 1000);
  const c = [1 - 2 * (y * y + z * z), 2 * (x * y + z * w), 2 * (x * z - y * w), 2 * (x * y - z * w), 1 - 2 * (x * x + z * z), 2 * (y * z + x * w), 2 * (x * z + y * w), 2 * (y * z - x * w), 1 - 2 * (x * x + y * y)];
  // y up to z up
  const f = (v) => [v[0], -v[2], v[1]];
  return [...f(c.slice(0, 3)), ...f(c.slice(3, 6)), ...f(c.slice(6, 9)), ...f(t)];
}
function design(s) {
  const key = JSON.stringify(s);
  if (cache.has(key)) return cache.get(key);
  const d = make(s);
  cache.set(key, d);
  return d;
}
function make(s) {
  const out = mkdtempSync(join(work, 'o-'));
  try { run(s, out, ['--only', 'report', '--only', 'svg', '--only', 'glb']); } catch (e) {
    if (e.status !== 1) {
      let messages = [];
      try { const v = JSON.parse(e.stderr.toString()); messages = Array.isArray(v) ? v : v.messages ?? [v]; } catch { messages = [{ code: 'refused', message: e.stderr.toString().slice(0, 300) }]; }
      return { fields: messages.map((m) => ({ field: Object.keys(s.set).find((k) => JSON.stringify(m).includes(k)) ? 'set.' + Object.keys(s.set)[0] : 'inside.length', code: m.code ?? 'refused', message: m.message ?? JSON.stringify(m), help: m.help ?? null, start: 0, end: 0 })), notes: [], case: null, version: 'mock' };
    }
  }
  const files = readdirSync(out), r = JSON.parse(readFileSync(join(out, files.find((f) => f.endsWith('report.json')))));
  const last = glb(join(out, files.find((f) => f.endsWith('.glb'))));
  const stages = [], piece = r.pieces[0].name, keyOf = new Map();
  for (let i = 0; i <= r.stages.length; i++) {
    const o = mkdtempSync(join(work, 's-'));
    try { run(s, o, ['--only', 'glb', '--stage', String(i)]); } catch (e) { if (e.status !== 1) throw e; }
    const g = glb(join(o, readdirSync(o)[0])), frames = {};
    let k = 0;
    for (const n of g.j.nodes) {
      if (/clear room/.test(n.name)) continue;
      if (!keyOf.has(n.name)) keyOf.set(n.name, `${piece}/${keyOf.size}`);
      frames[keyOf.get(n.name)] = frame(n); k++;
    }
    stages.push({ title: i ? r.stages[i - 1].title : 'Flat', text: i ? r.stages[i - 1].text : 'Lay the blank down with its inside face up.', frames, moved: [] });
  }
  const steps = stages.map((st, i) => i === 0 ? [] : [1, 2, 3, 4].map((k) => ({ frames: Object.fromEntries(Object.entries(st.frames).map(([key, b]) => { const a = stages[i - 1].frames[key] ?? b; return [key, a.map((v, q) => v + (b[q] - v) * k / 5)]; })) })));
  const flat = stages[0].frames, P = [];
  const svg = readFileSync(join(out, files.find((f) => f.endsWith('.svg'))), 'utf8');
  const panels = [], solid = [];
  for (const n of last.j.nodes) {
    const k = keyOf.get(n.name); if (!k) continue;
    const positions = [], indices = [], kinds = [], edges = [];
    last.j.meshes[n.mesh].primitives.forEach((p, pi) => {
      const pos = last.read(p.attributes.POSITION).map((v) => v * 1000), nor = last.read(p.attributes.NORMAL), idx = last.read(p.indices), base = positions.length / 3;
      positions.push(...pos); indices.push(...idx.map((v) => v + base));
      for (let t = 0; t < idx.length; t += 3) { const z = nor[idx[t] * 3 + 2]; kinds.push(z > 0.9 ? 0 : z < -0.9 ? 1 : Math.abs(nor[idx[t] * 3]) > 0.7 ? 3 : 2); }
    });
    // outline of the inside face
    const seg = new Map(), key3 = (i) => [0, 1].map((c) => positions[i * 3 + c].toFixed(3)).join(), at = new Map();
    for (let t = 0; t < indices.length / 3; t++) if (kinds[t] === 0) for (let e = 0; e < 3; e++) {
      const a = indices[t * 3 + e], b = indices[t * 3 + (e + 1) % 3]; at.set(key3(a), a);
      if (seg.get(key3(b)) === key3(a)) seg.delete(key3(b)); else seg.set(key3(a), key3(b));
    }
    const loop = []; let cur = seg.keys().next().value;
    for (let n = 0; cur && n < 500 && seg.has(cur); n++) { loop.push(at.get(cur)); const nx = seg.get(cur); seg.delete(cur); cur = nx; }
    const F = flat[k], to = (x, y, z) => [0, 1, 2].map((c) => F[c] * x + F[3 + c] * y + F[6 + c] * z + F[9 + c]);
    const pts = loop.map((i) => to(positions[i * 3], positions[i * 3 + 1], 0)); P.push(...pts);
    for (let i = 0; i < loop.length; i++) for (const z of [0, -r.board.caliper]) { const a = loop[i] * 3, b = loop[(i + 1) % loop.length] * 3; edges.push(positions[a], positions[a + 1], z, positions[b], positions[b + 1], z); }
    panels.push({ key: k, name: n.name, pts, breadth: 0, reach: 0 });
    solid.push({ key: k, name: n.name, piece, positions, indices, kinds, edges });
  }
  const w = r.pieces[0].figures.length, h = r.pieces[0].figures.width;
  const maxx = Math.max(...P.map((p) => p[0])), maxz = Math.max(...P.map((p) => p[2]));
  const X = (p) => [maxx - p[0], maxz - p[2]];
  for (const p of panels) { const q = p.pts.map(X); p.outline = 'M' + q.map((v) => v.map((n) => n.toFixed(2)).join(' ')).join(' L') + ' Z'; p.label = [0, 1].map((c) => (Math.min(...q.map((v) => v[c])) + Math.max(...q.map((v) => v[c]))) / 2); delete p.pts; }
  const lines = [];
  for (const g of svg.matchAll(/<g id="([^"]+)"[^>]*>([\s\S]*?)<\/g>/g)) for (const d of g[2].matchAll(/ d="([^"]+)"/g)) if (g[1] !== 'board') lines.push({ use: g[1], d: d[1].replace(/([ML ]?)(-?[\d.]+) (-?[\d.]+)/g, (_, c, a, b) => `${c}${(a - 2).toFixed(3)} ${(b - 2).toFixed(3)}`) });
  const dim = (from, to, at, v, axis) => ({ from, to, at, text_mm: v.toFixed(1).replace(/\.0$/, ''), text_in: (v / 25.4).toFixed(3), axis });
  const m = (v) => v && (v.unit === 'mm' ? { mm: `${+v.value.toFixed(2)} mm`, in: `${(v.value / 25.4).toFixed(3)} in` } : { mm: `${+v.value.toFixed(2)}${v.unit ?? ''}`, in: `${+v.value.toFixed(2)}${v.unit ?? ''}` });
  const key = (n) => keyOf.get(n);
  const xs = [...new Set(lines.filter((l) => l.use !== 'cut').map((l) => l.d.match(/M([\d.]+) [\d.]+ L([\d.]+) [\d.]+/)).filter((l) => l && l[1] === l[2]).map((l) => +l[1]))].sort((a, b) => a - b);
  const stops = [0, ...xs, w];
  return {
    fields: [], notes: [], version: 'mock',
    case: {
      title: s.title, style: r.style, asked: [r.room.asked.length, r.room.asked.width, r.room.asked.depth], found: r.room.found && [r.room.found.length, r.room.found.width, r.room.found.depth], board: r.board,
      parameters: r.parameters.map((p) => ({ name: p.name, help: 'how much of it the style leaves', kind: p.unit === 'mm' ? 'length' : p.unit === 'deg' ? 'angle' : typeof p.value === 'string' ? 'choice' : 'number', choices: typeof p.value === 'string' ? ['inside-lap', 'outside-lap', 'taped'] : [], value: typeof p.value === 'number' ? p.value : null, word: typeof p.value === 'string' ? p.value : null, shown: typeof p.value === 'number' ? `${+p.value.toFixed(2)} ${p.unit ?? ''}` : p.value, min: typeof p.value === 'number' ? 0 : null, max: typeof p.value === 'number' ? p.value * 3 + 10 : null, isDefault: !p.set, default: String(p.value), panels: solid.filter((x) => x.name.includes(p.name.split('-')[0])).map((x) => x.key) })),
      pieces: [{ name: piece, figures: { length: w, width: h, area: r.pieces[0].figures.area, cut: r.pieces[0].figures.cut_length, crease: r.pieces[0].figures.crease_length, perforation: 0, mass: r.pieces[0].figures.mass }, flutes: [0, 1], bounds: [0, 0, w, h], panels, lines,
        dimensions: [dim([0, h], [w, h], [w / 2, h + 46], w, 'x'), dim([w, 0], [w, h], [w + 46, h / 2], h, 'y'), ...stops.slice(1).map((x, i) => dim([stops[i], h], [x, h], [(stops[i] + x) / 2, h + 22], x - stops[i], 'x'))] }],
      solid: { panels: solid, room: { min: r.room.min, max: r.room.max }, stages, steps },
      findings: r.findings.map((f) => ({ ...f, measured: m(f.measured), limit: m(f.limit), panels: f.panels.map(key).filter(Boolean), fix: null })), verdict: r.verdict,
      outputs: ['dxf', 'svg', 'drawing', 'true-size', 'tiles', 'fold', 'preview', 'glb', 'report'].map((k) => ({ kind: k, label: k, names: [r.title.replaceAll(' ', '-') + '.' + k] })),
    },
  };
}
const jobs = new Map();
const types = { '.html': 'text/html', '.js': 'text/javascript', '.css': 'text/css', '.svg': 'image/svg+xml', '.woff2': 'font/woff2' };
createServer(async (req, res) => {
  const chunks = []; for await (const c of req) chunks.push(c);
  const body = chunks.length ? JSON.parse(Buffer.concat(chunks)) : null, url = new URL(req.url, 'http://x');
  res.setHeader('content-security-policy', "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; connect-src 'self'; font-src 'self'");
  const json = (v, code = 200) => { res.writeHead(code, { 'content-type': 'application/json' }); res.end(JSON.stringify(v)); };
  try {
    if (url.pathname === '/api/styles') return json(readdirSync(join(ROOT, 'styles')).map((f) => { const t = readFileSync(join(ROOT, 'styles', f), 'utf8'), g = (k) => t.match(new RegExp(`^ {4}${k} "([^"]*)"`, 'm'))?.[1] ?? null; return { name: f.replace('.kdl', ''), title: g('title'), code: g('code'), purpose: g('purpose') ?? '', tags: ['post'], parameters: [] }; }));
    if (url.pathname === '/api/boards') return json(['A', 'B', 'C', 'E', 'BC', 'EB'].map((n) => ({ name: n, title: `${n} flute`, caliper: 4, wall: n.length > 1 ? 'double' : 'single' })));
    if (url.pathname.startsWith('/api/styles/')) { res.writeHead(200, { 'content-type': 'image/svg+xml' }); return res.end('<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 160 120"><path d="M20 45 90 20l50 20v50l-70 25-50-20z" fill="#d8b98a" stroke="#3b2f20"/></svg>'); }
    if (url.pathname === '/api/design') return json(design(body));
    if (url.pathname === '/api/file') { const o = mkdtempSync(join(work, 'f-')); run(body.state, o, ['--only', body.kind]); const f = readdirSync(o)[0]; res.writeHead(200, { 'content-type': 'application/octet-stream', 'content-disposition': `attachment; filename="${f}"` }); return res.end(readFileSync(join(o, f))); }
    if (url.pathname === '/api/jobs') return json([...jobs].map(([name, v]) => ({ name, title: v.state.title, style: v.state.style })));
    if (url.pathname.startsWith('/api/jobs/')) {
      const name = decodeURIComponent(url.pathname.slice(10)), had = jobs.get(name);
      if (req.method === 'GET') return had ? json({ name, state: had.state, stamp: had.stamp, messages: [] }) : json({ error: { code: 'no-job', message: 'no such job' } }, 404);
      if ((had?.stamp ?? null) !== body.stamp) return json({ error: { code: 'changed-on-disk', message: 'the file was changed meanwhile' } }, 409);
      const stamp = createHash('sha1').update(JSON.stringify(body)).digest('hex'); jobs.set(name, { state: body.state, stamp }); return json({ stamp });
    }
    if (url.pathname === '/api/sweep') {
      const [a, b] = body.vary.map((v) => v.steps); res.writeHead(200, { 'content-type': 'application/x-ndjson' });
      res.write(JSON.stringify({ total: a * b }) + '\n'); let done = 0;
      for (let j = 0; j < b; j++) { const cells = []; for (let i = 0; i < a; i++) cells.push({ i, j, verdict: i < j / 2 ? 'refused' : i + j < 8 ? 'fail' : i + j < 12 ? 'caution' : 'pass', code: 'clear-length', message: `mock cell ${i} ${j}` }); done += a; res.write(JSON.stringify({ done, cells }) + '\n'); await new Promise((r) => setTimeout(r, 30)); if (res.destroyed) return; }
      return res.end('{"finished":true}\n');
    }
    const path = url.pathname === '/' ? '/index.html' : url.pathname;
    if (!existsSync(join(PAGE, path))) { res.writeHead(404); return res.end(); }
    res.writeHead(200, { 'content-type': types[extname(path)] ?? 'application/octet-stream' }); res.end(readFileSync(join(PAGE, path)));
  } catch (e) { json({ error: { code: 'mock', message: String(e.stack) } }, 500); }
}).listen(port, '127.0.0.1', () => console.log(`http://127.0.0.1:${port}`));
