import type { Place } from '../problems/problem.js';
import { maxTriangles, meshError } from './mesh.js';
import { readXml, type XmlElement } from './xml-reader.js';

/** Namespace of the 3MF core specification (3MF Consortium, core specification 1.3 and 1.4). */
const coreNamespace = 'http://schemas.microsoft.com/3dmanufacturing/core/2015/02';

/** mm in each unit of a model (3MF core, section 3.4). */
const unitMm: Readonly<Record<string, number>> = {
  micron: 0.001,
  millimeter: 1,
  centimeter: 10,
  inch: 25.4,
  foot: 304.8,
  meter: 1000,
};

/** Rows of an affine map: a point (x, y, z, 1) times four rows of three. */
export type Transform = readonly number[];

export interface Placed {
  readonly objectId: string;
  readonly transform: Transform | undefined;
  readonly place: Place;
}

export interface ModelObject {
  readonly id: string;
  /** `model`, `support`, `solidsupport`, `surface` or `other`. */
  readonly type: string;
  /** x, y, z of each vertex in the unit of the model. */
  readonly positions: Float64Array;
  readonly triangles: Uint32Array;
  readonly components: readonly Placed[];
}

export interface Model {
  readonly scaleMm: number;
  readonly title: string;
  readonly objects: ReadonlyMap<string, ModelObject>;
  readonly items: readonly Placed[];
}

/** Numbers of unknown count, kept in a typed array that doubles. */
class Growing<T extends Float64Array | Uint32Array> {
  #values: T;
  readonly #wider: (length: number) => T;
  count = 0;
  constructor(make: (length: number) => T) {
    this.#wider = make;
    this.#values = make(96);
  }
  push(value: number): void {
    if (this.count === this.#values.length) {
      const wider = this.#wider(2 * this.count);
      wider.set(this.#values);
      this.#values = wider;
    }
    this.#values[this.count++] = value;
  }
  take(): T {
    return this.#values.slice(0, this.count) as T;
  }
}

/** Reads the model part of a 3MF file (core specification: units, objects, components, build). */
export function readModelPart(bytes: Uint8Array, file: Place): Model {
  const objects = new Map<string, ModelObject>();
  const items: Placed[] = [];
  let scaleMm = 1;
  let title = '';
  let titleOpen = false;
  let rootSeen = false;
  let totalTriangles = 0;
  let current:
    | {
        id: string;
        type: string;
        place: Place;
        positions: Growing<Float64Array>;
        triangles: Growing<Uint32Array>;
        components: Placed[];
      }
    | undefined;

  const open = (element: XmlElement): void => {
    if (!rootSeen) {
      rootSeen = true;
      if (element.name !== 'model' || element.namespace !== coreNamespace)
        throw meshError(
          'mesh-format',
          element.place,
          'the root element is not a 3MF model',
          element.name,
          `<model> of ${coreNamespace}`,
        );
      scaleMm = unitOf(element);
      checkExtensions(element);
      return;
    }
    if (element.namespace !== coreNamespace) return;
    switch (element.name) {
      case 'metadata':
        titleOpen = current === undefined && element.attribute('name') === 'Title';
        return;
      case 'object': {
        const id = required(element, 'id');
        if (objects.has(id) || current !== undefined)
          throw meshError('duplicate-id', element.place, 'the object id is used twice', id);
        current = {
          id,
          type: element.attribute('type') ?? 'model',
          place: element.place,
          positions: new Growing((length) => new Float64Array(length)),
          triangles: new Growing((length) => new Uint32Array(length)),
          components: [],
        };
        return;
      }
      case 'vertex':
        if (current === undefined) return;
        for (const axis of ['x', 'y', 'z']) current.positions.push(coordinate(element, axis));
        return;
      case 'triangle':
        if (current === undefined) return;
        if (++totalTriangles > maxTriangles)
          throw meshError(
            'too-large',
            element.place,
            'too many triangles',
            undefined,
            `at most ${maxTriangles}`,
          );
        for (const corner of ['v1', 'v2', 'v3'])
          current.triangles.push(vertexNumber(element, corner, current.positions.count / 3));
        return;
      case 'component': {
        const placed = placedObject(element);
        // the specification wants objects defined before they are used, so there are no circles
        if (!objects.has(placed.objectId))
          throw meshError(
            'unknown-id',
            element.place,
            'the component names an object that is not defined before it',
            placed.objectId,
          );
        current?.components.push(placed);
        return;
      }
      case 'item': {
        const placed = placedObject(element);
        if (!objects.has(placed.objectId))
          throw meshError(
            'unknown-id',
            element.place,
            'the build item names an object that is not there',
            placed.objectId,
          );
        items.push(placed);
        return;
      }
    }
  };

  readXml(bytes, file, {
    open,
    close(name, namespace) {
      titleOpen = false;
      if (name !== 'object' || namespace !== coreNamespace || current === undefined) return;
      const { id, type, components } = current;
      objects.set(id, {
        id,
        type,
        components,
        positions: current.positions.take(),
        triangles: current.triangles.take(),
      });
      current = undefined;
    },
    text(text) {
      if (titleOpen && title.length < 200) title += text.slice(0, 200);
    },
  });
  return { scaleMm, title: title.trim(), objects, items };
}

function unitOf(root: XmlElement): number {
  const unit = root.attribute('unit') ?? 'millimeter';
  const scale = Object.hasOwn(unitMm, unit) ? unitMm[unit] : undefined;
  if (scale === undefined)
    throw meshError(
      'not-one-of',
      root.place,
      'the unit of the model is not known',
      unit,
      Object.keys(unitMm).join(', '),
    );
  return scale;
}

/** The specification says to stop at a required extension that is not understood. */
function checkExtensions(root: XmlElement): void {
  for (const prefix of (root.attribute('requiredextensions') ?? '').split(/\s+/)) {
    if (prefix === '' || root.namespaceOf(prefix) === coreNamespace) continue;
    throw meshError(
      'mesh-format',
      root.place,
      'the model requires an extension that is not read',
      root.namespaceOf(prefix) ?? prefix,
      'a model of the core specification',
    );
  }
}

function required(element: XmlElement, name: string): string {
  const value = element.attribute(name);
  if (value !== undefined && value !== '') return value;
  throw meshError(
    'missing-field',
    element.place,
    `<${element.name}> has no ${name}`,
    undefined,
    `${name}="…"`,
  );
}

const numberPattern = /^[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?$/;

function coordinate(element: XmlElement, axis: string): number {
  const text = required(element, axis);
  const value = numberPattern.test(text) ? Number(text) : Number.NaN;
  if (!Number.isFinite(value))
    throw meshError('bad-number', element.place, `${axis} is not a number`, text, 'a number');
  return value;
}

function vertexNumber(element: XmlElement, corner: string, vertices: number): number {
  const text = required(element, corner);
  const value = /^\d{1,9}$/.test(text) ? Number(text) : Number.NaN;
  if (!(value < vertices))
    throw meshError(
      'out-of-range',
      element.place,
      `${corner} is not the number of a vertex`,
      text,
      vertices === 0 ? 'no vertices come before it' : `0 to ${vertices - 1}`,
    );
  return value;
}

function placedObject(element: XmlElement): Placed {
  return {
    objectId: required(element, 'objectid'),
    transform: transformOf(element),
    place: element.place,
  };
}

function transformOf(element: XmlElement): Transform | undefined {
  const text = element.attribute('transform');
  if (text === undefined) return undefined;
  const parts = text.trim().split(/\s+/);
  const numbers = parts.map((part) => (numberPattern.test(part) ? Number(part) : Number.NaN));
  if (numbers.length !== 12 || !numbers.every(Number.isFinite))
    throw meshError(
      'bad-number',
      element.place,
      'the transform is not made of twelve numbers',
      text,
      'm00 m01 m02 m10 … m32',
    );
  return numbers;
}
