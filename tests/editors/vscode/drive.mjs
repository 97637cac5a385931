// The acts in a real VS Code (code-server, in a browser): the extension installed from its .vsix into a profile that holds
// nothing else, with nothing but the program on the PATH. Run by ../run; with PICTURES it also draws what is seen.
import assert from 'node:assert/strict';
import { execFileSync, spawn } from 'node:child_process';
import { globSync, mkdirSync, readFileSync, renameSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { basename, join } from 'node:path';

const { CODE, VSIX, HOME, PLANS, PICTURES } = process.env;
const { chromium } = createRequire(join(CODE, 'package.json'))('playwright-core');
const PATIENCE_MS = 60_000;
// Where the text is, for pictures of it alone.
const EDITOR = { x: 328, y: 0, width: 772, height: 480 };
const acts = JSON.parse(readFileSync(new URL('../acts.json', import.meta.url), 'utf8'));
const entry = join(CODE, 'node_modules/code-server/out/node/entry.js');
const profile = ['--user-data-dir', join(HOME, 'user'), '--extensions-dir', join(HOME, 'extensions')];

// What is turned off here has to do with the editor, not with the extension: it is as it comes.
const SETTINGS = {
  'chat.disableAIFeatures': true,
  'editor.minimap.enabled': false,
  'telemetry.telemetryLevel': 'off',
  'window.commandCenter': false,
  'workbench.colorTheme': 'Light Modern',
  'workbench.layoutControl.enabled': false,
  'workbench.secondarySideBar.defaultVisibility': 'hidden',
  'workbench.startupEditor': 'none',
};

function setUp() {
  mkdirSync(join(HOME, 'user/User'), { recursive: true });
  // The editor takes the PATH from a login shell, whatever it was started with.
  writeFileSync(join(HOME, '.profile'), `export PATH=${join(HOME, 'bin')}\n`);
  writeFileSync(join(HOME, 'user/User/settings.json'), JSON.stringify(SETTINGS));
  const said = execFileSync(process.execPath, [entry, ...profile, '--install-extension', VSIX], { encoding: 'utf8', stdio: 'pipe' });
  assert.match(said, /successfully installed/);
}

/** Starts the editor; answers with its address and its process, the leader of a group. */
async function serve() {
  const flags = ['--auth', 'none', '--bind-addr', '127.0.0.1:0', '--disable-telemetry', '--disable-update-check', '--disable-workspace-trust'];
  const server = spawn(process.execPath, [entry, ...flags, ...profile, PLANS], { detached: true, stdio: ['ignore', 'pipe', 'pipe'] });
  const address = await new Promise((resolve, reject) => {
    let said = '';
    for (const stream of [server.stdout, server.stderr]) {
      stream.on('data', (data) => {
        said += data;
        const found = /listening on (http:\/\/127\.0\.0\.1:\d+)/.exec(said);
        if (found) resolve(found[1]);
      });
    }
    server.on('exit', (code) => reject(new Error(`the editor ended with ${code}:\n${said}`)));
  });
  return { address, server };
}

/** Does something again until something is so. */
async function until(what, holds, again = async () => {}) {
  const end = Date.now() + PATIENCE_MS;
  while (!(await holds())) {
    assert.ok(Date.now() < end, `waited in vain until ${what}`);
    await again();
    await new Promise((resolve) => setTimeout(resolve, 50));
  }
}

class Editor {
  constructor(page) {
    this.page = page;
  }

  lines = (name) => readFileSync(join(PLANS, name), 'utf8').split('\n');

  /** Opens a file with the cursor at a text in its only line that is so, as a person would: Ctrl+P, name, place. */
  async goTo(file, line, word = line) {
    const lines = this.lines(file);
    const number = lines.findIndex((each) => each.startsWith(line)) + 1;
    assert.ok(number > 0, `${file} has no line ${line}`);
    await this.pick('Control+p', `${file}:${number}:${line.indexOf(word) + 2}`, basename(file));
    await until(`the cursor is in line ${number}`, async () => (await this.statusText()).includes(`Ln ${number},`));
  }

  /** Opens the box to pick in, types, and takes the first entry once it is the one that is meant. */
  async pick(keys, text, meant) {
    const box = this.page.locator('.quick-input-widget input');
    await until('the box to pick opens', () => box.isVisible(), () => this.page.keyboard.press(keys));
    await box.fill(text);
    await this.page.locator('.quick-input-list .monaco-list-row.focused', { hasText: meant }).waitFor();
    await box.press('Enter');
    await box.waitFor({ state: 'hidden' });
  }

  async command(title) {
    await this.pick('F1', `>${title}`, title);
  }

  async theme(name) {
    const box = this.page.locator('.quick-input-widget input');
    await until('the themes are listed', () => box.isVisible(), () => this.keys('Control+k', 'Control+t'));
    await box.fill(name);
    await this.page.locator('.quick-input-list .monaco-list-row.focused', { hasText: name }).waitFor();
    await box.press('Enter');
    await box.waitFor({ state: 'hidden' });
  }

  async keys(...keys) {
    for (const key of keys) {
      await this.page.keyboard.press(key);
    }
  }

  /** Whether a line is in sight; what the server hints at stands behind its text. */
  async shows(wanted) {
    const lines = await this.page.locator('.editor-container .monaco-editor .view-line').allInnerTexts();
    return lines.some((line) => line.replaceAll('\u00a0', ' ').startsWith(wanted));
  }

  async statusText() {
    return this.page.locator('.statusbar').innerText();
  }

  /** Waits until the list of problems, filtered by a word, has that many rows, all with the word; answers with their texts. */
  async problems(word, least, most) {
    const filter = this.page.locator('.markers-panel-action-filter-container input, .viewpane-filter input').first();
    await until('the list of problems opens', () => filter.isVisible(), () => this.page.keyboard.press('Control+Shift+m'));
    const rows = this.page.locator('.markers-panel .monaco-list-row[aria-level="2"]');
    let texts = [];
    // The box is drawn anew while the editor starts, and forgets: so the word is looked at each time.
    const shows = async () => {
      const filtered = (await filter.inputValue()) === word;
      texts = await rows.allInnerTexts();
      return filtered && texts.length >= least && texts.length <= most && texts.every((text) => text.includes(word));
    };
    const type = async () => (await filter.inputValue()) === word || filter.fill(word);
    await until(`${least} to ${most} problems have ${word}`, shows, type);
    return texts;
  }

  /** Asks for the hover at the cursor, until it says all that is wanted. */
  async hover(...wanted) {
    const box = this.page.locator('.monaco-hover:visible');
    const shows = async () => {
      const text = (await box.allInnerTexts()).join('\n').replaceAll('\u00a0', ' ');
      return wanted.every((each) => text.includes(each));
    };
    await until(`a hover says ${wanted.join(', ')}`, shows, () => this.keys('Control+k', 'Control+i'));
  }

  async picture(name, clip) {
    if (PICTURES) {
      // What fades in is drawn whole; what turns for ever is not waited for.
      await this.page.evaluate(() => {
        const ends = document.getAnimations().filter((each) => each.effect?.getComputedTiming().endTime !== Infinity);
        return Promise.allSettled(ends.map((each) => each.finished));
      });
      await this.page.screenshot({ path: join(PICTURES, `${name}.png`), clip });
    }
  }
}

async function readsFindings(editor) {
  const { line, rule, says } = acts.finding;
  await editor.goTo(acts.file, line);
  await until('the server runs', async () => /guywire \d+\.\d+\.\d+/.test(await editor.statusText()));
  for (const wanted of acts.found) {
    await editor.problems(wanted, 1, 9);
  }
  const [row] = await editor.problems('Bertsh', 1, 1);
  assert.ok(row.includes(says) && row.includes('guywire') && row.includes(rule), row);
  await editor.problems('', 4, 99);
  await editor.goTo(acts.file, line, '"');
  await editor.hover(says);
  await editor.picture('vscode-findings');
  await editor.keys('Escape');
}


async function hovers(editor) {
  const { line, says } = acts.hover;
  await editor.goTo(acts.file, line);
  await editor.hover(...says);
  await editor.picture('vscode-hover', EDITOR);
  await editor.keys('Escape');
}

async function saysWhoHears(editor) {
  const { line, word, says } = acts.reach;
  await editor.goTo(acts.file, line, word);
  await editor.hover(...says);
  await editor.picture('vscode-hover-audience', EDITOR);
  await editor.keys('Escape');
}

/** Types in the line of the finding, reads what is offered, takes it, and undoes all. */
async function completes(editor) {
  const { line, typed, offered } = acts.complete;
  await editor.goTo(acts.file, line, '"');
  await editor.keys('End', 'Shift+Home', 'Shift+Home');
  await editor.page.keyboard.type(typed.slice(0, -1));
  // What closes by itself is taken out again: the text may be half typed.
  await editor.keys('Shift+End', 'Delete');
  await editor.page.keyboard.type(typed.slice(-1));
  const entry = editor.page.locator('.suggest-widget.visible .monaco-list-row', { hasText: offered });
  await until('something is offered', () => entry.first().isVisible(), () => editor.keys('Control+Space'));
  // The same keys, pressed once more, show what an entry is, beside the list and in front of the text.
  const beside = editor.page.locator('.suggest-details-container');
  await until('the list stands alone', async () => !(await beside.isVisible()), () => editor.keys('Control+Space'));
  await editor.picture('vscode-completion', EDITOR);
  await editor.keys('Escape');
  await until('the line is as before', () => editor.shows(line), () => editor.keys('Control+z'));
}

async function renames(editor) {
  const { line, word, to, written } = acts.rename;
  await editor.goTo(acts.file, line, word);
  const box = editor.page.locator('.rename-box input');
  await until('the new name is asked for', () => box.isVisible(), () => editor.keys('F2'));
  await box.fill(to);
  await box.press('Enter');
  await until('the line is renamed', () => editor.shows(written[acts.file]));
  await editor.command('File: Save All Files');
  for (const [file, wanted] of Object.entries(written)) {
    await until(`${wanted} is in ${file}`, async () => editor.lines(file).includes(wanted));
  }
  assert.ok(!editor.lines(acts.file).includes(line), 'a use kept its name');
}

/** The program goes away and comes back: the editor says so, and runs again. */
async function missesProgram(editor) {
  const program = join(HOME, 'bin/guywire');
  renameSync(program, `${program}-away`);
  await editor.command('guywire: Restart the Language Server');
  await until('it is missed', async () => (await editor.statusText()).includes('no program'));
  const said = editor.page.locator('.notification-list-item-message', { hasText: /It wants guywire \d+\.\d+\.\d+/ });
  await said.waitFor();
  await editor.command('Notifications: Clear All Notifications');
  renameSync(`${program}-away`, program);
  await editor.command('guywire: Restart the Language Server');
  await until('it runs again', async () => /guywire \d/.test(await editor.statusText()));
}

async function leavesOtherFilesAlone(editor) {
  await editor.goTo('FAULTS.toml', 'rule = ');
  assert.ok(!(await editor.statusText()).includes('Radio plan'));
}

/** The log names the program, and holds nothing of a plan. */
async function logs(editor) {
  await editor.command('guywire: Show the Log');
  const read = () => globSync('user/logs/**/guywire.log', { cwd: HOME }).map((log) => readFileSync(join(HOME, log), 'utf8')).join('');
  // Once as it was opened, once when the program was back.
  await until('it is written', async () => read().match(/bin\/guywire: \d+\.\d+\.\d+/g)?.length === 2);
  const text = read();
  assert.doesNotMatch(text, /Berths|5c0e9a77|604417/);
}

/** The line above a talkgroup counts its uses; a click shows them. */
async function showsUses(editor) {
  const { line, file } = acts.uses;
  await editor.goTo(file, line);
  const lens = editor.page.locator('.codelens-decoration a', { hasText: /\d+ uses/ }).first();
  await lens.click();
  const peek = editor.page.locator('.peekview-widget');
  await peek.waitFor();
  await until('the uses are listed', async () => (await peek.innerText()).includes(acts.file.split('/').pop()));
  await editor.picture('vscode-uses');
  await editor.keys('Escape');
}

async function explains(editor) {
  const { line, rule } = acts.finding;
  await editor.goTo(acts.file, line, '"');
  await editor.command('guywire: Explain the Finding at the Cursor');
  const page = editor.page.frameLocator('iframe.webview').frameLocator('iframe#active-frame');
  await page.locator('h1, h2', { hasText: rule }).first().waitFor();
  await editor.keys('Control+w');
}

async function takesFix(editor) {
  const { finding, fix } = acts;
  await editor.goTo(acts.file, finding.line, '"');
  const entry = editor.page.locator('.action-widget .monaco-list-row', { hasText: fix.title });
  await until('the fix is offered', () => entry.first().isVisible(), () => editor.keys('Control+.'));
  await editor.picture('vscode-fix', EDITOR);
  await entry.first().click();
  await until('the line is mended', () => editor.shows(fix.line));
  await editor.problems('Bertsh', 0, 0);
  // Another is still there.
  await editor.problems(acts.found[0], 1, 1);
}

/** The least contrast between letters and what is behind them (WCAG 2.2, 1.4.3), over all text of a table. */
function leastContrast(table) {
  const read = (color) => (color.match(/[\d.]+/g) ?? []).map(Number);
  const over = ([r, g, b, a = 1], behind) => [r, g, b].map((part, at) => part * a + behind[at] * (1 - a));
  const behind = (element) => {
    if (element === null) return [255, 255, 255];
    const color = read(getComputedStyle(element).backgroundColor);
    return color[3] === 0 ? behind(element.parentElement) : over(color, behind(element.parentElement));
  };
  const part = (value) => (value <= 0.04045 * 255 ? value / 255 / 12.92 : ((value / 255 + 0.055) / 1.055) ** 2.4);
  const light = ([r, g, b]) => 0.2126 * part(r) + 0.7152 * part(g) + 0.0722 * part(b);
  const contrasts = [...table.querySelectorAll('th, td, span')].map((element) => {
    const back = behind(element);
    const [dark, bright] = [light(over(read(getComputedStyle(element).color), back)), light(back)].sort((x, y) => x - y);
    return (bright + 0.05) / (dark + 0.05);
  });
  return { least: Math.min(...contrasts), of: contrasts.length };
}

/** The view of who hears whom: what it says, by names that are read out; by keyboard; as the text changes; in both themes. */
async function showsAudience(editor) {
  const wanted = acts.audience;
  await editor.command('View: Toggle Panel Visibility');
  await editor.goTo(acts.file, `name = "${wanted.sent}"`, wanted.sent);
  await editor.command('guywire: Show Who Hears Whom');
  const page = editor.page.frameLocator('iframe.webview').frameLocator('iframe#active-frame');
  const region = page.getByRole('region', { name: `Who hears whom: ${acts.file}` });
  const table = region.getByRole('table', { name: 'A row is what is sent, a column who receives.' });
  await table.waitFor();

  // What it says.
  const columns = await table.getByRole('columnheader').allInnerTexts();
  const row = (name) => table.getByRole('row').filter({ has: page.getByRole('rowheader', { name, exact: true }) });
  const cell = (name, column) => row(name).getByRole('cell').nth(columns.indexOf(column) - 1);
  for (const [column, answer] of [[wanted.hears, /^hears$/], [wanted.scans, /^hears if scanning ?on "Berths"$/], [wanted.not, /^no ?lost or retired/]]) {
    assert.ok(columns.includes(column), `no column ${column}: ${columns.join('; ')}`);
    const named = row(wanted.sent).getByRole('cell', { name: answer });
    const texts = await named.allInnerTexts();
    assert.ok(texts.includes(await cell(wanted.sent, column).innerText()), `${column}: ${texts.join('; ')}`);
  }
  const cells = table.getByRole('cell', { name: /^(hears|could tune|unknown|noise|no)/ });
  assert.equal(await cells.count(), (columns.length - 1) * (await table.getByRole('rowheader').count()), 'each cell says its answer');

  // By keyboard: reached by Tab, moved by arrows, with the name of the row in sight.
  const holds = () => region.evaluate((element) => element === element.ownerDocument.activeElement);
  await until('it is reached', holds, () => editor.keys('Tab'));
  const name = page.getByRole('rowheader', { name: wanted.sent, exact: true });
  const before = await name.boundingBox();
  const moved = () => region.evaluate((element) => element.scrollLeft > 100);
  await until('it moves to the right', moved, () => editor.keys('ArrowRight'));
  assert.ok(Math.abs((await name.boundingBox()).x - before.x) < 1, 'the name of the row stays');
  await until('it moves back', async () => !(await moved()), () => editor.keys('ArrowLeft'));

  // As the text changes, saved or not.
  await editor.keys('Control+1');
  await editor.goTo(acts.file, `name = "${wanted.sent}"`, wanted.sent);
  await editor.page.keyboard.type('x');
  // The zones still name it as it was, so that no radio has it any more.
  await row(wanted.sent).waitFor({ state: 'detached' });
  await editor.keys('Control+z');
  await row(wanted.sent).waitFor();

  // In both themes.
  await editor.keys('Control+2');
  await editor.command('View: Toggle Maximize Editor Group');
  await editor.command('View: Toggle Primary Side Bar Visibility');
  const shade = () => page.locator('body').evaluate((body) => getComputedStyle(body).backgroundColor);
  const light = await shade();
  for (const [theme, picture] of [['Light Modern', 'vscode-audience'], ['Dark Modern', 'vscode-audience-dark']]) {
    await editor.theme(theme);
    await until(`it is drawn in ${theme}`, async () => ((await shade()) === light) === theme.includes('Light'));
    const { least, of } = await table.evaluate(leastContrast);
    assert.ok(of > 50 && least >= 4.5, `${theme}: ${least} to 1, of ${of} texts`);
    await editor.picture(picture);
  }
  await editor.theme(SETTINGS['workbench.colorTheme']);
  await until('it is light again', async () => (await shade()) === light);
  await editor.command('View: Toggle Primary Side Bar Visibility');
  await editor.command('View: Toggle Maximize Editor Group');
  await editor.command('View: Close All Editors in Group');
}

const ACTS = [
  readsFindings,
  hovers,
  saysWhoHears,
  completes,
  renames,
  showsUses,
  explains,
  takesFix,
  showsAudience,
  leavesOtherFilesAlone,
  missesProgram,
  logs,
];

async function run(page, address) {
  await page.goto(`${address}/?folder=${PLANS}`);
  await page.locator('.explorer-folders-view .monaco-list-row').first().waitFor({ timeout: PATIENCE_MS });
  const editor = new Editor(page);
  for (const act of ACTS) {
    await act(editor);
    console.log(`  ${act.name}`);
  }
}

setUp();
const { address, server } = await serve();
const browser = await chromium.launch({
  executablePath: '/usr/bin/chromium',
  args: ['--no-sandbox', '--disable-gpu', '--disable-background-networking', '--disable-component-update', '--disable-sync', '--no-first-run'],
  env: { ...process.env, PATH: '/usr/bin:/bin' },
});
try {
  const page = await browser.newPage({ viewport: { width: 1100, height: 760 } });
  page.setDefaultTimeout(PATIENCE_MS);
  try {
    await run(page, address);
    console.log('passed');
  } catch (error) {
    console.log(`the screen: ${join(HOME, 'failed.png')}`);
    await page.screenshot({ path: join(HOME, 'failed.png') });
    throw error;
  }
} finally {
  await browser.close();
  process.kill(-server.pid, 'SIGTERM');
}
