import { basename } from 'node:path';
import { type CandidateFeature, formatShort, type MeshReport } from '@offplate/core';
import { csvText } from '../write/csv/csv.js';

const columns = [
  'id',
  'kind',
  'name',
  'count',
  'size',
  'Ra',
  'length',
  'width',
  'depth',
  'area',
  'facing',
  'angle',
  'supported',
  'access',
  'datum',
  'tolerances',
  'location',
  'note',
];

/** Files of a job that is to be filled in, with the candidate features of a mesh. */
export function meshStarter(
  report: MeshReport,
  units: 'mm' | 'in',
): { readonly meshName: string; readonly texts: Readonly<Record<string, string>> } {
  const extension = report.format === '3mf' ? '.3mf' : '.stl';
  const meshName = `part${extension}`;
  const job = {
    schemaVersion: 'job/1',
    units: 'mm',
    part: {
      name:
        report.title.trim() === '' ? basename(report.file).replace(/\.[^.]*$/, '') : report.title,
      number: 'fill in',
      revision: 'A',
      material: 's31603',
      printer: 'pbf-lb',
      endUse: 'static',
      note: `Begun from ${basename(report.file)}: alloy, order and every line of features.csv are to be filled in from the drawing`,
    },
    geometry: { mesh: meshName, ...(extension === '.stl' ? { meshUnits: units } : {}) },
    order: { quantity: 1, currency: 'EUR' },
    generalTolerance: 'ISO 2768-mK',
    features: 'features.csv',
    policy: { objective: 'cost' },
  };
  const rest = Math.round(report.part.surfaceAreaMm2);
  const skin = `F1,freeform,the whole skin,1,,25,,,,${rest},angled,,no,,,,,roughness that the drawing allows where nothing else stands\n`;
  return {
    meshName,
    texts: {
      'job.json': `${JSON.stringify(job, undefined, 2)}\n`,
      'features.csv': csvText(columns, report.candidates.map(rowOf)) + skin,
    },
  };
}

function rowOf(each: CandidateFeature): readonly (string | number | undefined)[] {
  const size = each.sizeMm === undefined ? undefined : formatShort(each.sizeMm, 2);
  return [
    each.id,
    each.kind,
    each.name,
    each.count,
    size,
    undefined,
    each.lengthMm,
    each.widthMm,
    each.depthMm,
    each.areaMm2,
    each.facing,
    each.angleDeg,
    each.supported ? 'yes' : 'no',
    each.access.join(' '),
    undefined,
    undefined,
    undefined,
    each.note,
  ];
}
