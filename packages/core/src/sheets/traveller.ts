import type { MethodsRow } from '../catalog/generated/methods.js';
import type { TriangleMesh } from '../geometry/mesh.js';
import type { PartRevision } from '../job/types.js';
import type { Plan } from '../plan/types.js';
import { scanCode } from './scan-code.js';
import { framedSheet, orderOf } from './sheet-frame.js';
import { closingBlocks } from './traveller-closing.js';
import { frontBlocks, frontFields } from './traveller-front.js';
import { operationBlock } from './traveller-operation.js';
import type { Sheet, SheetOptions } from './types.js';

export interface TravellerOptions extends SheetOptions {
  /** Revisions of the drawing so far. */
  readonly revisions?: readonly PartRevision[];
  /** Measuring methods of the catalogue, to name a tool for each working dimension. */
  readonly methods?: readonly MethodsRow[];
  /** Drawn on the first page. */
  readonly mesh?: TriangleMesh;
}

/**
 * The sheet that goes with the parts through the shop: first page with the order, the route, the
 * stock and the cautions; one block an operation; a page for deviations and rework, the revisions of
 * the drawing and the assumptions to confirm at the end.
 * Lengths in mm, roughness in um, times in minutes and working days, all printed ready to read. It
 * throws nothing: a plan without a feasible route gives a sheet that says so and lists the conflicts.
 *
 * @example
 * travellerSheet({schema:'plan/1',job:{part:'Nose ring',number:'LB-7',revision:'B',material:{id:'r56407',name:'Ti-6Al-4V ELI',designation:'R56407'},printer:'pbf-lb',endUse:'fatigue',condition:'HIP',quantity:4,regulated:false,standards:[],hazards:[]},feasible:true,operations:[],features:[],thermal:{route:'',reason:'',cycles:[],rejected:[]},stock:{faces:[],heightOffPlateMm:0,heightOffPlateParts:[]},inspection:[],schedule:{days:0,late:false,lateDays:0,steps:[]},assumptions:[],findings:[],cautions:[],conflicts:[]},{format:'A4'}).identity // -> "LB-7-B"
 */
export function travellerSheet(plan: Plan, options: TravellerOptions): Sheet {
  return framedSheet(plan, options, {
    kind: 'traveller',
    title: 'Traveller',
    code: scanCode(plan, options),
    header: frontFields(plan, options, orderOf(plan, options)),
    blocks: [
      ...frontBlocks(plan, options.mesh),
      ...plan.operations.map((operation) =>
        operationBlock(
          plan,
          operation,
          scanCode(plan, options, operation.seq),
          options.methods ?? [],
        ),
      ),
      ...closingBlocks(plan, options.revisions ?? []),
    ],
  });
}
