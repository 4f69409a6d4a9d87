// Translates numeric/block-kernel.wat to the bytes that core carries as text.
// With --check it only says whether the written file is up to date.
import { readFileSync, writeFileSync } from 'node:fs';
import wabt from 'wabt';

const at = (file) => new URL(`../packages/core/src/numeric/${file}`, import.meta.url);

const loop = (name, operands, body) => `
  (func (export "${name}") (param $out i32) (param $end i32)${operands.map((name) => ` (param $${name} i32)`).join('')}
    (loop $next
      (v128.store (local.get $out) ${body})
${operands.map((name) => `      (local.set $${name} (i32.add (local.get $${name}) (i32.const 16)))`).join('\n')}
      (br_if $next
        (i32.lt_u
          (local.tee $out (i32.add (local.get $out) (i32.const 16)))
          (local.get $end)))))`;

const binary = ['add', 'sub', 'mul', 'div', 'min', 'max'].map((name) =>
  loop(name, ['a', 'b'], `(f64x2.${name} (v128.load (local.get $a)) (v128.load (local.get $b)))`),
);
const unary = ['neg', 'abs', 'sqrt'].map((name) =>
  loop(name, ['a'], `(f64x2.${name} (v128.load (local.get $a)))`),
);

const source = readFileSync(at('block-kernel.wat'), 'utf8')
  .replace('@BINARY@', binary.join('\n'))
  .replace('@UNARY@', unary.join('\n'));
const { parseWat } = await wabt();
const module = parseWat('block-kernel.wat', source, { simd: true, mutable_globals: true });
module.validate({ simd: true });
const { buffer } = module.toBinary({ log: false, write_debug_names: false });
const text = Buffer.from(buffer).toString('base64');
const lines = text.match(/.{1,92}/g).map((line) => `  '${line}'`);
const written = `// Written by scripts/build-kernel.mjs from block-kernel.wat; do not edit. ${buffer.length} bytes.
export const kernelBase64: string =
${lines.join(' +\n')};
`;

if (process.argv.includes('--check')) {
  if (readFileSync(at('block-kernel-bytes.ts'), 'utf8') !== written) {
    console.error(
      'packages/core/src/numeric/block-kernel-bytes.ts is stale: node scripts/build-kernel.mjs',
    );
    process.exit(1);
  }
} else {
  writeFileSync(at('block-kernel-bytes.ts'), written);
  console.log(`block-kernel-bytes.ts: ${buffer.length} bytes`);
}
