// Reading of mesh files, apart from the rest because only here a ZIP and an XML library are loaded.

export type { MeshReading } from './geometry/mesh.js';
export type { MeshOptions } from './geometry/read-mesh.js';
export { readMesh } from './geometry/read-mesh.js';
