// What the item in the status bar says.

export type State =
  | { readonly is: 'starting' }
  | { readonly is: 'running'; readonly version: string; readonly warning: string | undefined }
  | { readonly is: 'missing'; readonly why: string }
  | { readonly is: 'stopped'; readonly why: string };

export interface Look {
  readonly text: string;
  readonly tooltip: string;
  /** Read aloud in place of the text, whose icon has no words. */
  readonly spoken: string;
  readonly level: 'plain' | 'warning' | 'error';
}

export function look(state: State): Look {
  switch (state.is) {
    case 'starting':
      return { text: '$(loading~spin) guywire', tooltip: 'guywire: starting', spoken: 'guywire is starting', level: 'plain' };
    case 'running':
      return state.warning === undefined
        ? {
            text: `$(check) guywire ${state.version}`,
            tooltip: `guywire ${state.version}: running`,
            spoken: `guywire ${state.version} is running`,
            level: 'plain',
          }
        : {
            text: `$(warning) guywire ${state.version}`,
            tooltip: `guywire: ${state.warning}`,
            spoken: `guywire is running, with a warning: ${state.warning}`,
            level: 'warning',
          };
    case 'missing':
      return {
        text: '$(error) guywire: no program',
        tooltip: `guywire: ${state.why}`,
        spoken: `guywire does not run: ${state.why}`,
        level: 'error',
      };
    case 'stopped':
      return {
        text: '$(error) guywire: stopped',
        tooltip: `guywire: ${state.why}`,
        spoken: `guywire has stopped: ${state.why}`,
        level: 'error',
      };
  }
}
