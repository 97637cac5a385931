// What the server says of who hears whom, and how it is shown: a page without scripts.
import { randomBytes } from 'node:crypto';

/** The server's command. Its arguments: the address of a plan, and whether the server is to show the answer itself. */
export const COMMAND = 'guywire.audience';

/** The answers that a cell can hold, from best to worst, with what each means. */
export const ANSWERS = {
  'hears': 'stands by there',
  'hears if scanning': 'has it in the scan list that it scans',
  'could tune': 'has it on a knob position that it is not on',
  'unknown': 'something that decides it is not written, or cannot be read',
  'noise': 'opens for the carrier, but not for the message',
  'no': 'does not hear it',
} as const;
export type Answer = keyof typeof ANSWERS;

/** Not told by color alone. */
const SIGNS: Readonly<Record<Answer, string>> = {
  'hears': '●',
  'hears if scanning': '◐',
  'could tune': '○',
  'unknown': '?',
  'noise': '≈',
  'no': '–',
};

export interface Cell {
  readonly answer: Answer;
  /** The first reason why not, or a remark; empty where there is none. */
  readonly why: string;
}

export interface Matrix {
  /** Who receives: radios, or classes of radios that are alike. */
  readonly columns: readonly string[];
  /** What is sent. A row holds one cell a column. */
  readonly rows: readonly { readonly name: string; readonly cells: readonly Cell[] }[];
}

export type Audience =
  | { readonly is: 'matrix'; readonly matrix: Matrix }
  | { readonly is: 'text'; readonly text: string }
  | { readonly is: 'none'; readonly why: string };

type Loose = Readonly<Record<string, unknown>>;

function isObject(value: unknown): value is Loose {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}

function isAnswer(value: unknown): value is Answer {
  return typeof value === 'string' && Object.hasOwn(ANSWERS, value);
}

/** A cell: an answer alone, or `{ answer, why }`. */
function readCell(value: unknown): Cell | undefined {
  if (isAnswer(value)) {
    return { answer: value, why: '' };
  }
  if (!isObject(value) || !isAnswer(value.answer)) {
    return undefined;
  }
  return { answer: value.answer, why: typeof value.why === 'string' ? value.why : '' };
}

function readRow(value: unknown, columns: number): Matrix['rows'][number] | undefined {
  if (!isObject(value) || typeof value.name !== 'string' || !Array.isArray(value.cells)) {
    return undefined;
  }
  const cells = value.cells.map(readCell).filter((cell) => cell !== undefined);
  return cells.length === columns && value.cells.length === columns ? { name: value.name, cells } : undefined;
}

function readMatrix(value: unknown): Matrix | undefined {
  if (!isObject(value) || !Array.isArray(value.columns) || !Array.isArray(value.rows)) {
    return undefined;
  }
  const columns = value.columns.filter((name) => typeof name === 'string');
  const rows = value.rows.map((row) => readRow(row, columns.length)).filter((row) => row !== undefined);
  const whole = columns.length === value.columns.length && rows.length === value.rows.length;
  return whole ? { columns, rows } : undefined;
}

/** The result of the command: `{ markdown, matrix }`. A matrix that cannot be read whole is not shown in part. */
export function readAudience(result: unknown): Audience {
  if (!isObject(result)) {
    return { is: 'none', why: 'The server knows of no audience for this file.' };
  }
  const matrix = readMatrix(result.matrix);
  if (matrix !== undefined && matrix.rows.length > 0 && matrix.columns.length > 0) {
    return { is: 'matrix', matrix };
  }
  const text = result.markdown;
  return typeof text === 'string' && text.trim() !== ''
    ? { is: 'text', text }
    : { is: 'none', why: 'Nothing is sent in this plan, or nobody is there to hear it.' };
}

const ENTITIES: Readonly<Record<string, string>> = { '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;', "'": '&#39;' };

export function escape(text: string): string {
  return text.replace(/[&<>"']/g, (mark) => ENTITIES[mark] ?? mark);
}

const STYLE = `
body { font-family: var(--vscode-font-family); font-size: var(--vscode-font-size); color: var(--vscode-foreground); background: var(--vscode-editor-background); padding: 0 1rem 1rem; }
h1 { font-size: 1.3em; font-weight: 600; }
h2 { font-size: 1.1em; font-weight: 600; }
.scroll { overflow: auto; max-height: 75vh; border: 1px solid var(--vscode-widget-border, var(--vscode-contrastBorder, currentColor)); }
.scroll:focus-visible { outline: 2px solid var(--vscode-focusBorder); }
table { border-collapse: separate; border-spacing: 0; }
th, td { padding: 0.25em 0.6em; text-align: left; vertical-align: top; border-bottom: 1px solid var(--vscode-widget-border, var(--vscode-contrastBorder, transparent)); }
thead th { position: sticky; top: 0; z-index: 1; background: var(--vscode-editor-background); }
tbody th { position: sticky; left: 0; background: var(--vscode-editor-background); font-weight: 600; }
thead th:first-child { left: 0; z-index: 2; }
td.a0 { font-weight: 700; }
td.a4, td.a5 { color: var(--vscode-descriptionForeground); }
.sign { display: inline-block; min-width: 1.2em; }
.answer { white-space: nowrap; }
.why { display: block; min-width: 9em; font-weight: 400; color: var(--vscode-descriptionForeground); }
pre { white-space: pre-wrap; font-family: var(--vscode-editor-font-family); }
dl { display: grid; grid-template-columns: max-content auto; gap: 0.2em 0.8em; }
dt { font-weight: 600; } dd { margin: 0; }
caption { text-align: left; padding: 0.4em 0.6em; }
`;

function cellHtml({ answer, why }: Cell): string {
  const rank = Object.keys(ANSWERS).indexOf(answer);
  const reason = why === '' ? '' : `<span class="why">${escape(why)}</span>`;
  return `<td class="a${rank}"><span class="answer"><span class="sign" aria-hidden="true">${SIGNS[answer]}</span>${answer}</span>${reason}</td>`;
}

function matrixHtml({ columns, rows }: Matrix): string {
  const head = columns.map((name) => `<th scope="col">${escape(name)}</th>`).join('');
  const body = rows
    .map(({ name, cells }) => `<tr><th scope="row">${escape(name)}</th>${cells.map(cellHtml).join('')}</tr>`)
    .join('\n');
  const meanings = Object.entries(ANSWERS).map(
    ([answer, meaning]) => `<dt><span aria-hidden="true">${SIGNS[answer as Answer]} </span>${answer}</dt><dd>${meaning}</dd>`,
  );
  return `<div class="scroll" role="region" aria-labelledby="title" tabindex="0"><table>
<caption>A row is what is sent, a column who receives.</caption>
<thead><tr><th scope="col">sent</th>${head}</tr></thead>
<tbody>
${body}
</tbody></table></div>
<h2>What the answers mean</h2>
<dl>${meanings.join('')}</dl>
<p>Worked out from the plan alone: no distance, no terrain, no coverage.</p>`;
}

function contentHtml(audience: Audience): string {
  switch (audience.is) {
    case 'matrix':
      return matrixHtml(audience.matrix);
    case 'text':
      return `<pre tabindex="0" role="region" aria-labelledby="title">${escape(audience.text)}</pre>`;
    case 'none':
      return `<p role="status">${escape(audience.why)}</p>`;
  }
}

/** The page. Nothing of it is fetched, and nothing of it runs: its policy allows one inline style sheet. */
export function audiencePage(title: string, audience: Audience, nonce = randomBytes(18).toString('base64')): string {
  return `<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'nonce-${nonce}'">
<title>Who hears whom</title>
<style nonce="${nonce}">${STYLE}</style>
</head>
<body>
<main>
<h1 id="title">Who hears whom: ${escape(title)}</h1>
${contentHtml(audience)}
</main>
</body>
</html>
`;
}
