// Puts a freshly built page in front of a running studio, for work on the page alone: files come
// from studio/dist, questions go to the real server. Not needed where the page is built in.
import { createServer, request } from 'node:http';
import { existsSync, readFileSync } from 'node:fs';
import { extname, join } from 'node:path';

const DIST = new URL('../../studio/dist/', import.meta.url).pathname;
const TYPES = { '.html': 'text/html; charset=utf-8', '.js': 'text/javascript', '.css': 'text/css', '.svg': 'image/svg+xml' };
const POLICY = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; connect-src 'self'; font-src 'self'";

export function front(studio, port = 0) {
  const target = new URL(studio);
  const server = createServer((req, res) => {
    const path = new URL(req.url, 'http://x').pathname;
    if (path.startsWith('/api/')) {
      const headers = { ...req.headers, host: target.host };
      if (headers.origin) headers.origin = target.origin;
      delete headers.referer;
      const on = request({ host: target.hostname, port: target.port, path: req.url, method: req.method, headers }, (from) => {
        res.writeHead(from.statusCode, from.headers);
        from.pipe(res);
      });
      on.on('error', () => res.destroy());
      res.on('close', () => on.destroy());
      req.pipe(on);
      return;
    }
    const file = join(DIST, path === '/' ? 'index.html' : path);
    if (!file.startsWith(DIST) || !existsSync(file)) return void res.writeHead(404).end();
    res.writeHead(200, { 'content-type': TYPES[extname(file)] ?? 'application/octet-stream', 'content-security-policy': POLICY });
    res.end(readFileSync(file));
  });
  return new Promise((done) => server.listen(port, '127.0.0.1', () => done({ server, url: `http://127.0.0.1:${server.address().port}/` })));
}

if (process.argv[1] === new URL(import.meta.url).pathname) console.log((await front(process.argv[2], Number(process.argv[3] ?? 8484))).url);
