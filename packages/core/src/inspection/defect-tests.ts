import type { MethodsRow } from '../catalog/generated/methods.js';

/**
 * What a non-destructive test is to find: flaws open to the face, voids inside, tight cracks inside,
 * or powder left in channels.
 */
export type DefectClass = 'open-to-face' | 'inner-void' | 'inner-crack' | 'powder-left';

export interface DefectTestDemand {
  readonly defect: DefectClass;
  readonly featureKind: MethodsRow['kinds'][number];
  /** Thickness that has to be looked through, mm. */
  readonly thicknessMm: number;
  /** Length of the largest flaw that may pass unseen, mm. */
  readonly largestUnseenMm: number;
  /** Roughness of the face, um. */
  readonly raUm: number;
  readonly ferromagnetic: boolean;
}

export interface DefectTest {
  readonly method: MethodsRow;
  /** Length of the flaw that the test finds reliably (90 % of them, with 95 % confidence), mm. */
  readonly foundMm: number;
  /** Empty when the test suits; else each reason against it. */
  readonly against: readonly string[];
}

const measured: Readonly<Record<DefectClass, MethodsRow['measures'][number]>> = {
  'open-to-face': 'defect-surface',
  'inner-void': 'defect-volume',
  'inner-crack': 'defect-volume',
  'powder-left': 'defect-volume',
};

/** Rougher faces hold penetrant everywhere (common practice, no source). */
const roughestForPenetrant = 3.2;

/**
 * Every test of the catalogue for a class of defects, suitable ones first and the cheapest of them
 * first (a piece by itself, without its share of the set-up); the rest with what speaks against each.
 * Penetrant wants a face with Ra up to 3.2 um (common practice, no source), magnetic particles a
 * ferromagnetic alloy; radiography does not cover tight cracks (ECSS-E-ST-32-01C Rev.1, 10.4.2).
 *
 * @example
 * defectTests(defaultCatalog().methods, { defect: 'inner-void', featureKind: 'plane', thicknessMm: 20, largestUnseenMm: 1, raUm: 3.2, ferromagnetic: false }).map((test) => test.method.id) // -> ["radiography","ultrasonic","ct-defect"]
 */
export function defectTests(
  methods: readonly MethodsRow[],
  demand: DefectTestDemand,
): readonly DefectTest[] {
  const cost = ({ method }: DefectTest): number => method.minutesEach * method.ratePerH;
  return methods
    .filter((method) => method.measures.includes(measured[demand.defect]))
    .map((method) => judged(method, demand))
    .sort(
      (a, b) =>
        Number(a.against.length > 0) - Number(b.against.length > 0) ||
        cost(a) - cost(b) ||
        (a.method.id < b.method.id ? -1 : 1),
    );
}

function judged(method: MethodsRow, demand: DefectTestDemand): DefectTest {
  const { defect, featureKind, thicknessMm, largestUnseenMm, raUm, ferromagnetic } = demand;
  const foundMm = method.uncertaintyUm / 1000 + (method.uncertaintyUmM / 1e6) * thicknessMm;
  const hidden = featureKind === 'channel';
  const rules: readonly (readonly [boolean, string])[] = [
    [!method.kinds.includes(featureKind), `not for a ${featureKind}`],
    [method.needsAccess && hidden, 'the face cannot be reached'],
    [
      method.sizeMaxMm !== undefined && thicknessMm > method.sizeMaxMm,
      `thicker than ${method.sizeMaxMm} mm`,
    ],
    [
      foundMm > largestUnseenMm,
      `finds ${Number(foundMm.toPrecision(3))} mm, wanted ${largestUnseenMm} mm`,
    ],
    [method.id === 'magnetic-particle' && !ferromagnetic, 'the alloy is not ferromagnetic'],
    [
      method.id === 'penetrant' && raUm > roughestForPenetrant,
      `Ra ${raUm} um holds penetrant everywhere; machine or etch the face first`,
    ],
    [method.id === 'radiography' && defect === 'inner-crack', 'does not cover tight cracks'],
    [
      method.id === 'ultrasonic' && defect === 'powder-left',
      'sound does not tell powder from a void',
    ],
  ];
  return { method, foundMm, against: rules.flatMap(([fails, why]) => (fails ? [why] : [])) };
}
