/** Reads the standard input to its end, or until it is longer than a number of bytes. */
export async function readStdin(maxBytes: number): Promise<Uint8Array> {
  const chunks: Uint8Array[] = [];
  let length = 0;
  for await (const chunk of process.stdin) {
    const bytes: Uint8Array = typeof chunk === 'string' ? Buffer.from(chunk) : chunk;
    chunks.push(bytes);
    length += bytes.length;
    if (length >= maxBytes) break;
  }
  return Buffer.concat(chunks).subarray(0, maxBytes);
}
