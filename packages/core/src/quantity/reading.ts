import type { Finding } from '../problems/finding.js';

/**
 * What every reader of a short text returns: the value with what is worth saying about it, or the
 * one fault that stopped the reading. Readers never throw and never return NaN.
 */
export type Reading<T> =
  | { readonly ok: true; readonly value: T; readonly findings: readonly Finding[] }
  | Fault;

export interface Fault {
  readonly ok: false;
  /** Character of the text where the reading stopped, counted from 1. */
  readonly column: number;
  readonly message: string;
  /** What would be accepted there. */
  readonly accept: string;
}

/** How the numbers of a text are written. */
export interface NumberOptions {
  /** Numbers are written `12,5`. Without it a comma is a fault, never a separator. */
  readonly decimalComma?: boolean;
}

export function fault(column: number, message: string, accept: string): Fault {
  return { ok: false, column, message, accept };
}

export function read<T>(value: T, findings: readonly Finding[] = []): Reading<T> {
  return { ok: true, value, findings };
}
