// guywire for VS Code: starts the language server, and shows how it is.
import * as vscode from 'vscode';
import type { Location, Position } from 'vscode-languageclient/node';

import { isOurs } from './files.ts';
import { AudiencePanel } from './panel.ts';
import { parseVersion } from './program.ts';
import { RulePages } from './rule.ts';
import { Server, SHOW_REFERENCES } from './server.ts';
import { look, type State } from './status.ts';

let server: Server | undefined;

export async function activate(context: vscode.ExtensionContext): Promise<void> {
  const { version } = context.extension.packageJSON as { version: string };
  const wanted = parseVersion(version) ?? { major: 0, minor: 0, patch: 0 };
  const log = vscode.window.createOutputChannel('guywire', { log: true });
  const item = vscode.window.createStatusBarItem('guywire.status', vscode.StatusBarAlignment.Right);
  item.name = 'guywire';
  item.command = 'guywire.menu';

  const panel: AudiencePanel = new AudiencePanel(() => started);
  const started = new Server(log, wanted, (state) => { tell(item, state); }, (plan) => void panel.open(plan));
  server = started;
  const rules = new RulePages();

  context.subscriptions.push(
    log,
    item,
    panel,
    vscode.commands.registerCommand('guywire.restart', () => started.restart()),
    vscode.commands.registerCommand('guywire.showLog', () => { log.show(); }),
    vscode.commands.registerCommand('guywire.openAudience', (plan?: vscode.Uri) => panel.open(plan)),
    vscode.commands.registerCommand('guywire.menu', menu),
    rules.register(),
    vscode.commands.registerCommand('guywire.explain', () => rules.explain(started)),
    vscode.commands.registerCommand(SHOW_REFERENCES, (address: string, position: Position, places: Location[]) =>
      started.showReferences(address, position, places),
    ),
    vscode.workspace.onDidChangeConfiguration((change) => {
      if (change.affectsConfiguration('guywire.path')) {
        void started.restart();
      } else if (change.affectsConfiguration('guywire')) {
        void started.tellSettings();
      }
    }),
    vscode.workspace.onDidChangeTextDocument(({ document }) => {
      if (isOurs(document.uri.path)) {
        panel.follow();
      }
    }),
    // What other programs wrote shows in findings, where it shows at all.
    vscode.languages.onDidChangeDiagnostics(({ uris }) => {
      if (uris.some(({ path }) => isOurs(path))) {
        panel.follow();
      }
    }),
    vscode.window.onDidChangeActiveTextEditor(noteOpenPlan),
  );
  noteOpenPlan(vscode.window.activeTextEditor);
  item.show();
  await started.restart();
}

export async function deactivate(): Promise<void> {
  await server?.stop();
}

function tell(item: vscode.StatusBarItem, state: State): void {
  const { text, tooltip, spoken, level } = look(state);
  item.text = text;
  item.tooltip = tooltip;
  item.accessibilityInformation = { label: spoken, role: 'button' };
  item.backgroundColor =
    level === 'plain' ? undefined : new vscode.ThemeColor(`statusBarItem.${level}Background`);
  void vscode.commands.executeCommand('setContext', 'guywire.running', state.is === 'running');
}

function noteOpenPlan(editor: vscode.TextEditor | undefined): void {
  if (editor !== undefined && isOurs(editor.document.uri.path)) {
    void vscode.commands.executeCommand('setContext', 'guywire.planOpen', true);
  }
}

async function menu(): Promise<void> {
  const choices = [
    { label: '$(refresh) Restart the language server', command: 'guywire.restart' },
    { label: '$(output) Show the log', command: 'guywire.showLog' },
    { label: '$(broadcast) Show who hears whom', command: 'guywire.openAudience' },
  ];
  const chosen = await vscode.window.showQuickPick(choices, { placeHolder: 'guywire' });
  if (chosen !== undefined) {
    await vscode.commands.executeCommand(chosen.command);
  }
}
