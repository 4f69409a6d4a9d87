import type { Job } from '../job/types.js';
import type { Plan, ThermalCycle } from '../plan/types.js';
import { shortest } from './print-numbers.js';
import type { Block, DrawingMark, PointMm } from './types.js';

const widthMm = 178;
const heightMm = 44;
const floorMm = 34;
const viewMm = 78;
/** More parts side by side cannot be told apart; the sketch then stands for some of them. */
const mostAcross = 6;

/**
 * How the load stands in the furnace: on the plate with the sensors below the thickest part and on
 * the thinnest section, or loose on supports with room between the parts. From the side and from
 * above; proportions of the part from its box, the number of parts as far as they find room. It shows
 * a principle and is not to scale. Empty when the box of the part is not known.
 */
export function loadSketch(
  plan: Plan,
  cycle: ThermalCycle,
  job: Job | undefined,
): readonly Block[] {
  const box = plan.job.boxMm;
  if (box === undefined || !box.every((edge) => edge > 0)) return [];
  const onPlate = cycle.onPlate;
  const perLoad = onPlate
    ? Math.min(plan.job.quantity, job?.order.partsPerPlate ?? plan.job.quantity)
    : plan.job.quantity;
  const across = Math.max(1, Math.min(mostAcross, Math.ceil(Math.sqrt(perLoad))));
  const rows = Math.max(1, Math.min(3, Math.ceil(perLoad / across)));
  const shown = Math.min(perLoad, across * rows);
  const sensors = cycle.sensors ?? [];
  const side = sideView(box, across, onPlate, sensors.length);
  const above = topView(box, across, rows, shown, onPlate);
  return [
    {
      type: 'drawing',
      title: onPlate
        ? 'Load: on the build plate, nothing leaning on it'
        : 'Load: loose, apart from each other, on supports that carry them when soft',
      widthMm,
      heightMm,
      marks: [
        ...side,
        ...above,
        label(`from the side; part ${box.map((edge) => shortest(edge, 1)).join(' × ')} mm`, [
          0,
          heightMm - 2,
        ]),
        label(
          shown < perLoad
            ? `from above; ${shown} of ${perLoad} parts drawn`
            : `from above; ${perLoad} ${perLoad === 1 ? 'part' : 'parts'}`,
          [topLeftMm, heightMm - 2],
        ),
        ...sensors
          .slice(0, 2)
          .map((sensor, index) => label(`${index + 1}  ${sensor}`, [0, 3 + 4 * index])),
      ],
      inWords: `${onPlate ? 'Parts on the build plate' : 'Loose parts'}, ${sensors
        .map((sensor, index) => `sensor ${index + 1} ${sensor}`)
        .join(', ')}`,
    },
  ];
}

const topLeftMm = 100;

function sideView(
  [xMm, , zMm]: readonly [number, number, number],
  across: number,
  onPlate: boolean,
  sensors: number,
): readonly DrawingMark[] {
  const pitch = viewMm / across;
  const scale = Math.min((pitch * 0.72) / xMm, 19 / zMm);
  const [wide, high] = [xMm * scale, zMm * scale];
  const foot = onPlate ? floorMm - 3 : floorMm - 1.2;
  const marks: DrawingMark[] = onPlate
    ? [rectangle(0, floorMm - 3, viewMm, 3, 'grey')]
    : [line([0, floorMm], [viewMm, floorMm], 'thin')];
  for (let part = 0; part < across; part++) {
    const left = (part + 0.5) * pitch - wide / 2;
    marks.push(rectangle(left, foot - high, wide, high, 'pale'));
    if (!onPlate)
      for (const at of [0.2, 0.8])
        marks.push(rectangle(left + at * wide - 0.6, foot, 1.2, 1.2, 'black'));
  }
  const first = pitch / 2;
  const last = viewMm - pitch / 2;
  if (sensors > 0)
    marks.push(...sensor(onPlate ? [first, floorMm - 1.5] : [first, foot - high / 2], '1'));
  if (sensors > 1) marks.push(...sensor([last, foot - high * 0.85], '2'));
  return marks;
}

function topView(
  [xMm, yMm]: readonly [number, number, number],
  across: number,
  rows: number,
  shown: number,
  onPlate: boolean,
): readonly DrawingMark[] {
  const [wide, high] = [widthMm - topLeftMm, 34];
  const pitchX = wide / across;
  const pitchY = high / rows;
  const scale = Math.min((pitchX * 0.72) / xMm, (pitchY * 0.72) / yMm);
  const marks: DrawingMark[] = [
    onPlate
      ? rectangle(topLeftMm, 0, wide, high, 'white')
      : line([topLeftMm, high], [topLeftMm + wide, high], 'hair'),
  ];
  for (let part = 0; part < shown; part++) {
    const x = topLeftMm + ((part % across) + 0.5) * pitchX;
    const y = (Math.floor(part / across) + 0.5) * pitchY;
    marks.push(
      rectangle(x - (xMm * scale) / 2, y - (yMm * scale) / 2, xMm * scale, yMm * scale, 'pale'),
    );
  }
  return marks;
}

/** A dot with its number beside it. */
function sensor(at: PointMm, number: string): readonly DrawingMark[] {
  return [
    { kind: 'dot', at, radiusMm: 1 },
    { kind: 'text', at: [at[0] + 2, at[1] - 2.4], text: number, align: 'left', style: 'strong' },
  ];
}

function rectangle(
  x: number,
  y: number,
  wide: number,
  high: number,
  shade: 'white' | 'pale' | 'grey' | 'black',
): DrawingMark {
  return {
    kind: 'area',
    points: [
      [x, y],
      [x + wide, y],
      [x + wide, y + high],
      [x, y + high],
    ],
    shade,
    outline: 'thin',
  };
}

function line(from: PointMm, to: PointMm, weight: 'hair' | 'thin'): DrawingMark {
  return { kind: 'line', points: [from, to], weight };
}

function label(text: string, at: PointMm): DrawingMark {
  return { kind: 'text', at, text, align: 'left', style: 'label' };
}
