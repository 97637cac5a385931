// Where the program is, and whether it is of a version that this extension knows.
import { execFile } from 'node:child_process';
import { accessSync, constants, statSync } from 'node:fs';
import { homedir } from 'node:os';
import { delimiter, isAbsolute, join } from 'node:path';

const PATIENCE_MS = 10_000;

export type Found =
  | { readonly is: 'found'; readonly path: string }
  | { readonly is: 'missing'; readonly why: string };

export interface Surroundings {
  /** The setting `guywire.path`; empty if it is not set. */
  readonly setting: string;
  /** The PATH that the editor was started with. */
  readonly path: string;
  readonly home: string;
  readonly windows: boolean;
}

export function surroundings(setting: string): Surroundings {
  return { setting, path: process.env.PATH ?? '', home: homedir(), windows: process.platform === 'win32' };
}

/** The setting decides where it is set; a wrong one is told, and not passed over for the PATH. */
export function findProgram({ setting, path, home, windows }: Surroundings): Found {
  const set = setting.trim();
  if (set !== '') {
    const place = /^~[/\\]/.test(set) ? join(home, set.slice(2)) : set;
    if (!isAbsolute(place)) {
      return { is: 'missing', why: `the setting guywire.path is not an absolute path: ${set}` };
    }
    return isProgram(place)
      ? { is: 'found', path: place }
      : { is: 'missing', why: `the setting guywire.path names no program: ${place}` };
  }
  const name = windows ? 'guywire.exe' : 'guywire';
  // A relative folder on the PATH would be looked up from wherever the editor was started.
  const places = path.split(delimiter).filter(isAbsolute).map((folder) => join(folder, name));
  const place = places.find(isProgram);
  return place === undefined
    ? { is: 'missing', why: 'the program guywire is not on the PATH that the editor was started with' }
    : { is: 'found', path: place };
}

function isProgram(path: string): boolean {
  try {
    accessSync(path, constants.X_OK);
    return statSync(path).isFile();
  } catch {
    return false;
  }
}

export interface Version {
  readonly major: number;
  readonly minor: number;
  readonly patch: number;
}

export function parseVersion(text: string): Version | undefined {
  const numbers = /(?:^|\s)(\d+)\.(\d+)\.(\d+)/.exec(text);
  if (numbers === null) {
    return undefined;
  }
  const [major, minor, patch] = numbers.slice(1, 4).map(Number);
  return major === undefined || minor === undefined || patch === undefined ? undefined : { major, minor, patch };
}

export function show({ major, minor, patch }: Version): string {
  return `${major}.${minor}.${patch}`;
}

/** What `guywire --version` answers. */
export async function askVersion(path: string): Promise<Version | undefined> {
  const answer = await new Promise<string>((resolve) => {
    execFile(path, ['--version'], { timeout: PATIENCE_MS, windowsHide: true }, (error, stdout) => {
      resolve(error === null ? stdout : '');
    });
  });
  return answer.startsWith('guywire ') ? parseVersion(answer) : undefined;
}

/**
 * What is to be said of a version; nothing where it fits. Extension and program are of one release: they fit where the
 * leading number that is not zero is the same (https://semver.org, points 4 and 8).
 */
export function misfit(found: Version | undefined, wanted: Version): string | undefined {
  const range = wanted.major === 0 ? `0.${wanted.minor}` : String(wanted.major);
  const wants = `this extension wants guywire ${range}, from ${show(wanted)} on`;
  if (found === undefined) {
    return `the program does not say a version of guywire; ${wants}`;
  }
  const sameLine = found.major === wanted.major && (wanted.major !== 0 || found.minor === wanted.minor);
  const older = sameLine && (found.minor < wanted.minor || (found.minor === wanted.minor && found.patch < wanted.patch));
  return sameLine && !older ? undefined : `the program is guywire ${show(found)}; ${wants}`;
}
