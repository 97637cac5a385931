import assert from 'node:assert/strict';
import { existsSync, readFileSync } from 'node:fs';
import { describe, it } from 'node:test';

import { isOurs } from '../src/files.ts';
import { look, type State } from '../src/status.ts';

interface Manifest {
  contributes: {
    languages: { filenames: string[]; filenamePatterns: string[] }[];
    commands: { command: string }[];
    walkthroughs: { steps: { description: string; media: { markdown: string } }[] }[];
  };
}

const place = (path: string) => new URL(`../${path}`, import.meta.url);
const manifest = JSON.parse(readFileSync(place('package.json'), 'utf8')) as Manifest;
const [language] = manifest.contributes.languages;

describe('the manifest', () => {
  it('takes the files that the server is started for, and no other TOML', () => {
    const endings = language?.filenamePatterns.map((pattern) => pattern.replace('*', '')) ?? [];
    for (const ending of endings) {
      assert.ok(isOurs(`/plans/harbor${ending}`) && isOurs(`C:\\plans\\harbor${ending}`), ending);
    }
    assert.equal(endings.length, 5);
    assert.deepEqual(language?.filenames, ['guywire.toml']);
    assert.ok(isOurs('/plans/guywire.toml'));
    for (const other of ['/a/Cargo.toml', '/a/plan.toml', '/a/my-guywire.toml', '/a/b.plan.toml/c.toml', '/a/b.plan.tomls']) {
      assert.ok(!isOurs(other), other);
    }
  });
  it('registers each command that it names', () => {
    const source = readFileSync(place('src/extension.ts'), 'utf8');
    for (const { command } of manifest.contributes.commands) {
      assert.ok(source.includes(`registerCommand('${command}'`), command);
    }
  });
  it('has a page for each step of the walkthrough', () => {
    const steps = manifest.contributes.walkthroughs.flatMap((walkthrough) => walkthrough.steps);
    assert.ok(steps.length > 0);
    for (const step of steps) {
      assert.ok(existsSync(place(step.media.markdown)), step.media.markdown);
    }
  });
});

describe('the status', () => {
  const states: State[] = [
    { is: 'starting' },
    { is: 'running', version: '0.1.0', warning: undefined },
    { is: 'running', version: '0.2.0', warning: 'this extension wants guywire 0.1' },
    { is: 'missing', why: 'not on the PATH' },
    { is: 'stopped', why: 'ended' },
  ];
  it('differs between states in words, and speaks no icons', () => {
    const looks = states.map(look);
    assert.equal(new Set(looks.map(({ spoken }) => spoken)).size, states.length);
    assert.ok(looks.every(({ spoken }) => !spoken.includes('$(')));
    assert.deepEqual(looks.map(({ level }) => level), ['plain', 'plain', 'warning', 'error', 'error']);
    assert.match(looks[2]?.tooltip ?? '', /wants guywire 0\.1/);
  });
});
