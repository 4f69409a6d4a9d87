import type { DrawingMark, PointMm } from './types.js';

/** Mean width of a character in the body type of a drawing, with some to spare, mm. */
const characterMm = 1.65;

/**
 * A label beside a row of a drawing, at its left edge and in one line: what is too long for the room
 * is cut off with three dots, for it stands in full in a table of the same sheet.
 */
export function rowLabel(text: string, at: PointMm, roomMm: number): DrawingMark {
  const most = Math.max(4, Math.floor(roomMm / characterMm));
  const characters = [...text];
  const fits = characters.length <= most;
  return {
    kind: 'text',
    at,
    text: fits
      ? text
      : `${characters
          .slice(0, most - 1)
          .join('')
          .trimEnd()}…`,
    align: 'left',
    style: 'body',
  };
}
