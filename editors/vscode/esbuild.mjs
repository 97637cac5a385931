// Bundles the extension and its one library into dist/extension.cjs.
import { copyFile } from 'node:fs/promises';
import { build } from 'esbuild';

// The package carries the license of the repository; there it stands once.
await copyFile('../../LICENSE-MIT', 'LICENSE.txt');

await build({
  entryPoints: ['src/extension.ts'],
  outfile: 'dist/extension.cjs',
  bundle: true,
  platform: 'node',
  format: 'cjs',
  target: 'node20',
  external: ['vscode'],
  minify: true,
  legalComments: 'eof',
});
