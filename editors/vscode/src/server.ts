// The language server: found, started, watched, and started again.
import * as vscode from 'vscode';
import {
  LanguageClient,
  RevealOutputChannelOn,
  State as ClientState,
  type ClientCapabilities,
  type FeatureState,
  type Location,
  type Middleware,
  type Position,
  type StaticFeature,
} from 'vscode-languageclient/node';

import { COMMAND } from './audience.ts';
import { PATTERNS } from './files.ts';
import { askVersion, findProgram, misfit, parseVersion, show, surroundings, type Version } from './program.ts';
import type { State } from './status.ts';

const RESPONSE_PATIENCE_MS = 3000;

/** The command of this extension that the lines above tables run: an address, a position, and the places to show. */
export const SHOW_REFERENCES = 'guywire.showReferences';

/** Tells the server which commands of the client it may name. */
class OwnCommands implements StaticFeature {
  fillClientCapabilities(capabilities: ClientCapabilities): void {
    const others = capabilities.experimental as Record<string, unknown> | undefined;
    capabilities.experimental = { ...others, commands: [SHOW_REFERENCES] };
  }

  initialize(): void {
    // Nothing to register: the command is there as long as the extension is.
  }

  getState(): FeatureState {
    return { kind: 'static' };
  }

  clear(): void {
    // Nothing is kept.
  }
}

export class Server implements vscode.Disposable {
  private client: LanguageClient | undefined;
  /** Starts and stops come one after the other, however fast they are asked for. */
  private queue: Promise<void> = Promise.resolve();

  private readonly log: vscode.LogOutputChannel;
  private readonly wanted: Version;
  private readonly tell: (state: State) => void;
  private readonly showAudience: (address: vscode.Uri | undefined) => void;

  constructor(
    log: vscode.LogOutputChannel,
    wanted: Version,
    tell: (state: State) => void,
    showAudience: (address: vscode.Uri | undefined) => void,
  ) {
    this.log = log;
    this.wanted = wanted;
    this.tell = tell;
    this.showAudience = showAudience;
  }

  restart(): Promise<void> {
    this.queue = this.queue.then(() => this.stopNow()).then(() => this.startNow());
    return this.queue;
  }

  stop(): Promise<void> {
    this.queue = this.queue.then(() => this.stopNow());
    return this.queue;
  }

  dispose(): void {
    void this.stop();
  }

  /** The name and version that the server gave; nothing while it does not run. */
  get running(): string | undefined {
    return this.client?.state === ClientState.Running ? (this.client.initializeResult?.serverInfo?.version ?? '') : undefined;
  }

  /** Whether the server carries out this command. */
  offers(command: string): boolean {
    const offered = this.client?.initializeResult?.capabilities.executeCommandProvider?.commands;
    return offered?.includes(command) ?? false;
  }

  async execute(command: string, ...values: unknown[]): Promise<unknown> {
    return this.client?.sendRequest('workspace/executeCommand', { command, arguments: values });
  }

  /** Shows places that the server names. */
  async showReferences(address: string, position: Position, places: Location[]): Promise<void> {
    const converter = this.client?.protocol2CodeConverter;
    if (converter === undefined) {
      return;
    }
    const shown = [converter.asUri(address), converter.asPosition(position), places.map((place) => converter.asLocation(place))];
    await vscode.commands.executeCommand('editor.action.showReferences', ...shown);
  }

  /** Tells the server of changed settings. */
  async tellSettings(): Promise<void> {
    if (this.client?.state !== ClientState.Running) {
      return;
    }
    const settings = { guywire: vscode.workspace.getConfiguration('guywire') };
    await this.client.sendNotification('workspace/didChangeConfiguration', { settings });
  }

  private async startNow(): Promise<void> {
    this.tell({ is: 'starting' });
    const found = findProgram(surroundings(vscode.workspace.getConfiguration('guywire').get('path', '')));
    if (found.is === 'missing') {
      this.log.error(found.why);
      this.tell(found);
      void this.offerHelp(found.why);
      return;
    }
    const version = await askVersion(found.path);
    const warning = misfit(version, this.wanted);
    this.log.info(`${found.path}: ${version === undefined ? 'no version' : show(version)}`);
    if (warning !== undefined) {
      this.log.warn(warning);
    }
    try {
      this.client = this.makeClient(found.path, warning);
      await this.client.start();
    } catch (error) {
      this.log.error(`the server did not start: ${error instanceof Error ? error.message : String(error)}`);
      this.tell({ is: 'stopped', why: 'the server did not start; the log says more' });
    }
  }

  private makeClient(program: string, warning: string | undefined): LanguageClient {
    const run = { command: program, args: ['serve'] };
    const client = new LanguageClient('guywire', 'guywire', { run, debug: run }, {
      documentSelector: PATTERNS.map((pattern) => ({ scheme: 'file', pattern })),
      // Limits; what is checked stands in guywire.toml.
      initializationOptions: vscode.workspace.getConfiguration('guywire'),
      outputChannel: this.log,
      revealOutputChannelOn: RevealOutputChannelOn.Never,
      middleware: this.middleware(),
    });
    client.registerFeature(new OwnCommands());
    client.onDidChangeState(({ newState }) => {
      if (client !== this.client) {
        return;
      }
      if (newState === ClientState.Running) {
        const said = parseVersion(client.initializeResult?.serverInfo?.version ?? '');
        this.tell({ is: 'running', version: said === undefined ? '' : show(said), warning });
      } else if (newState === ClientState.Starting) {
        this.tell({ is: 'starting' });
      } else {
        this.tell({ is: 'stopped', why: 'the server has ended; the log says more' });
      }
    });
    return client;
  }

  private middleware(): Middleware {
    return {
      // A lens or an action of the server that asks for an audience opens the view.
      executeCommand: (command, values: unknown[], next) => {
        if (command !== COMMAND) {
          return next(command, values) as unknown;
        }
        const [address] = values;
        this.showAudience(typeof address === 'string' ? vscode.Uri.parse(address) : undefined);
        return undefined;
      },
    };
  }

  private async stopNow(): Promise<void> {
    const client = this.client;
    this.client = undefined;
    if (client === undefined) {
      return;
    }
    try {
      await client.dispose(RESPONSE_PATIENCE_MS);
    } catch (error) {
      this.log.warn(`while stopping: ${error instanceof Error ? error.message : String(error)}`);
    }
  }

  private async offerHelp(why: string): Promise<void> {
    const setting = 'Set the path';
    const how = 'How to install';
    const wants = `It wants guywire ${show(this.wanted)}.`;
    const chosen = await vscode.window.showErrorMessage(`guywire: ${why}. ${wants}`, setting, how);
    if (chosen === setting) {
      await vscode.commands.executeCommand('workbench.action.openSettings', 'guywire.path');
    } else if (chosen === how) {
      await vscode.commands.executeCommand('workbench.action.openWalkthrough', 'guywire.guywire#begin');
    }
  }
}
