// Entry '@offplate/core/expression': the only way in that loads mathjs.
export { type CompiledExpression, compileExpression } from './expression/compile.js';
export { compileLoop, type LoopText } from './expression/compile-loop.js';
export { compileStackFunction } from './expression/compile-stack-function.js';
