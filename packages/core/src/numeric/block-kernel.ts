import { kernelBase64 } from './block-kernel-bytes.js';
import { plainLoops } from './block-kernel-plain.js';
import { wasmLoops } from './block-kernel-wasm.js';
import {
  type BlockKernel,
  blockLength,
  countsAt,
  layersAt,
  pageBytes,
  registerBytes,
  stateAt,
} from './block-layout.js';
import { stateWords } from './random.js';
import { loadWebAssembly } from './web-assembly.js';
import { makeZiggurat } from './ziggurat.js';

/** `bins` must be a multiple of 4. Without WebAssembly, or with `make: 'js'`, the plain loops. */
export function makeKernel(
  registerCount: number,
  bins: number,
  make: 'wasm' | 'js' = 'wasm',
): BlockKernel {
  const registersAt = countsAt + bins * 4;
  const bytes = registersAt + registerCount * registerBytes;
  const ziggurat = makeZiggurat();
  const wasm = make === 'js' ? undefined : loadWebAssembly(kernelBase64, bytes / pageBytes);
  const buffer = wasm?.buffer ?? new ArrayBuffer(bytes);
  const state = new Int32Array(buffer, stateAt, stateWords);
  new Float64Array(buffer, layersAt, ziggurat.layers.length).set(ziggurat.layers);
  const registers = Array.from(
    { length: registerCount },
    (_, i) => new Float64Array(buffer, registersAt + i * registerBytes, blockLength),
  );
  const common = {
    registers,
    state,
    counts: new Uint32Array(buffer, countsAt, bins),
    nextNormal: () => ziggurat.next(state),
  };
  const loops =
    wasm === undefined
      ? plainLoops(buffer, common, ziggurat.outside)
      : wasmLoops(
          wasm.instantiate((layer, x) => ziggurat.outside(state, layer, x)),
          buffer,
          bins,
          (i) => registersAt + i * registerBytes,
        );
  return { make: wasm === undefined ? 'js' : 'wasm', ...common, ...loops };
}
