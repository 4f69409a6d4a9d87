import { type BinaryOperation, type BlockKernel, blockLength } from '../numeric/block-layout.js';
import { applyOperation, type Step, type TreeProgram } from './tree-program.js';

const vectorBinary: Partial<Record<Step['operation'], BinaryOperation>> = {
  add: 'add',
  subtract: 'sub',
  multiply: 'mul',
  divide: 'div',
  min: 'min',
  max: 'max',
};

const vectorUnary = { negate: 'neg', abs: 'abs', sqrt: 'sqrt' } as const;

/** Where each slot of a program lives among a kernel's registers. */
export interface RegisterPlan {
  /** Registers that the program needs, the variables' first. */
  readonly count: number;
  readonly constants: readonly number[];
  /** Register of each step's result, in the order of the steps. */
  readonly steps: readonly number[];
  readonly result: number;
  /** One register that no slot uses. */
  readonly scratch: number;
}

/**
 * Variables keep their registers; a step's register is used again once nothing reads it any more,
 * so that a long program works on little memory.
 */
export function planRegisters(program: TreeProgram): RegisterPlan {
  const firstStep = program.variables.length + program.constants.length;
  const lastUse = new Map<number, number>();
  program.steps.forEach((step, index) => {
    lastUse.set(step.left, index);
    lastUse.set(step.operation === 'whole-power' ? step.left : step.right, index);
  });
  lastUse.set(program.result, program.steps.length);
  const registers: number[] = Array.from({ length: firstStep }, (_, slot) => slot);
  const free: number[] = [];
  let count = firstStep;
  program.steps.forEach((step, index) => {
    const slot = firstStep + index;
    registers[slot] = free.pop() ?? count++;
    const operands = new Set([
      step.left,
      step.operation === 'whole-power' ? step.left : step.right,
    ]);
    for (const operand of operands) {
      if (operand >= firstStep && lastUse.get(operand) === index)
        free.push(registers[operand] ?? 0);
    }
  });
  return {
    count: count + 1,
    constants: program.constants.map((_, i) => program.variables.length + i),
    steps: program.steps.map((_, index) => registers[firstStep + index] ?? 0),
    result: registers[program.result] ?? 0,
    scratch: count,
  };
}

/** Writes the program's constants to their registers, once for all blocks. */
export function loadConstants(program: TreeProgram, plan: RegisterPlan, kernel: BlockKernel): void {
  program.constants.forEach((value, i) => {
    kernel.registers[plan.constants[i] ?? 0]?.fill(value);
  });
}

/** Runs the program on a block whose variables stand in the first registers. */
export function runBlock(program: TreeProgram, plan: RegisterPlan, kernel: BlockKernel): void {
  const firstStep = program.variables.length + program.constants.length;
  const registerOf = (slot: number): number =>
    slot < firstStep ? slot : (plan.steps[slot - firstStep] ?? 0);
  program.steps.forEach((step, index) => {
    const out = plan.steps[index] ?? 0;
    const left = registerOf(step.left);
    if (step.operation === 'whole-power') {
      powerBlock(kernel, out, left, step.exponent, plan.scratch);
      return;
    }
    const right = registerOf(step.right);
    const vector = vectorBinary[step.operation];
    if (vector !== undefined) kernel.binary(vector, out, left, right);
    else if (step.operation === 'negate' || step.operation === 'abs' || step.operation === 'sqrt') {
      kernel.unary(vectorUnary[step.operation], out, left);
    } else {
      const to = kernel.registers[out];
      const a = kernel.registers[left];
      const b = kernel.registers[right];
      if (to !== undefined && a !== undefined && b !== undefined) {
        functionBlock(step.operation, to, a, b);
      }
    }
  });
}

/** `wholePower` on a block: the same multiplications in the same order. */
function powerBlock(
  kernel: BlockKernel,
  out: number,
  base: number,
  exponent: number,
  scratch: number,
): void {
  const to = kernel.registers[out];
  const square = kernel.registers[scratch];
  const from = kernel.registers[base];
  if (to === undefined || square === undefined || from === undefined) return;
  if (exponent === 2) {
    kernel.binary('mul', out, base, base);
    return;
  }
  square.set(from);
  to.fill(1);
  for (let left = Math.abs(exponent); ; ) {
    if (left % 2 === 1) kernel.binary('mul', out, out, scratch);
    left = Math.floor(left / 2);
    if (left === 0) break;
    kernel.binary('mul', scratch, scratch, scratch);
  }
  if (exponent > 0) return;
  square.fill(1);
  kernel.binary('div', out, scratch, out);
}

/** One loop for each function, so that the engine can compile the call into it. */
function functionBlock(
  operation: Exclude<Step['operation'], 'whole-power'>,
  out: Float64Array,
  a: Float64Array,
  b: Float64Array,
): void {
  switch (operation) {
    case 'sin':
      for (let i = 0; i < blockLength; i++) out[i] = Math.sin(a[i] ?? 0);
      return;
    case 'cos':
      for (let i = 0; i < blockLength; i++) out[i] = Math.cos(a[i] ?? 0);
      return;
    case 'tan':
      for (let i = 0; i < blockLength; i++) out[i] = Math.tan(a[i] ?? 0);
      return;
    case 'asin':
      for (let i = 0; i < blockLength; i++) out[i] = Math.asin(a[i] ?? 0);
      return;
    case 'acos':
      for (let i = 0; i < blockLength; i++) out[i] = Math.acos(a[i] ?? 0);
      return;
    case 'atan':
      for (let i = 0; i < blockLength; i++) out[i] = Math.atan(a[i] ?? 0);
      return;
    case 'exp':
      for (let i = 0; i < blockLength; i++) out[i] = Math.exp(a[i] ?? 0);
      return;
    case 'log':
      for (let i = 0; i < blockLength; i++) out[i] = Math.log(a[i] ?? 0);
      return;
    default:
      for (let i = 0; i < blockLength; i++)
        out[i] = applyOperation(operation, a[i] ?? 0, b[i] ?? 0);
  }
}
