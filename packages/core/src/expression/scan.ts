import type { Problem } from '../problems/problem.js';
import {
  functionNames,
  nameLimit,
  nestingLimit,
  problemLimit,
  refusedNames,
  textLimit,
} from './limits.js';

/** A function call in the text: where its name stands. */
interface Call {
  readonly name: string;
  /** Counts from 1. */
  readonly column: number;
}

/** A piece of the text with its column, counted from 1. */
export interface Token {
  readonly kind: (typeof kinds)[number];
  readonly text: string;
  readonly column: number;
}

// Letters are Latin or Greek, as in the full grammar.
const letter = 'A-Za-z_\\u00c0-\\u00d6\\u00d8-\\u00f6\\u00f8-\\u024f\\u0391-\\u03a9\\u03b1-\\u03c9';
const kinds = ['number', 'name', 'sign', 'open', 'close', 'comma'] as const;
const tokenPattern = (): RegExp =>
  new RegExp(
    `[ \\t\\r\\n]+|(?<number>(?:\\d+\\.?\\d*|\\.\\d+)(?:[eE][+-]?\\d+)?)|(?<name>[${letter}][${letter}0-9]*)|(?<sign>[-+*/^])|(?<open>\\()|(?<close>\\))|(?<comma>,)`,
    'uy',
  );

/**
 * Reads the text token by token before the parser sees it: only numbers, names, `+ - * / ^`,
 * parentheses and commas pass, sizes and nesting are bounded, every operator is written out. Returns
 * the tokens, which without problems are an expression, and all problems with their columns.
 */
export function scanExpression(
  text: string,
  path: string | undefined,
): {
  readonly tokens: readonly Token[];
  readonly problems: readonly Problem[];
} {
  const problems: Problem[] = [];
  const report = (column: number, message: string, value?: string, accept?: string): void => {
    if (problems.length >= problemLimit) return;
    problems.push({
      code: 'bad-expression',
      place: { column, ...(path === undefined ? {} : { path }) },
      message,
      ...(value === undefined ? {} : { value }),
      ...(accept === undefined ? {} : { accept }),
    });
  };
  if (text.length > textLimit) {
    problems.push({
      code: 'too-large',
      place: { column: textLimit + 1, ...(path === undefined ? {} : { path }) },
      message: `the expression is ${text.length} characters long`,
      accept: `at most ${textLimit} characters`,
    });
    return { tokens: [], problems };
  }
  const tokens = readTokens(text, report);
  if (problems.length === 0 && tokens.length === 0) report(1, 'the expression is empty');
  checkNesting(tokens, report);
  checkNeighbours(tokens, report);
  return { tokens, problems };
}

type Report = (column: number, message: string, value?: string, accept?: string) => void;

const allowed = 'numbers, names, + - * / ^, parentheses and commas';

function readTokens(text: string, report: Report): readonly Token[] {
  const tokens: Token[] = [];
  const pattern = tokenPattern();
  let position = 0;
  while (position < text.length) {
    pattern.lastIndex = position;
    const groups = pattern.exec(text)?.groups;
    const column = position + 1;
    if (groups === undefined) {
      const character = String.fromCodePoint(text.codePointAt(position) ?? 0);
      report(column, 'this character has no meaning in an expression', character, allowed);
      position += character.length;
      continue;
    }
    for (const kind of kinds) {
      const found = groups[kind];
      if (found !== undefined) tokens.push({ kind, text: found, column });
    }
    position = pattern.lastIndex;
  }
  return tokens;
}

/** Bounds what the recursive parser goes down: parentheses, signs in a row, chained powers. */
function checkNesting(tokens: readonly Token[], report: Report): void {
  let open = 0;
  let signs = 0;
  let powers = 0;
  let deepest = 0;
  tokens.forEach((token, index) => {
    if (token.kind === 'open') open++;
    if (token.kind === 'close') {
      open--;
      if (open < 0) {
        report(token.column, 'this parenthesis closes nothing', token.text);
        open = 0;
      }
    }
    const isPrefix = token.kind === 'sign' && !isOperand(tokens[index - 1]);
    // operators between two operands at any level end a run; a chained power does not
    if (isPrefix) signs++;
    else if (token.kind === 'sign') signs = 0;
    if (token.text === '^') powers++;
    else if (token.kind === 'sign' && !isPrefix) powers = 0;
    const depth = open + signs + powers;
    if (depth > nestingLimit && deepest <= nestingLimit) {
      report(
        token.column,
        'the expression is nested too deeply',
        token.text,
        `at most ${nestingLimit} levels`,
      );
    }
    deepest = Math.max(deepest, depth);
  });
  if (open > 0) {
    const last = tokens[tokens.length - 1];
    const end = (last?.column ?? 1) + (last?.text.length ?? 0);
    report(end, `${open} parenthesis(es) not closed`, undefined, ')');
  }
}

const isOperand = (token: Token | undefined): boolean =>
  token?.kind === 'number' || token?.kind === 'name' || token?.kind === 'close';

/**
 * Checks names, that operands and operators take turns (no implied multiplication), and how many
 * arguments each call has, so that nothing wrong reaches the parser.
 */
function checkNeighbours(tokens: readonly Token[], report: Report): void {
  /** Open parentheses; those of a call count their arguments. */
  const open: { readonly call?: Call; commas: number }[] = [];
  tokens.forEach((token, index) => {
    const before = tokens[index - 1];
    const isCall = token.kind === 'name' && tokens[index + 1]?.kind === 'open';
    checkTurn(token, before, report);
    if (token.kind === 'number' && !Number.isFinite(Number(token.text))) {
      report(token.column, 'the number is too large', token.text);
    } else if (token.kind === 'name') {
      checkName(token, isCall, report);
    } else if (token.kind === 'open') {
      const call =
        before?.kind === 'name' ? { name: before.text, column: before.column } : undefined;
      open.push({ commas: 0, ...(call === undefined ? {} : { call }) });
    } else if (token.kind === 'comma') {
      const inner = open[open.length - 1];
      if (inner?.call === undefined) {
        report(token.column, 'a comma separates arguments of a function only', ',');
      } else inner.commas++;
    } else if (token.kind === 'close') {
      const closed = open.pop();
      if (closed?.call !== undefined) checkArguments(closed.call, closed.commas + 1, report);
    }
  });
  const last = tokens[tokens.length - 1];
  if (last !== undefined && !isOperand(last)) {
    report(last.column + last.text.length, 'a value is missing at the end', last.text);
  }
}

function checkTurn(token: Token, before: Token | undefined, report: Report): void {
  const starts = token.kind === 'number' || token.kind === 'name' || token.kind === 'open';
  const isSign = token.text === '+' || token.text === '-';
  if (starts) {
    if (isOperand(before) && !(before?.kind === 'name' && token.kind === 'open')) {
      report(token.column, 'an operator is missing here', token.text, '+ - * / or ^');
    }
  } else if (!isSign && !isOperand(before)) {
    report(token.column, 'a value is missing here', token.text, 'a number, a name or (');
  }
}

function checkName(token: Token, isCall: boolean, report: Report): void {
  const { text, column } = token;
  if (text.length > nameLimit) {
    report(column, 'the name is too long', text, `at most ${nameLimit} characters`);
  } else if (refusedNames.has(text) || text.startsWith('__')) {
    report(column, 'this name is reserved', text, 'another name');
  } else if (isCall && !functionNames.has(text)) {
    report(column, 'unknown function', text, [...functionNames.keys()].join(', '));
  } else if (!isCall && functionNames.has(text)) {
    report(column, `the function ${text} needs its arguments`, text, `${text}(...)`);
  }
}

function checkArguments(call: Call, count: number, report: Report): void {
  const known = functionNames.get(call.name);
  if (known === undefined || (count >= known.least && count <= known.most)) return;
  const wanted = known.least === known.most ? `${known.least}` : `${known.least} to ${known.most}`;
  report(call.column, `${call.name} has ${count} argument(s)`, call.name, wanted);
}
