// The view that shows who hears whom in the open plan.
import * as vscode from 'vscode';

import { audiencePage, COMMAND, readAudience, type Audience } from './audience.ts';
import { isOurs } from './files.ts';
import type { Server } from './server.ts';

/** Typing makes findings come in quickly; the view follows when it has been quiet for so long. */
const QUIET_MS = 400;

export class AudiencePanel implements vscode.Disposable {
  private panel: vscode.WebviewPanel | undefined;
  private plan: vscode.Uri | undefined;
  private timer: NodeJS.Timeout | undefined;
  /** Answers that were overtaken by a later question are dropped. */
  private asked = 0;

  private readonly server: () => Server;

  constructor(server: () => Server) {
    this.server = server;
  }

  /** Opens the view on a plan, or on the one being edited. */
  async open(plan = vscode.window.activeTextEditor?.document.uri): Promise<void> {
    if (plan === undefined || !isOurs(plan.path)) {
      await vscode.window.showInformationMessage('guywire: open a plan first, then ask who hears whom.');
      return;
    }
    this.plan = plan;
    if (this.panel === undefined) {
      this.panel = vscode.window.createWebviewPanel(
        'guywire.audience',
        'Who hears whom',
        { viewColumn: vscode.ViewColumn.Beside, preserveFocus: false },
        { enableScripts: false, enableForms: false, localResourceRoots: [], enableFindWidget: true },
      );
      this.panel.onDidDispose(() => {
        this.panel = undefined;
      });
    } else {
      this.panel.reveal(undefined, false);
    }
    await this.show();
  }

  /** To be called when the plan may say something else now. */
  follow(): void {
    if (this.panel === undefined) {
      return;
    }
    clearTimeout(this.timer);
    this.timer = setTimeout(() => void this.show(), QUIET_MS);
  }

  private async show(): Promise<void> {
    const { plan } = this;
    if (plan === undefined) {
      return;
    }
    this.asked += 1;
    const question = this.asked;
    const audience = await this.ask(plan);
    if (this.panel !== undefined && question === this.asked) {
      this.panel.webview.html = audiencePage(vscode.workspace.asRelativePath(plan), audience);
    }
  }

  private async ask(plan: vscode.Uri): Promise<Audience> {
    const server = this.server();
    const version = server.running;
    if (version === undefined) {
      return { is: 'none', why: 'The server does not run.' };
    }
    if (!server.offers(COMMAND)) {
      return { is: 'none', why: `This server (guywire ${version}) has no audience yet.` };
    }
    try {
      return readAudience(await server.execute(COMMAND, plan.toString(), { show: false }));
    } catch (error) {
      return { is: 'none', why: error instanceof Error ? error.message : String(error) };
    }
  }

  dispose(): void {
    clearTimeout(this.timer);
    this.panel?.dispose();
  }
}
