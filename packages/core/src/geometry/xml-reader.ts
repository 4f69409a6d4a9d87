import { DecodeUTF8 } from 'fflate';
import { SaxesParser } from 'saxes';
import { InputError, type Place } from '../problems/problem.js';
import { meshError } from './mesh.js';

/** Deepest nesting of elements. */
export const maxXmlDepth = 64;

/** An element as it opens, names without prefixes. */
export interface XmlElement {
  readonly name: string;
  readonly namespace: string;
  /** Value of an attribute that stands in no namespace. */
  attribute(name: string): string | undefined;
  /** Address of the namespace that a prefix stands for here. */
  namespaceOf(prefix: string): string | undefined;
  readonly place: Place;
}

export interface XmlHandler {
  open(element: XmlElement): void;
  close(name: string, namespace: string): void;
  text(text: string): void;
}

/**
 * Reads XML in UTF-8 piece by piece. A document type declaration is an error, so there are no
 * entities but the five of XML itself.
 */
export function readXml(bytes: Uint8Array, file: Place, handler: XmlHandler): void {
  const parser = new SaxesParser({ xmlns: true, position: true });
  const place = (): Place => ({ ...file, line: parser.line, column: parser.column });
  let depth = 0;
  parser.on('error', (error) => {
    const message = error.message.replace(/^[^:]*:\d+: /, '').replace(/^\d+:\d+: /, '');
    throw meshError('mesh-format', place(), `the XML is damaged: ${message.slice(0, 120)}`);
  });
  parser.on('doctype', () => {
    const accept = 'XML without <!DOCTYPE';
    throw meshError(
      'mesh-format',
      place(),
      'a document type declaration is not allowed',
      undefined,
      accept,
    );
  });
  parser.on('opentag', (tag) => {
    if (++depth > maxXmlDepth)
      throw meshError(
        'too-large',
        place(),
        'elements are nested too deep',
        depth,
        `at most ${maxXmlDepth}`,
      );
    handler.open({
      name: tag.local,
      namespace: tag.uri,
      attribute: (name) => tag.attributes[name]?.value,
      namespaceOf: (prefix) => parser.resolve(prefix),
      get place() {
        return place();
      },
    });
  });
  parser.on('closetag', (tag) => {
    depth--;
    handler.close(tag.local, tag.uri);
  });
  parser.on('text', (text) => handler.text(text));
  const decoder = new DecodeUTF8((text, final) => {
    if (text !== '') parser.write(text);
    if (final) parser.close();
  });
  const pieceBytes = 1 << 16;
  try {
    for (let at = 0; at < bytes.length || at === 0; at += pieceBytes)
      decoder.push(bytes.subarray(at, at + pieceBytes), at + pieceBytes >= bytes.length);
  } catch (error) {
    if (error instanceof InputError) throw error;
    throw meshError('encoding', place(), 'the text is not UTF-8', undefined, 'UTF-8');
  }
}
