export type Polyline = readonly (readonly [x: number, y: number])[];

/** Ends this close are one point, mm. */
const snapMm = 0.03;
/** A point this close to the line between its neighbours is left out, mm. */
const flatMm = 0.02;

/** Joins pieces that meet end to end into long lines and leaves out points that bend nothing. */
export function chained(pieces: readonly Polyline[]): readonly Polyline[] {
  const key = ([x, y]: readonly [number, number]): string =>
    `${Math.round(x / snapMm)}:${Math.round(y / snapMm)}`;
  const atPoint = new Map<string, number[]>();
  pieces.forEach((piece, index) => {
    for (const end of [piece[0], piece.at(-1)]) {
      if (end === undefined) continue;
      const list = atPoint.get(key(end));
      if (list === undefined) atPoint.set(key(end), [index]);
      else list.push(index);
    }
  });
  const used = new Set<number>();
  const grow = (line: (readonly [number, number])[]): void => {
    for (;;) {
      const end = line.at(-1);
      if (end === undefined) return;
      const near = atPoint.get(key(end)) ?? [];
      // where more than two meet, lines end
      const next = near.length === 2 ? near.find((index) => !used.has(index)) : undefined;
      const piece = next === undefined ? undefined : pieces[next];
      if (next === undefined || piece === undefined) return;
      used.add(next);
      const first = piece[0];
      const onward = first !== undefined && key(first) === key(end);
      line.push(...(onward ? piece : [...piece].reverse()).slice(1));
    }
  };
  const lines: Polyline[] = [];
  pieces.forEach((piece, index) => {
    if (used.has(index)) return;
    used.add(index);
    const line = [...piece];
    grow(line);
    line.reverse();
    grow(line);
    lines.push(simplified(line));
  });
  return lines;
}

function simplified(line: Polyline): Polyline {
  const kept = line.slice(0, 1);
  for (let index = 1; index < line.length - 1; index++) {
    const [before, here, after] = [kept.at(-1), line[index], line[index + 1]];
    if (before === undefined || here === undefined || after === undefined) continue;
    const [dx, dy] = [after[0] - before[0], after[1] - before[1]];
    const length = Math.hypot(dx, dy);
    const off = Math.abs(dx * (here[1] - before[1]) - dy * (here[0] - before[0]));
    if (length < 1e-9 || off / length > flatMm) kept.push(here);
  }
  const last = line.at(-1);
  return last === undefined ? kept : [...kept, last];
}
