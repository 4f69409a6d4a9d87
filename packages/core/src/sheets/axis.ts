import { shortest } from './print-numbers.js';
import type { Axis } from './types.js';

/** An axis from 0 past `most`, with round steps: about so many of them. */
export function axisFromZero(label: string, most: number, steps: number): Axis {
  const step = roundStep(most / steps);
  const count = Math.max(1, Math.ceil(most / step - 1e-9));
  const decimals = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
  return {
    label,
    from: 0,
    to: count * step,
    ticks: Array.from({ length: count + 1 }, (_, index) => ({
      at: index * step,
      text: shortest(index * step, decimals),
    })),
  };
}

/** The next of 1, 2, 5 times a power of ten. */
function roundStep(least: number): number {
  if (!(least > 0)) return 1;
  const power = 10 ** Math.floor(Math.log10(least));
  const factor = [1, 2, 5].find((each) => each * power >= least * (1 - 1e-9)) ?? 10;
  return factor * power;
}

/** Quantities by their logarithm, each with a tick; every doubling is as wide as the next. */
export function quantityAxis(label: string, quantities: readonly number[]): Axis {
  const ticks = [...new Set(quantities)]
    .sort((a, b) => a - b)
    .map((quantity) => ({ at: Math.log2(quantity), text: String(quantity) }));
  return { label, from: ticks[0]?.at ?? 0, to: ticks.at(-1)?.at ?? 0, ticks };
}
