/** A JSON document as it is printed; it names its schema in the field `schema`. */
export function jsonText<T extends { readonly schema: string }>(document: T): string {
  return `${JSON.stringify(document, undefined, 2)}\n`;
}
