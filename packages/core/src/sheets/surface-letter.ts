/** A, B ... Z, AA, AB ... */
export function surfaceLetter(index: number): string {
  const letter = String.fromCharCode(65 + (index % 26));
  return index < 26 ? letter : surfaceLetter(Math.floor(index / 26) - 1) + letter;
}
