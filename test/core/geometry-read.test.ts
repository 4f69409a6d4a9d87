import { boxMesh, InputError, massProperties, type TriangleMesh, writeStl } from '@offplate/core';
import { type MeshOptions, readMesh } from '@offplate/core/mesh-file';
import { describe, expect, test } from 'vitest';
import { decimalOf } from '../../packages/core/src/geometry/stl-text.js';
import { insideOut, joined, prismMesh, shifted, textStl } from '../fixtures/meshes.js';
import { file3mf, meshXml, modelXml, relationships } from '../fixtures/model-3mf.js';

const bytesOf = (text: string): Uint8Array => new TextEncoder().encode(text);

/** What a reader says of faulty bytes, as a person sees it. */
function complaint(bytes: Uint8Array, options: MeshOptions = { file: 'part.stl' }): string {
  try {
    readMesh(bytes, options);
  } catch (error) {
    if (error instanceof InputError) return error.message;
    throw error;
  }
  throw new Error('the bytes were taken as a mesh');
}

const volume = (mesh: TriangleMesh): number => massProperties(mesh).volumeMm3;

describe('binary STL', () => {
  test('a box comes back with eight corners', () => {
    const { mesh, format, findings } = readMesh(writeStl(boxMesh(10, 20, 30)));
    expect(format).toBe('stl-binary');
    expect(mesh.positionsMm.length).toBe(24);
    expect(volume(mesh)).toBe(6000);
    expect(findings).toEqual([]);
  });
  test('inches on request', () => {
    const { mesh } = readMesh(writeStl(boxMesh(1, 1, 1)), { stlUnit: 'in' });
    expect(volume(mesh)).toBeCloseTo(25.4 ** 3, 9);
  });
  test('the size decides, not the word solid', () => {
    const bytes = writeStl(boxMesh(1, 2, 3));
    bytes.set(bytesOf('solid part'), 0);
    const { format, title } = readMesh(bytes);
    expect([format, title]).toEqual(['stl-binary', 'part']);
  });
  test('0 and -0 are one coordinate', () => {
    const bytes = writeStl(boxMesh(1, 1, 1));
    const view = new DataView(bytes.buffer);
    for (let at = 96; at + 36 <= bytes.length; at += 50)
      if (view.getFloat32(at, true) === 0) view.setFloat32(at, -0, true);
    expect(readMesh(bytes).mesh.positionsMm.length).toBe(24);
  });
  test('triangles with two equal corners are dropped', () => {
    const box = boxMesh(1, 1, 1);
    const triangles = Uint32Array.from([...box.triangles, 0, 1, 1]);
    const { mesh, findings } = readMesh(writeStl({ ...box, triangles }));
    expect(mesh.triangles.length).toBe(36);
    expect(findings.map(({ id }) => id)).toEqual(['mesh-degenerate']);
  });
  test('bytes after the facets are reported', () => {
    const bytes = new Uint8Array(700);
    bytes.set(writeStl(boxMesh(1, 1, 1)));
    expect(readMesh(bytes).findings[0]?.message).toBe(
      '16 bytes follow the 12 facets that the file declares',
    );
  });
  test('a file that is cut off', () => {
    expect(complaint(writeStl(boxMesh(1, 1, 1)).slice(0, 600))).toBe(
      'part.stl byte 80: the size of the file does not fit the number of facets that it declares (found "12 facets in 600 bytes"); accepted: STL (binary or text) or 3MF; a binary STL of that size holds 10 facets',
    );
  });
  test('a coordinate that is no number', () => {
    const bytes = writeStl(boxMesh(1, 1, 1));
    new DataView(bytes.buffer).setFloat32(84 + 50 * 3 + 12 + 12, Number.NaN, true);
    expect(complaint(bytes)).toMatch(/^part\.stl facet 4 corner 2 \(byte 258\): .* \(found "NaN, /);
  });
  test('a coordinate far out', () => {
    expect(complaint(writeStl(boxMesh(2e6, 1, 1)))).toContain(
      'accepted: finite numbers within 1000000 mm of the origin',
    );
  });
  test('bytes at an offset of a larger buffer', () => {
    const bytes = writeStl(boxMesh(1, 2, 3));
    const wide = new Uint8Array(bytes.length + 7);
    wide.set(bytes, 7);
    expect(volume(readMesh(wide.subarray(7)).mesh)).toBe(6);
  });
  test.each([
    ['nothing', new Uint8Array(0)],
    ['a picture', Uint8Array.of(0x89, 0x50, 0x4e, 0x47, 13, 10, 26, 10)],
    ['a header without facets', new Uint8Array(84)],
  ])('%s is no mesh', (_what, bytes) => {
    expect(complaint(bytes)).toContain('STL (binary or text) or 3MF');
  });
});

describe('text STL', () => {
  test('holds what the binary one holds', () => {
    const prism = prismMesh(7, 5, 3);
    const { mesh, format, title } = readMesh(bytesOf(textStl(prism, 'seven sides')));
    expect([format, title]).toEqual(['stl-text', 'seven sides']);
    expect(volume(mesh)).toBeCloseTo(volume(prism), 12);
  });
  test('capitals, other line ends, a mark in front, several solids', () => {
    const text = `\uFEFF${textStl(boxMesh(1, 1, 1))
      .toUpperCase()
      .replaceAll('\n', '\r\n')}${textStl(shifted(boxMesh(1, 1, 1), [5, 0, 0]))}`;
    const { mesh } = readMesh(bytesOf(text));
    expect(mesh.triangles.length).toBe(72);
    expect(volume(mesh)).toBeCloseTo(2, 12);
  });
  test.each([
    [
      'fewer numbers in a normal',
      'normal 0 0 0',
      'normal 0 0',
      '3: the normal has fewer than three numbers',
    ],
    [
      'a word that is no number',
      'vertex 0 0 0',
      'vertex 0 zero 0',
      '4: a coordinate is not a number (found "zero")',
    ],
    [
      'a decimal comma',
      'vertex 0 0 0',
      'vertex 0,5 0 0',
      '4: a coordinate is not a number (found "0,5")',
    ],
    ['infinity', 'vertex 0 0 0', 'vertex inf 0 0', '4: a coordinate is not a number (found "inf")'],
    [
      'a loop of two',
      '      vertex 0 0 0\n',
      '',
      '6: a word is out of place (found "endloop"); accepted: vertex',
    ],
    [
      'a loop of four',
      'endloop',
      'vertex 1 1 1',
      '7: a word is out of place (found "vertex"); accepted: endloop',
    ],
    ['no end', 'endsolid part\n', '', 'the text ends within a solid; accepted: endsolid'],
    ['too far', 'vertex 0 0 0', 'vertex 1e9 0 0', '4: the corner lies too far out'],
  ])('%s', (_what, from, to, wanted) => {
    const text = textStl(boxMesh(1, 1, 1)).replace(from, to);
    expect(complaint(bytesOf(text))).toContain(wanted);
  });
  test('decimals are read as Number reads them', () => {
    for (const text of [
      '0',
      '-0',
      '1',
      '-1.5',
      '+2.25',
      '.5',
      '5.',
      '1e3',
      '1E-3',
      '12345678901234567890',
      '0.1',
      '3.14159265358979',
      '1.7976931348623157e308',
      '4.9e-324',
      '0.000000000000000000000000123456',
      '123456789012345e22',
      '-7.450580596923828E-09',
    ]) {
      const bytes = bytesOf(text);
      expect(decimalOf(bytes, 0, bytes.length)).toBe(Number(text));
    }
    for (const text of ['', '.', '-', 'e5', '1e', '1e+', '1.2.3', '0x10', '1_000', 'nan', '--1']) {
      const bytes = bytesOf(text);
      expect(decimalOf(bytes, 0, bytes.length)).toBeNaN();
    }
  });
});

describe('3MF', () => {
  const object = (id: number, content: string, type = 'model'): string =>
    `<object id="${id}" type="${type}">${content}</object>`;
  const box = meshXml(boxMesh(1, 2, 3));
  const item = (id: number, transform = ''): string =>
    `<item objectid="${id}"${transform === '' ? '' : ` transform="${transform}"`}/>`;
  const read = (resources: string, build: string, attributes = '') =>
    readMesh(file3mf(modelXml(resources, build, attributes)));

  test.each([
    ['micron', 1e-3],
    ['millimeter', 1],
    ['centimeter', 10],
    ['inch', 25.4],
    ['foot', 304.8],
    ['meter', 1000],
  ])('unit %s', (unit, scale) => {
    const { mesh, format, title } = read(object(1, box), item(1), `unit="${unit}"`);
    expect([format, title]).toEqual(['3mf', 'A part']);
    expect(volume(mesh) / (6 * scale ** 3)).toBeCloseTo(1, 12);
  });
  test('transforms of item and components follow each other', () => {
    // 3MF core, 3.3: points are rows, so the third row of the matrix moves along z
    const half = object(
      2,
      `<components><component objectid="1" transform="2 0 0 0 1 0 0 0 1 10 0 0"/></components>`,
    );
    const { mesh } = read(object(1, box) + half, item(2, '0 1 0 -1 0 0 0 0 1 0 0 5'));
    const { boxMm, lowMm } = massProperties(mesh);
    // x (0..1) doubled and moved by 10: 10..12; then turned by 90 deg about z: x -> y, y -> -x; then up
    expect(lowMm).toEqual([-2, 10, 5]);
    expect(boxMm).toEqual([2, 2, 3]);
    expect(volume(mesh)).toBeCloseTo(12, 12);
  });
  test('a mirror keeps outside outside', () => {
    const { mesh } = read(object(1, box), item(1, '-1 0 0 0 1 0 0 0 1 0 0 0'));
    expect(volume(mesh)).toBeCloseTo(6, 12);
  });
  test('several items together, supports left out', () => {
    const { mesh, findings } = read(
      object(1, box) + object(2, box, 'support'),
      item(1) + item(1, '1 0 0 0 1 0 0 0 1 9 0 0') + item(2),
    );
    expect(volume(mesh)).toBeCloseTo(12, 12);
    expect(findings.map(({ id }) => id)).toEqual(['mesh-several-items', 'mesh-objects-left-out']);
  });
  test('a prefix for the namespace, and foreign elements', () => {
    const model = modelXml(object(1, box), item(1))
      .replaceAll(/<(\/?)(\w)/g, '<$1m:$2')
      .replace('xmlns=', 'xmlns:x="urn:other" xmlns:m=')
      .replace('</m:build>', '</m:build><x:vertex x="no number"/>');
    expect(volume(readMesh(file3mf(model)).mesh)).toBeCloseTo(6, 12);
  });
  test('the relationship leads to the model, whatever its name', () => {
    const bytes = file3mf('not a model', {
      '_rels/.rels': relationships('/3D/Other.model'),
      '3d/other.model': modelXml(object(1, box), item(1)),
    });
    expect(volume(readMesh(bytes).mesh)).toBeCloseTo(6, 12);
  });
  test('32 doublings of a box are refused before they are made', () => {
    const doubles = Array.from({ length: 32 }, (_, step) =>
      object(
        step + 2,
        `<components>${`<component objectid="${step + 1}"/>`.repeat(2)}</components>`,
      ),
    );
    expect(complaint(file3mf(modelXml(object(1, box) + doubles.join(''), item(33))))).toContain(
      'too many triangles',
    );
  });
  test.each([
    [
      'an entity',
      modelXml(object(1, box), item(1)).replace('<model', '<!DOCTYPE m [<!ENTITY a "b">]><model'),
      'a document type declaration is not allowed',
    ],
    [
      'a wrong vertex number',
      modelXml(object(1, box.replace('v1="0"', 'v1="8"')), item(1)),
      'v1 is not the number of a vertex (found "8"); accepted: 0 to 7',
    ],
    [
      'a missing coordinate',
      modelXml(object(1, box.replace(' z="0"', '')), item(1)),
      '<vertex> has no z',
    ],
    [
      'a coordinate that is no number',
      modelXml(object(1, box.replace('z="0"', 'z="NaN"')), item(1)),
      'z is not a number (found "NaN")',
    ],
    [
      'an unknown unit',
      modelXml(object(1, box), item(1), 'unit="furlong"'),
      'accepted: micron, millimeter',
    ],
    [
      'an extension',
      modelXml(object(1, box), item(1), 'xmlns:b="urn:beams" requiredextensions="b"'),
      'requires an extension that is not read (found "urn:beams")',
    ],
    [
      'an unknown object',
      modelXml(object(1, box), item(7)),
      'names an object that is not there (found "7")',
    ],
    [
      'a circle',
      modelXml(object(1, '<components><component objectid="1"/></components>'), item(1)),
      'names an object that is not defined before it',
    ],
    [
      'the same id twice',
      modelXml(object(1, box) + object(1, box), item(1)),
      'the object id is used twice',
    ],
    [
      'a transform of eleven',
      modelXml(object(1, box), item(1, '1 0 0 0 1 0 0 0 1 0 0')),
      'not made of twelve numbers',
    ],
    [
      'a flat transform',
      modelXml(object(1, box), item(1, '1 0 0 0 1 0 0 0 0 0 0 0')),
      'the transform flattens the object',
    ],
    ['nothing built', modelXml(object(1, box), ''), 'the model builds nothing'],
    ['only supports', modelXml(object(1, box, 'support'), item(1)), 'the file holds no triangles'],
    ['text that ends', modelXml(object(1, box), item(1)).slice(0, 700), 'the XML is damaged'],
    [
      'another root',
      '<svg xmlns="http://www.w3.org/2000/svg"/>',
      'the root element is not a 3MF model (found "svg")',
    ],
  ])('%s', (_what, model, wanted) => {
    const said = complaint(file3mf(model), { file: 'part.3mf' });
    expect(said).toContain(wanted);
    expect(said).toMatch(/^part\.3mf/);
  });
  test.each([
    ['up', '/../../etc/model'],
    ['a drive', 'c:/model'],
    ['an address', 'https://example.org/3dmodel.model'],
  ])('a relationship that leads %s', (_what, target) => {
    expect(complaint(file3mf('', { '_rels/.rels': relationships(target) }))).toContain(
      'the model lies outside the file',
    );
  });
  test('an entry that climbs out', () => {
    expect(complaint(file3mf(modelXml(object(1, box), item(1)), { '../evil': 'x' }))).toContain(
      'the name of an entry leads out of the archive (found "../evil")',
    );
  });
  test('an entry that grows a thousand times', () => {
    const bomb = modelXml(object(1, box), item(1)).replace('<build>', `<build>${' '.repeat(2e7)}`);
    expect(complaint(file3mf(bomb))).toContain('the entry grows too much');
  });
  test('no model', () => {
    expect(complaint(file3mf('', { '_rels/.rels': relationships('/3D/none.model') }))).toContain(
      'the archive has no such entry',
    );
  });
});

describe('what is not repaired', () => {
  test('a skin that faces inwards keeps its volume below zero', () => {
    expect(volume(readMesh(writeStl(insideOut(boxMesh(1, 2, 3)))).mesh)).toBe(-6);
  });
  test('two bodies stay two', () => {
    const two = joined(boxMesh(1, 1, 1), shifted(boxMesh(1, 1, 1), [3, 0, 0]));
    expect(readMesh(writeStl(two)).mesh.positionsMm.length).toBe(48);
  });
});
