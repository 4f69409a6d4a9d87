/**
 * Rounds every number of a plan to nine significant digits, at most six decimals, so that the last
 * bits of floating point, which may differ between platforms, never reach the output.
 */
export function tidy<T>(value: T): T {
  if (typeof value === 'number') return tidyNumber(value) as T;
  if (Array.isArray(value)) return value.map((item) => tidy(item)) as T;
  if (value !== null && typeof value === 'object')
    return Object.fromEntries(
      Object.entries(value)
        .filter(([, item]) => item !== undefined)
        .map(([key, item]) => [key, tidy(item)]),
    ) as T;
  return value;
}

export function tidyNumber(value: number): number {
  if (!Number.isFinite(value) || Number.isInteger(value)) return value === 0 ? 0 : value;
  const rounded = Math.round(Number(value.toPrecision(9)) * 1e6) / 1e6;
  return rounded === 0 ? 0 : rounded;
}
