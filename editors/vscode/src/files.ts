// Which files are guywire's.

/** As `documentSelector` of a language client wants them: by name, whatever language a file is opened as. */
export const PATTERNS: readonly string[] = ['**/*.{plan,model,regime,bench,field}.toml', '**/guywire.toml'];

const OURS = /(?:^|[/\\])(?:guywire|[^/\\]*\.(?:plan|model|regime|bench|field))\.toml$/;

export function isOurs(path: string): boolean {
  return OURS.test(path);
}
