// Entry '@offplate/core/expression': the only way in that loads mathjs.
export { type CompiledExpression, compileExpression } from './expression/compile.js';
