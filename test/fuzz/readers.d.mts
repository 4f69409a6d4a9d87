export interface FuzzedReader {
  readonly name: string;
  readonly weight: number;
  readonly make: (pick: (below: number) => number) => string | Uint8Array;
  /** Was the input accepted? Throws when something does not hold that must. */
  readonly read: (input: string | Uint8Array) => boolean;
}

export function readers(modules: Readonly<Record<string, object>>): readonly FuzzedReader[];
