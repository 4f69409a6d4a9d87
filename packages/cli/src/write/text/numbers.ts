import { formatFixed, formatShort } from '@offplate/core';

export interface Currency {
  readonly currency: string;
  /** Digits of the minor unit: 2 for cents. */
  readonly minorDigits: number;
}

/** An amount in minor units without its currency, for a column that names it: `412.30`. */
export function amountText(minor: number, { minorDigits }: Currency): string {
  return formatFixed(minor / 10 ** minorDigits, minorDigits);
}

/** `EUR 412.30`. */
export function moneyText(minor: number, currency: Currency): string {
  return `${currency.currency} ${amountText(minor, currency)}`;
}

/** Minutes: whole from ten on, below with a decimal. */
export function minutesText(minutes: number): string {
  return formatShort(minutes, minutes < 10 ? 1 : 0);
}

export function daysText(days: number): string {
  return `${formatShort(days, 1)} working ${formatShort(days, 1) === '1' ? 'day' : 'days'}`;
}

/** A probability in per cent, cut and not rounded, so that 100 stands for certainty only. */
export function percentText(probability: number): string {
  if (probability >= 1) return '100';
  return formatFixed(Math.floor(probability * 1e4) / 100, 2);
}

/** A count with its noun: `1 part`, `8 parts`. */
export function counted(count: number, one: string, many: string = `${one}s`): string {
  return `${count} ${count === 1 ? one : many}`;
}
