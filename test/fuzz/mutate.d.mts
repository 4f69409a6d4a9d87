export function pickFrom(seed: number): (below: number) => number;
