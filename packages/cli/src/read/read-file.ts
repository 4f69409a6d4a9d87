import { readFileSync, realpathSync, statSync } from 'node:fs';
import { sep } from 'node:path';
import { type Finding, maxJobTextLength, type Problem } from '@offplate/core';
import { decodeText } from './decode-text.js';

/** Largest file that is read, bytes. UTF-16 needs two for each character. */
export const maxFileBytes: number = 2 * maxJobTextLength;

export interface ReadText {
  /** Absent when the file could not be read as text; a problem then says why. */
  readonly text?: string;
  readonly problems: readonly Problem[];
  readonly findings: readonly Finding[];
}

const failures: Readonly<Record<string, string>> = {
  ENOENT: 'there is no such file or folder',
  ENOTDIR: 'a part of the path is not a folder',
  EACCES: 'it may not be read',
  EPERM: 'it may not be read',
  ELOOP: 'the link leads in a circle',
  ENAMETOOLONG: 'the name is too long',
  ERR_INVALID_ARG_VALUE: 'the name is not one of a file',
};

/** The problem for a failed file operation; any other error is thrown on. */
export function fileProblem(error: unknown, path: string, accept: string): Problem {
  if (!(error instanceof Error && 'code' in error && typeof error.code === 'string')) throw error;
  const message = failures[error.code] ?? `it cannot be read (${error.code})`;
  return { code: 'file-missing', place: { file: path }, message, value: path, accept };
}

/** Reads a text file of any usual encoding. Its size is looked at before it is read. */
export function readTextFile(path: string): ReadText {
  const accept = 'a text file';
  try {
    const stat = statSync(path);
    if (stat.isFile())
      return stat.size > maxFileBytes
        ? tooLarge(path, stat.size)
        : textOf(readFileSync(path), path);
    const message = 'this is not a file';
    return failed({ code: 'file-missing', place: { file: path }, message, value: path, accept });
  } catch (error) {
    return failed(fileProblem(error, path, accept));
  }
}

/** Decodes bytes that came from a file or from the standard input. */
export function textOf(bytes: Uint8Array, name: string): ReadText {
  if (bytes.length > maxFileBytes) return tooLarge(name, bytes.length);
  const decoded = decodeText(bytes, name);
  if ('problem' in decoded) return failed(decoded.problem);
  return { text: decoded.text, problems: [], findings: decoded.findings };
}

function failed(problem: Problem): ReadText {
  return { problems: [problem], findings: [] };
}

function tooLarge(name: string, size: number): ReadText {
  const accept = `at most ${maxFileBytes} bytes`;
  const message = 'the file is too large';
  return failed({
    code: 'too-large',
    place: { file: name },
    message,
    value: `${size} bytes`,
    accept,
  });
}

/** Reads a text file that must lie in a folder, links followed. */
export function readTextInside(path: string, folder: string, accept: string): ReadText {
  try {
    const root = realpathSync(folder);
    const inside = realpathSync(path).startsWith(root.endsWith(sep) ? root : `${root}${sep}`);
    if (inside) return readTextFile(path);
  } catch (error) {
    return failed(fileProblem(error, path, accept));
  }
  const message = 'the file lies outside the folder';
  return failed({ code: 'file-missing', place: { file: path }, message, value: path, accept });
}
