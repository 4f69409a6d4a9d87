/** A point or direction. */
export type Vector = readonly [number, number, number];

export function dot(a: Vector, b: Vector): number {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

export function cross(a: Vector, b: Vector): Vector {
  return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
}

export function minus(a: Vector, b: Vector): Vector {
  return [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
}

/** a + s b. */
export function plus(a: Vector, s: number, b: Vector): Vector {
  return [a[0] + s * b[0], a[1] + s * b[1], a[2] + s * b[2]];
}

/** The vector with length 1; zero stays zero. */
export function unit(a: Vector): Vector {
  const length = Math.hypot(a[0], a[1], a[2]);
  return length === 0 ? [0, 0, 0] : [a[0] / length, a[1] / length, a[2] / length];
}

/** Two directions that stand square on a direction and on each other, the first one level. */
export function acrossOf(direction: Vector): readonly [Vector, Vector] {
  const level: Vector =
    Math.hypot(direction[0], direction[1]) < 1e-6 ? [1, 0, 0] : [-direction[1], direction[0], 0];
  const first = unit(level);
  return [first, unit(cross(direction, first))];
}

/** A vertex of a mesh. */
export function vertexAt(positions: Float64Array, vertex: number): Vector {
  return [
    positions[3 * vertex] as number,
    positions[3 * vertex + 1] as number,
    positions[3 * vertex + 2] as number,
  ];
}
