import assert from 'node:assert/strict';
import { describe, it } from 'node:test';

import { ANSWERS, audiencePage, readAudience } from '../src/audience.ts';

const matrix = {
  columns: ['Pilots', 'Cranes & <hooks>'],
  rows: [
    { name: 'Berths', cells: ['hears', { answer: 'no', why: 'color code 3, the repeater wants 5' }] },
    { name: 'Yard', cells: [{ answer: 'hears if scanning' }, 'noise'] },
  ],
};

describe('the answer of the server', () => {
  it('is read as a matrix', () => {
    const audience = readAudience({ markdown: '# not needed', matrix });
    assert.equal(audience.is, 'matrix');
    assert.deepEqual(audience.matrix.rows[0]?.cells[1], { answer: 'no', why: 'color code 3, the repeater wants 5' });
  });
  it('falls back to its text whole, not to half a matrix', () => {
    const [row] = matrix.rows;
    for (const broken of [
      undefined,
      { ...matrix, columns: ['one'] },
      { ...matrix, columns: ['one', 2] },
      { ...matrix, rows: [{ name: 'Berths', cells: ['hears', 'perhaps'] }] },
      { ...matrix, rows: [row, { cells: ['hears', 'no'] }] },
      { ...matrix, rows: [row, null] },
      { columns: [], rows: [] },
    ]) {
      assert.deepEqual(readAudience({ markdown: '18 radios', matrix: broken }), { is: 'text', text: '18 radios' });
    }
  });
  it('is told to be none where there is nothing to show', () => {
    for (const nothing of [null, undefined, 'text', [], {}, { markdown: ' ', matrix: {} }]) {
      assert.equal(readAudience(nothing).is, 'none');
    }
  });
});

describe('the page', () => {
  const page = audiencePage('a.plan.toml', readAudience({ matrix }), 'once');

  it('has a header for each row and column, and words in each cell', () => {
    assert.equal(page.match(/<th scope="col">/g)?.length, 3);
    assert.equal(page.match(/<th scope="row">/g)?.length, 2);
    assert.equal(page.match(/<td /g)?.length, 4);
    assert.match(page, /hears if scanning<\/span><\/td>/);
    assert.match(page, /no<\/span><span class="why">color code 3, the repeater wants 5<\/span>/);
    for (const [answer, meaning] of Object.entries(ANSWERS)) {
      assert.ok(page.includes(`</span>${answer}</dt><dd>${meaning}</dd>`), answer);
    }
  });
  it('can be reached and scrolled by keyboard', () => {
    assert.match(page, /role="region" aria-labelledby="title" tabindex="0"/);
    assert.match(audiencePage('a', { is: 'text', text: 'x' }), /<pre tabindex="0"/);
  });
  it('runs and fetches nothing', () => {
    assert.match(page, /content="default-src 'none'; style-src 'nonce-once'"/);
    assert.doesNotMatch(page, /<script|https?:|\son\w+=|url\(|style="/);
  });
  it('has colors of the theme alone', () => {
    assert.doesNotMatch(page, /#[0-9a-f]{3,8}\b|rgb\(/i);
  });
  it('escapes what a plan holds', () => {
    assert.match(page, /Cranes &amp; &lt;hooks&gt;/);
    const text = audiencePage(`"'<`, { is: 'none', why: '<b>&' });
    assert.ok(text.includes('&quot;&#39;&lt;') && text.includes('&lt;b&gt;&amp;'), text);
  });
  it('takes another nonce each time', () => {
    const nonces = [1, 2].map(() => /nonce-([^']+)/.exec(audiencePage('a', { is: 'none', why: '' }))?.[1]);
    assert.notEqual(nonces[0], nonces[1]);
  });
});
