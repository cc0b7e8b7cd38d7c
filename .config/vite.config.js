import { join } from 'node:path';
import react from '@vitejs/plugin-react';
import { defineConfig } from 'vite';

const house = join(import.meta.dirname, '..');

// Built into the folder that the server serves; nothing of it comes from another machine.
export default defineConfig({
  root: join(house, 'web'),
  base: '/',
  plugins: [react()],
  build: {
    outDir: join(house, '.build/web'),
    emptyOutDir: true,
    // The server's policy allows neither inline scripts nor data fonts.
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
  },
});
