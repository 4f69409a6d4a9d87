import type { Problem } from '@offplate/core';

// Reasons for which a command ends without a result. `run` turns them into messages and exit codes.

/** Wrong command, option or value of an option. */
export class UsageError extends Error {
  override readonly name: string = 'UsageError';
}

/** A file that the user named cannot be read or written. */
export class FileError extends Error {
  override readonly name: string = 'FileError';
}

/** The user's data hold errors; all of them are reported. */
export class InvalidInput extends Error {
  override readonly name: string = 'InvalidInput';
  readonly problems: readonly Problem[];
  constructor(problems: readonly Problem[]) {
    super(`${problems.length} problems`);
    this.problems = problems;
  }
}

/** The message of a failed operation on a file, for a person; other errors are thrown on. */
export function fileFailure(error: unknown, what: string): FileError {
  if (!(error instanceof Error && 'code' in error && typeof error.code === 'string')) throw error;
  return new FileError(`${what}: ${failures[error.code] ?? error.code}`);
}

const failures: Readonly<Record<string, string>> = {
  ENOENT: 'there is no such folder',
  ENOTDIR: 'a part of the path is not a folder',
  EISDIR: 'it is a folder',
  EACCES: 'no permission',
  EPERM: 'no permission',
  EROFS: 'the file system is read-only',
  ENOSPC: 'the disk is full',
  EDQUOT: 'the disk quota is used up',
  ENAMETOOLONG: 'the name is too long',
  ELOOP: 'the link leads in a circle',
  ERR_INVALID_ARG_VALUE: 'the name is not one of a file',
};
