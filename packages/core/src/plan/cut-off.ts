import type { Chain } from '../route/chain.js';
import { type CurlRange, type CurlVerdict, curlVerdict } from '../thermal/cut-off-curl.js';
import { plateMismatch } from '../thermal/plate-mismatch.js';
import { routeCurl } from '../thermal/route-curl.js';
import { hipOnPlate, plateOf } from '../thermal/route-objections.js';
import type { ThermalRoute } from '../thermal/routes.js';
import type { SolvedJob } from './solve-job.js';
import type { CutOffPlan } from './types.js';

const roomC = 20;

/** What cutting off does to the part on the chosen route; says the verdicts as findings. */
export function plannedCutOff(route: ThermalRoute, solved: SolvedJob): CutOffPlan {
  const { context, planning, chosen } = solved;
  const { boxMm } = planning.part;
  const curl = routeCurl(route, boxMm, context);
  notePlate(route, solved);
  const hip = hipVerdict(route, solved);
  const merged = hip === undefined ? {} : { hipAsRelief: hip };
  if (!curl.known) {
    if (context.job.policy.cutOffBeforeRelief) noteEarlyCut(solved, 'expect the part to spring');
    return { known: false, note: curl.reason, ...merged };
  }
  const stocks = chosen.chains
    .filter((chain) => isFlatFace(chain) && chain.steps.length > 0)
    .map((chain) => chain.stockPerSideMm);
  const stockMm = stocks.length === 0 ? undefined : Math.min(...stocks);
  const asPlanned = verdictOn(curl.after, stockMm);
  const unrelieved = verdictOn(curl.before, stockMm);
  if (context.job.policy.cutOffBeforeRelief) noteEarlyCut(solved, unrelieved.text);
  else if (asPlanned.verdict === 'more than the stock')
    context.find({
      id: 'curl-over-stock',
      severity: 'warning',
      message: `a face that bends with the part may not clean up after the cut: ${asPlanned.text}`,
      source: curl.source,
    });
  noteForm(solved);
  return {
    known: true,
    lengthMm: Math.max(boxMm[0], boxMm[1]),
    heightMm: boxMm[2],
    stressMPa: curl.stressMPa,
    stressFrom: curl.stressFrom,
    unrelieved: curl.before,
    asPlanned: curl.after,
    modelError: curl.modelError,
    ...(stockMm === undefined ? {} : { stockMm }),
    verdict: asPlanned.text,
    beforeRelief: unrelieved.text,
    note: curl.note,
    source: curl.source,
    confidence: curl.confidence,
    ...merged,
  };
}

/** Looks up or down, so that curl bends it. */
function isFlatFace({ feature }: Chain): boolean {
  return feature.kind === 'plane' && (feature.facing === 'up' || feature.facing === 'down');
}

function verdictOn(
  curl: CurlRange,
  stockMm: number | undefined,
): { readonly verdict: CurlVerdict['verdict'] | 'no stock'; readonly text: string } {
  if (stockMm === undefined)
    return {
      verdict: 'no stock',
      text: `curl ${curl.lowMm.toFixed(2)} to ${curl.highMm.toFixed(2)} mm; no machined face bends with it`,
    };
  const { verdict, text } = curlVerdict(curl, stockMm);
  return { verdict, text: `${verdict}: ${text}` };
}

function noteEarlyCut({ context }: SolvedJob, verdict: string): void {
  context.find({
    id: 'cut-before-relief',
    severity: 'caution',
    message: `cut-off before stress relief: ${verdict}; stock is planned on the form error of an unrelieved part`,
    source: 'beam model of the curl; common practice, no source, for the form error',
  });
}

/** Practice rate and beam model side by side: the larger is what stock is planned on. */
function noteForm({ context, planning, chosen }: SolvedJob): void {
  const curl = chosen.plan?.chains.curl;
  if (curl === undefined || chosen.plan === undefined) return;
  const longest = Math.max(...planning.part.boxMm);
  const rate = context.defaultValue(
    chosen.plan.route.relieved ? 'form-error-relieved' : 'form-error-unrelieved',
  );
  const practice = (rate * longest) / 100;
  const bentMm = (chosen.plan.chains.heatFormPer100Mm * longest) / 100;
  const form = Math.hypot(Math.max(practice, curl.formMm), bentMm);
  context.assume({
    what: 'form error of faces that bend with the part',
    value: `${form.toFixed(2)} mm: the larger of ${practice.toFixed(2)} mm (practice rate over ${longest} mm) and ${curl.formMm.toFixed(2)} mm (beam model, typical curl and a standard deviation)${bentMm > 0 ? `, and ${bentMm.toFixed(2)} mm of bending in the heat after the cut, in quadrature` : ''}`,
    source: curl.source,
    confidence: curl.confidence,
  });
}

/** A plate of another metal puts stress back; an assumed one is said. */
function notePlate(route: ThermalRoute, { context }: SolvedJob): void {
  const onPlate = route.steps.filter((step) => step.onPlate);
  if (onPlate.length === 0) return;
  const plate = plateOf(context);
  const { material } = context;
  if (context.job.geometry.plateMaterial === undefined) {
    context.assume({
      what: 'material of the build plate',
      value: `${plate.name}, that of the part`,
      source: 'rule of the planner, no source',
      confidence: 'practice',
    });
    return;
  }
  const yieldMPa = material.treatedYieldMpa ?? material.asBuiltYieldMpa;
  if (plate.id === material.id || yieldMPa === undefined) return;
  const holdC = Math.max(...onPlate.map((step) => step.schedule.temperatureC));
  const mismatch = plateMismatch({
    partExpansion: material.expansionUmMK,
    plateExpansion: plate.expansionUmMK,
    holdC,
    roomC,
    modulusGPa: material.youngsModulusGpa,
    yieldMPa,
  });
  if (mismatch.notable)
    context.find({
      id: 'plate-mismatch',
      severity: 'warning',
      message: `cooling from ${holdC} °C the plate of ${plate.name} imposes ${(mismatch.strain * 1000).toFixed(2)} µm per mm on the part, ${mismatch.strain > 0 ? 'tension' : 'compression'} up to ${Math.abs(mismatch.stressMPa).toFixed(0)} MPa: some stress comes back`,
      source: 'difference of thermal expansion; elementary mechanics',
    });
}

/** Whether one HIP on the plate could stand for relief and HIP. */
function hipVerdict(route: ThermalRoute, { context }: SolvedJob): CutOffPlan['hipAsRelief'] {
  const hip = route.steps.find((step) => step.treatment === 'hip');
  if (hip === undefined || context.job.part.printer === 'pbf-eb') return undefined;
  const { allowed, objections, conditions } = hipOnPlate(hip.schedule, context);
  return { allowed, taken: hip.onPlate, objections, conditions };
}
