import { svelte } from '@sveltejs/vite-plugin-svelte';
import { defineConfig } from 'vite';

export default defineConfig({
  plugins: [svelte()],
  build: {
    target: 'es2023',
    // Nothing may be inlined: the server's content policy refuses inline scripts and styles.
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    chunkSizeWarningLimit: 800,
  },
  // `npm run dev` draws the page afresh on each edit and asks a studio that runs beside it.
  server: { proxy: { '/api': 'http://127.0.0.1:8484' } },
});
