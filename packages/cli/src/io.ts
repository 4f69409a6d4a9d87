/** All that a command may reach of the world outside; a test or another program brings its own. */
export interface Io {
  readonly stdout: Output;
  readonly stderr: Output;
  /** At most so many bytes of the standard input. */
  readonly readStdin: (maxBytes: number) => Promise<Uint8Array>;
  /** The standard input as it comes; aborting the signal ends it. */
  readonly stdinChunks: (stop: AbortSignal) => AsyncIterable<Uint8Array>;
  readonly stdinIsTerminal: boolean;
  readonly env: Readonly<Record<string, string | undefined>>;
  /** Writes all of the files or none. */
  readonly writeFiles: (files: readonly OutputFile[], force: boolean) => Promise<void>;
}

export interface Output {
  readonly isTerminal: boolean;
  /** Width of the terminal. */
  readonly columns?: number;
  write(chunk: string | Uint8Array): Promise<void>;
}

export interface OutputFile {
  readonly path: string;
  readonly bytes: Uint8Array;
  /** Make its folder when there is none. */
  readonly newFolder?: boolean;
}
