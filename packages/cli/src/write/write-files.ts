import { randomBytes } from 'node:crypto';
import {
  closeSync,
  copyFileSync,
  fchmodSync,
  fsyncSync,
  linkSync,
  mkdirSync,
  openSync,
  realpathSync,
  renameSync,
  rmdirSync,
  rmSync,
  type Stats,
  statSync,
  writeFileSync,
  writeSync,
} from 'node:fs';
import { basename, dirname, join, relative, resolve, sep } from 'node:path';
import process from 'node:process';
import { setImmediate } from 'node:timers/promises';
import { FileError, fileFailure } from '../failure.js';
import type { OutputFile } from '../io.js';

/**
 * Writes all of the files or none. Each goes to a temporary file in the folder of its target, is
 * flushed to the disk, and then takes the target's name in one step, so nobody ever sees half a
 * file. An existing file is replaced only with `force`.
 *
 * @throws FileError when a file exists or cannot be written; nothing is left behind then
 */
export async function writeFiles(files: readonly OutputFile[], force: boolean): Promise<void> {
  // The work is synchronous and short. Signals wait for its end, then act as if they came after it.
  const caught: NodeJS.Signals[] = [];
  const hold = (signal: NodeJS.Signals): void => {
    caught.push(signal);
  };
  const signals = ['SIGINT', 'SIGTERM', 'SIGHUP'] as const;
  for (const signal of signals) process.on(signal, hold);
  try {
    writeAllOrNone(files, force);
    await setImmediate();
  } finally {
    for (const signal of signals) process.off(signal, hold);
  }
  const [signal] = caught;
  if (signal !== undefined) process.kill(process.pid, signal);
}

/** A file on its way to its target, and how to take it back. */
interface Step {
  readonly path: string;
  readonly target: string;
  readonly temporary: string;
  /** Copy of what the target held, while other files may still fail. */
  readonly backup?: string;
}

function writeAllOrNone(files: readonly OutputFile[], force: boolean): void {
  const folders: string[] = [];
  const steps: Step[] = [];
  const placed: Step[] = [];
  try {
    for (const { path, newFolder } of files)
      if (newFolder === true) folders.push(...makeFolder(path));
    const devices = files.filter(({ path }) => isDevice(path));
    for (const file of files.filter((each) => !devices.includes(each)))
      steps.push(prepare(file, force, files.length > 1));
    for (const step of steps) {
      place(step, force);
      placed.push(step);
    }
    for (const { path, bytes } of devices) writeDevice(path, bytes);
  } catch (error) {
    for (const step of placed) takeBack(step);
    for (const step of steps) discard(step);
    for (const folder of folders.reverse()) rmdirSync(folder);
    throw error;
  }
  for (const step of steps) discard(step);
}

/** The folder of a file with the folders around it; returns those that were made, outermost first. */
function makeFolder(path: string): readonly string[] {
  try {
    const inner = resolve(dirname(path));
    const outer = mkdirSync(inner, { recursive: true });
    if (outer === undefined) return [];
    const made = [outer];
    for (const name of relative(outer, inner)
      .split(sep)
      .filter((part) => part !== ''))
      made.push(join(made.at(-1) ?? outer, name));
    return made;
  } catch (error) {
    throw fileFailure(error, `${dirname(path)} cannot be made`);
  }
}

function discard({ temporary, backup }: Step): void {
  rmSync(temporary, { force: true });
  if (backup !== undefined) rmSync(backup, { force: true });
}

function statusOf(path: string): Stats | undefined {
  try {
    return statSync(path, { throwIfNoEntry: false });
  } catch (error) {
    throw fileFailure(error, `${path} cannot be written`);
  }
}

/** A pipe or `/dev/null` is written to, never replaced. */
function isDevice(path: string): boolean {
  const status = statusOf(path);
  return status !== undefined && !status.isFile() && !status.isDirectory();
}

function writeDevice(path: string, bytes: Uint8Array): void {
  try {
    writeFileSync(path, bytes);
  } catch (error) {
    throw fileFailure(error, `${path} cannot be written`);
  }
}

function prepare({ path, bytes }: OutputFile, force: boolean, several: boolean): Step {
  const status = statusOf(path);
  if (status?.isDirectory() === true) throw new FileError(`${path} is a folder`);
  if (status !== undefined && !force) throw existing(path);
  try {
    const target = status === undefined ? path : realpathSync(path);
    const temporary = besides(target);
    const backup = status === undefined || !several ? undefined : besides(target);
    const step = { path, target, temporary, ...(backup === undefined ? {} : { backup }) };
    try {
      writeTemporary(temporary, bytes, status);
      if (backup !== undefined) copyFileSync(target, backup);
    } catch (error) {
      discard(step);
      throw error;
    }
    return step;
  } catch (error) {
    throw fileFailure(error, `${path} cannot be written`);
  }
}

function existing(path: string): FileError {
  return new FileError(`${path} exists; --force replaces it`);
}

function besides(target: string): string {
  const name = `.${basename(target)}.${randomBytes(6).toString('hex')}.tmp`;
  return join(dirname(target), name);
}

function writeTemporary(path: string, bytes: Uint8Array, replaced: Stats | undefined): void {
  const file = openSync(path, 'wx');
  try {
    for (let at = 0; at < bytes.length; ) at += writeSync(file, bytes, at);
    if (replaced !== undefined) fchmodSync(file, replaced.mode);
    fsyncSync(file);
  } finally {
    closeSync(file);
  }
}

function place({ path, target, temporary }: Step, force: boolean): void {
  try {
    if (force) renameSync(temporary, target);
    else linkNew(temporary, target);
  } catch (error) {
    if (error instanceof Error && 'code' in error && error.code === 'EEXIST') throw existing(path);
    throw fileFailure(error, `${path} cannot be written`);
  }
}

/** Gives a name to a file unless another file has come to bear it meanwhile. */
function linkNew(temporary: string, target: string): void {
  try {
    linkSync(temporary, target);
  } catch (error) {
    // file systems without hard links
    const code = error instanceof Error && 'code' in error ? error.code : undefined;
    if (code !== 'EPERM' && code !== 'ENOTSUP' && code !== 'EOPNOTSUPP' && code !== 'ENOSYS')
      throw error;
    renameSync(temporary, target);
  }
}

function takeBack({ target, backup }: Step): void {
  if (backup === undefined) rmSync(target, { force: true });
  else renameSync(backup, target);
}
