import { type FunctionTree, treeText } from '@offplate/core';
import { compileExpression } from '@offplate/core/expression';
import fc from 'fast-check';
import { create, parseDependencies } from 'mathjs/number';
import { describe, expect, test } from 'vitest';

/** What the oracle says of a text; the parser of mathjs 15 builds the nodes. */
interface OracleNode {
  readonly type: string;
  readonly value?: unknown;
  readonly name?: string;
  readonly op?: string;
  readonly fn?: { readonly name?: string };
  readonly content?: OracleNode;
  readonly args?: readonly OracleNode[];
}

const { parse } = create({ ...parseDependencies });

const operations: Readonly<Record<string, 'add' | 'subtract' | 'multiply' | 'divide' | 'power'>> = {
  '+': 'add',
  '-': 'subtract',
  '*': 'multiply',
  '/': 'divide',
  '^': 'power',
};

const apply = (
  operation: Extract<FunctionTree, { kind: 'apply' }>['operation'],
  ...operands: FunctionTree[]
): FunctionTree => ({ kind: 'apply', operation, operands });

function fromOracle(node: OracleNode): FunctionTree {
  const args = (node.args ?? []).map(fromOracle);
  const [first, second] = args;
  if (node.type === 'ConstantNode') return { kind: 'number', value: Number(node.value) };
  if (node.type === 'SymbolNode') {
    if (node.name === 'pi') return { kind: 'number', value: Math.PI };
    if (node.name === 'deg') return { kind: 'number', value: Math.PI / 180 };
    return { kind: 'variable', name: node.name ?? '' };
  }
  if (node.type === 'ParenthesisNode' && node.content !== undefined)
    return fromOracle(node.content);
  if (node.type === 'OperatorNode' && first !== undefined) {
    if (second === undefined) return node.op === '-' ? apply('negate', first) : first;
    const operation = operations[node.op ?? ''];
    if (operation !== undefined) return apply(operation, first, second);
  }
  if (node.type === 'FunctionNode' && first !== undefined) {
    const name = node.fn?.name ?? '';
    if (name === 'hypot') {
      const squares = args.map((arg) => apply('power', arg, { kind: 'number', value: 2 }));
      return apply(
        'sqrt',
        squares.reduce((sum, next) => apply('add', sum, next)),
      );
    }
    const known = name as 'sqrt' | 'min';
    return args.length > 2
      ? args.reduce((whole, next) => apply(known, whole, next))
      : apply(known, ...args);
  }
  throw new Error(`not in the subset: ${node.type}`);
}

/** The oracle reads `3.*a` as its element-wise product, which the subset does not have. */
const oracle = (text: string): FunctionTree =>
  fromOracle(
    parse(text.replace(/[\r\n\t]/g, ' ').replace(/\.(?=[*/^])/g, '. ')) as unknown as OracleNode,
  );

const space = fc.constantFrom('', '', ' ', '  ', '\n', '\t');
const numberText = fc.constantFrom(
  '0',
  '1',
  '2',
  '7.5',
  '.25',
  '3.',
  '1e3',
  '2.5E-2',
  '4e+1',
  '12',
);
const nameText = fc.constantFrom(
  'a',
  'b2',
  'x_1',
  'e',
  'i',
  'pi',
  'deg',
  'α',
  'Größe',
  'sinus',
  'tomin',
);
const one = ['sqrt', 'abs', 'sin', 'cos', 'tan', 'asin', 'acos', 'atan', 'exp', 'log'];

/** Texts of the documented grammar, with signs, spaces and parentheses where they may stand. */
const { text: expressionText } = fc.letrec<{ text: string; operand: string; list: string[] }>(
  (tie) => ({
    text: fc.oneof(
      { depthSize: 'small', withCrossShrink: true },
      tie('operand'),
      fc
        .tuple(
          tie('text'),
          space,
          fc.constantFrom('+', '-', '*', '/', '^', '^'),
          space,
          tie('text'),
        )
        .map((parts) => parts.join('')),
    ),
    operand: fc.oneof(
      { depthSize: 'small', withCrossShrink: true },
      numberText,
      nameText,
      fc.tuple(fc.constantFrom('-', '+', '- ', '--', '-+'), tie('operand')).map((p) => p.join('')),
      fc.tuple(space, tie('text'), space).map(([l, t, r]) => `(${l}${t}${r})`),
      fc.tuple(fc.constantFrom(...one), space, tie('text')).map(([f, s, t]) => `${f}${s}(${t})`),
      fc
        .tuple(fc.constantFrom('atan2', 'min', 'max', 'hypot'), tie('text'), space, tie('text'))
        .map(([f, a, s, b]) => `${f}(${a},${s}${b})`),
      fc
        .tuple(
          fc.constantFrom('min', 'max', 'hypot'),
          fc.array(tie('operand'), { minLength: 3, maxLength: 5 }),
        )
        .map(([f, list]) => `${f}(${list.join(', ')})`),
    ),
    list: fc.array(tie('operand')),
  }),
);

describe('the parser against that of mathjs', () => {
  test('reads every expression of the grammar into the same tree', () => {
    let compared = 0;
    fc.assert(
      fc.property(expressionText, (text) => {
        const compiled = compileExpression(text);
        if (!compiled.ok) {
          // a constant part without a value, an exponent or a nesting beyond the limits
          const said = compiled.problems.map(({ message }) => message).join('; ');
          expect(said).toMatch(/finite|exponent|nested|domain|too many|too large/);
          return;
        }
        compared++;
        expect(compiled.tree).toEqual(oracle(text));
      }),
      { seed: 11, numRuns: 3000 },
    );
    expect(compared).toBeGreaterThan(2000);
  });

  test('accepts nothing from loose tokens that mathjs reads in another way', () => {
    const token = fc.oneof(
      numberText,
      nameText,
      fc.constantFrom('+', '-', '*', '/', '^', '(', ')', ',', 'min', 'sqrt', ' '),
    );
    let accepted = 0;
    fc.assert(
      fc.property(fc.array(token, { minLength: 1, maxLength: 7 }), (tokens) => {
        const text = tokens.join('');
        const compiled = compileExpression(text);
        if (!compiled.ok) return;
        accepted++;
        expect(compiled.tree).toEqual(oracle(text));
      }),
      { seed: 12, numRuns: 20_000 },
    );
    expect(accepted).toBeGreaterThan(1000);
  });

  test('the text of a tree reads back as the same tree', () => {
    fc.assert(
      fc.property(expressionText, (text) => {
        const compiled = compileExpression(text);
        if (!compiled.ok) return;
        const again = compileExpression(treeText(compiled.tree));
        if (!again.ok) expect(again.problems[0]?.message).toMatch(/nested|characters/);
        else expect(again.tree).toEqual(compiled.tree);
      }),
      { seed: 13, numRuns: 1000 },
    );
  });
});
