import assert from 'node:assert/strict';
import { chmodSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { delimiter, join } from 'node:path';
import { after, describe, it } from 'node:test';

import { askVersion, findProgram, misfit, parseVersion, type Surroundings } from '../src/program.ts';

const folder = mkdtempSync(join(tmpdir(), 'guywire-program-'));
after(() => { rmSync(folder, { recursive: true }); });

function program(place: string, says: string): string {
  const path = join(folder, place, 'guywire');
  mkdirSync(join(folder, place), { recursive: true });
  writeFileSync(path, `#!/bin/sh\necho '${says}'\n`);
  chmodSync(path, 0o755);
  return path;
}

const bare: Surroundings = { setting: '', path: '', home: folder, windows: false };

describe('where the program is', () => {
  const first = program('first', 'guywire 0.1.0');
  const second = program('second', 'guywire 0.1.4');
  const path = [join(folder, 'nowhere'), join(folder, 'first'), join(folder, 'second')].join(delimiter);

  it('is the first on the PATH', () => {
    assert.deepEqual(findProgram({ ...bare, path }), { is: 'found', path: first });
  });
  it('is where the setting says, whatever the PATH holds', () => {
    assert.deepEqual(findProgram({ ...bare, path, setting: second }), { is: 'found', path: second });
    assert.deepEqual(findProgram({ ...bare, path, setting: ' ~/second/guywire ' }), { is: 'found', path: second });
  });
  it('is told to be missing where the setting is wrong, though the PATH has one', () => {
    for (const setting of ['/nowhere/guywire', 'first/guywire', folder]) {
      const found = findProgram({ ...bare, path, setting });
      assert.equal(found.is, 'missing');
      assert.match(found.why, /guywire\.path/);
    }
  });
  it('is no folder, no file that cannot run, and nothing in a folder named from here', () => {
    mkdirSync(join(folder, 'third', 'guywire'), { recursive: true });
    mkdirSync(join(folder, 'fourth'));
    writeFileSync(join(folder, 'fourth', 'guywire'), '');
    const here = process.cwd();
    process.chdir(folder);
    const found = findProgram({ ...bare, path: [join(folder, 'third'), join(folder, 'fourth'), '', '.', 'first'].join(delimiter) });
    process.chdir(here);
    assert.equal(found.is, 'missing');
    assert.match(found.why, /PATH/);
  });
});

describe('its version', () => {
  const wanted = { major: 0, minor: 1, patch: 2 };

  it('is what it answers', async () => {
    assert.deepEqual(await askVersion(program('says', 'guywire 0.1.7')), { major: 0, minor: 1, patch: 7 });
    assert.equal(await askVersion(program('other', 'another 0.1.7')), undefined);
    assert.equal(await askVersion(join(folder, 'nowhere')), undefined);
  });
  it('fits from the wanted one on, in the same line', () => {
    assert.equal(misfit(parseVersion('guywire 0.1.2'), wanted), undefined);
    assert.equal(misfit(parseVersion('guywire 0.1.30'), wanted), undefined);
    assert.equal(misfit({ major: 1, minor: 4, patch: 0 }, { major: 1, minor: 3, patch: 9 }), undefined);
  });
  it('does not fit elsewhere, and the message says which is wanted', () => {
    for (const said of ['guywire 0.1.1', 'guywire 0.2.0', 'guywire 1.1.2', 'guywire', '']) {
      assert.match(misfit(parseVersion(said), wanted) ?? '', /wants guywire 0\.1, from 0\.1\.2 on/);
    }
    assert.match(misfit({ major: 1, minor: 2, patch: 9 }, { major: 1, minor: 3, patch: 0 }) ?? '', /guywire 1\.2\.9/);
  });
  it('is that of the program of the same checkout', () => {
    const { version } = JSON.parse(readFileSync(new URL('../package.json', import.meta.url), 'utf8')) as { version: string };
    const cargo = readFileSync(new URL('../../../Cargo.toml', import.meta.url), 'utf8');
    assert.equal(/^version = "(.+)"$/m.exec(cargo)?.[1], version);
  });
});
