/**
 * Numbers points so that equal ones share a number. Equal means equal in every bit of all three
 * coordinates (0 and -0 are one). Open addressing; the time of an entry does not grow with the table.
 */
export class VertexTable {
  #positions: Float64Array;
  #slots: Int32Array;
  #mask: number;
  #count = 0;
  readonly #singles = new Float32Array(3);
  readonly #bits = new Uint32Array(this.#singles.buffer);

  /** @param expected how many distinct points are likely; more are taken as well */
  constructor(expected: number) {
    const room = Math.max(16, expected);
    this.#positions = new Float64Array(3 * room);
    const slots = 2 ** Math.ceil(Math.log2(room * 1.6));
    this.#slots = new Int32Array(slots).fill(-1);
    this.#mask = slots - 1;
  }

  /** Number of the point. */
  add(xGiven: number, yGiven: number, zGiven: number): number {
    const x = xGiven + 0;
    const y = yGiven + 0;
    const z = zGiven + 0;
    const positions = this.#positions;
    const slots = this.#slots;
    let slot = this.#hash(x, y, z) & this.#mask;
    for (;;) {
      const known = slots[slot] as number;
      if (known < 0) break;
      const at = 3 * known;
      if (positions[at] === x && positions[at + 1] === y && positions[at + 2] === z) return known;
      slot = (slot + 1) & this.#mask;
    }
    const number = this.#count++;
    slots[slot] = number;
    const at = 3 * number;
    if (at + 3 > positions.length) this.#growPositions();
    this.#positions[at] = x;
    this.#positions[at + 1] = y;
    this.#positions[at + 2] = z;
    if (this.#count > 0.7 * slots.length) this.#growSlots();
    return number;
  }

  /** Coordinates of the points in the order of their numbers. */
  positions(): Float64Array {
    return this.#positions.length === 3 * this.#count
      ? this.#positions
      : this.#positions.slice(0, 3 * this.#count);
  }

  #hash(x: number, y: number, z: number): number {
    this.#singles[0] = x;
    this.#singles[1] = y;
    this.#singles[2] = z;
    const bits = this.#bits;
    let h = Math.imul(bits[0] as number, 0x9e3779b1);
    h = Math.imul(h ^ (h >>> 15) ^ (bits[1] as number), 0x85ebca6b);
    h = Math.imul(h ^ (h >>> 13) ^ (bits[2] as number), 0xc2b2ae35);
    return h ^ (h >>> 16);
  }

  #growPositions(): void {
    const wider = new Float64Array(2 * this.#positions.length);
    wider.set(this.#positions);
    this.#positions = wider;
  }

  #growSlots(): void {
    const slots = new Int32Array(2 * this.#slots.length).fill(-1);
    const mask = slots.length - 1;
    const positions = this.#positions;
    for (let number = 0; number < this.#count; number++) {
      const at = 3 * number;
      let slot =
        this.#hash(
          positions[at] as number,
          positions[at + 1] as number,
          positions[at + 2] as number,
        ) & mask;
      while ((slots[slot] as number) >= 0) slot = (slot + 1) & mask;
      slots[slot] = number;
    }
    this.#slots = slots;
    this.#mask = mask;
  }
}
