import type { PageFormat } from '@offplate/core';

const pointsPerMm = 72 / 25.4;

export function mm(length: number): number {
  return length * pointsPerMm;
}

/** Where text may stand on a page, in points from the top left corner. */
export interface PageFrame {
  readonly width: number;
  readonly height: number;
  readonly left: number;
  readonly right: number;
  readonly top: number;
  /** Lower edge of the foot line. */
  readonly bottom: number;
}

const sizesMm: Readonly<Record<PageFormat, readonly [number, number]>> = {
  A4: [210, 297],
  Letter: [215.9, 279.4],
};

/** The left margin is wider: sheets are punched and filed. */
export function pageFrame(format: PageFormat): PageFrame {
  const [widthMm, heightMm] = sizesMm[format];
  return {
    width: mm(widthMm),
    height: mm(heightMm),
    left: mm(18),
    right: mm(widthMm - 14),
    top: mm(14),
    bottom: mm(heightMm - 11),
  };
}
