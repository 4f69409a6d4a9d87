// The little of WebAssembly that core uses, so that core needs no DOM types.

export type WebAssemblyExport = (...args: readonly number[]) => number;

interface WebAssemblyFace {
  Module: new (bytes: Uint8Array) => object;
  Instance: new (
    module: object,
    imports: Readonly<Record<string, Readonly<Record<string, unknown>>>>,
  ) => { readonly exports: Readonly<Record<string, WebAssemblyExport>> };
  Memory: new (size: { readonly initial: number }) => { readonly buffer: ArrayBuffer };
}

export interface LoadedModule {
  /** The memory that the module works on. */
  readonly buffer: ArrayBuffer;
  instantiate(
    outside: (layer: number, x: number) => number,
  ): Readonly<Record<string, WebAssemblyExport>>;
}

const alphabet = 'ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/';

export function bytesFromBase64(text: string): Uint8Array {
  const bytes: number[] = [];
  let bits = 0;
  let held = 0;
  for (const character of text) {
    const value = alphabet.indexOf(character);
    if (value < 0) break;
    bits = ((bits << 6) | value) & 0xffff;
    held += 6;
    if (held < 8) continue;
    held -= 8;
    bytes.push((bits >> held) & 255);
  }
  return Uint8Array.from(bytes);
}

/** Compiled modules by their text; a module is immutable, so sharing it cannot be observed. */
const compiled = new Map<string, object>();

/**
 * Compiles the module and makes its memory; undefined where WebAssembly, or its vector part, is
 * missing or forbidden.
 */
export function loadWebAssembly(base64: string, pages: number): LoadedModule | undefined {
  const { WebAssembly } = globalThis as { readonly WebAssembly?: WebAssemblyFace };
  if (WebAssembly === undefined) return undefined;
  try {
    const module = compiled.get(base64) ?? new WebAssembly.Module(bytesFromBase64(base64));
    compiled.set(base64, module);
    const memory = new WebAssembly.Memory({ initial: Math.ceil(pages) });
    return {
      buffer: memory.buffer,
      instantiate: (outside) =>
        new WebAssembly.Instance(module, { env: { memory, outside } }).exports,
    };
  } catch {
    return undefined;
  }
}
