// Entry '@offplate/core/expression': formulas as text.
export { type CompiledExpression, compileExpression } from './expression/compile.js';
export { compileLoop, type LoopText } from './expression/compile-loop.js';
export { compileStackFunction } from './expression/compile-stack-function.js';
