// The page of a rule: what it catches, why that hurts on the air, and a bad and a good plan.
import * as vscode from 'vscode';

import { isOurs } from './files.ts';
import type { Server } from './server.ts';

const COMMAND = 'guywire.why';
const SCHEME = 'guywire-rule';

/** Shows pages that the server writes. */
export class RulePages implements vscode.TextDocumentContentProvider {
  private readonly pages = new Map<string, string>();

  provideTextDocumentContent(address: vscode.Uri): string {
    return this.pages.get(address.path) ?? '';
  }

  register(): vscode.Disposable {
    return vscode.workspace.registerTextDocumentContentProvider(SCHEME, this);
  }

  /** Explains the finding at the cursor; without one, all rules are listed. */
  async explain(server: Server): Promise<void> {
    if (!server.offers(COMMAND)) {
      await vscode.window.showInformationMessage('guywire: the server does not run, or explains no rules.');
      return;
    }
    const rule = ruleAt(vscode.window.activeTextEditor);
    const answer = await server.execute(COMMAND, rule ?? null, { show: false });
    const markdown = (answer as { markdown?: unknown } | null | undefined)?.markdown;
    if (typeof markdown !== 'string') {
      return;
    }
    const address = vscode.Uri.from({ scheme: SCHEME, path: `/${rule ?? 'rules'}.md` });
    this.pages.set(address.path, markdown);
    await vscode.commands.executeCommand('markdown.showPreviewToSide', address);
  }
}

function ruleAt(editor: vscode.TextEditor | undefined): string | undefined {
  if (editor === undefined || !isOurs(editor.document.uri.path)) {
    return undefined;
  }
  const found = vscode.languages
    .getDiagnostics(editor.document.uri)
    .filter(({ source, range }) => source === 'guywire' && range.contains(editor.selection.active));
  const code = found[0]?.code;
  return typeof code === 'object' ? String(code.value) : code === undefined ? undefined : String(code);
}
