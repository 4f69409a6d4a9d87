import type { ScreenCheckId, ScreenVerdict } from './screen-types.js';

/** What a check changes in the route, when it is not met with room to spare. */
const changes: Readonly<Record<ScreenCheckId, string>> = {
  wall: 'print the wall thicker and machine it down, or change the model; no blasting at full pressure, no clamping on it',
  pin: 'leave it out of the print and press or weld one in, or print it thicker and turn it',
  hole: 'print it solid and drill it, or erode it where no drill reaches',
  gap: 'print it closed, then mill or wire-cut it; left open it can fuse',
  'lying-hole':
    'print it with a drop-shaped or roofed crown, or solid to be drilled and bored; else supports inside and stock on the roof',
  overhang:
    'supports and their removal, or another orientation; stock on the down-facing skin where it is machined',
  span: 'supports below the ceiling or an arch in the model; a slot can be printed closed and milled',
  slenderness:
    'props to neighbours or lower orientation; relief on the plate, light cuts, a fixture near the top',
  'free-standing': 'props or a stouter foot for printing, cut away later; fine cuts with support',
  'escape-hole':
    'wider or more openings in the model, plugged or welded after cleaning; proof of emptiness before any furnace',
  'channel-length':
    'openings along the way for cleaning; powder removal takes longer; scan or weighing before any furnace',
  'trapped-powder':
    'powder removal and its proof come before the first heat: powder left sinters in relief and turns solid in HIP',
  'support-access':
    'solid supports are machined off, with stock below them; supports that no tool reaches stay in: change the model or the orientation',
};

/** What the check changes in the route; nothing when it is met or does not apply. */
export function screenRoute(check: ScreenCheckId, verdict: ScreenVerdict): string | undefined {
  if (verdict === 'within' || verdict === 'none') return undefined;
  return verdict === 'unknown' ? 'ask: the job does not say' : changes[check];
}
