export interface Position {
  readonly line: number;
  readonly column: number;
}

export type PathStep = string | number;

/** Line and column of a character of a text, both counted from 1; lines end with LF, CRLF or CR. */
export function positionFinder(text: string): (offset: number) => Position {
  let starts: number[] | undefined;
  return (offset) => {
    starts ??= lineStarts(text);
    let low = 0;
    let high = starts.length - 1;
    while (low < high) {
      const middle = Math.ceil((low + high) / 2);
      if ((starts[middle] ?? 0) <= offset) low = middle;
      else high = middle - 1;
    }
    return { line: low + 1, column: offset - (starts[low] ?? 0) + 1 };
  };
}

function lineStarts(text: string): number[] {
  const starts = [0];
  for (let at = 0; at < text.length; at++) {
    const code = text.charCodeAt(at);
    if (code === 0x0a || (code === 0x0d && text.charCodeAt(at + 1) !== 0x0a)) starts.push(at + 1);
  }
  return starts;
}

/** `part.name`, `features[3].size`, `part["odd key"]`. */
export function pathText(path: readonly PathStep[]): string {
  let result = '';
  for (const step of path) {
    if (typeof step === 'number') result += `[${step}]`;
    else if (!/^[A-Za-z_$][\w$]*$/.test(step)) result += `[${JSON.stringify(step)}]`;
    else result += result === '' ? step : `.${step}`;
  }
  return result;
}
