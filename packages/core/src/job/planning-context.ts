import type { Catalog } from '../catalog/catalog.js';
import type { MaterialsRow } from '../catalog/generated/materials.js';
import type { PlanningDefaultsRow } from '../catalog/generated/planning-defaults.js';
import type { ProcessNeedsRow } from '../catalog/generated/process-needs.js';
import type { ProcessesRow } from '../catalog/generated/processes.js';
import type { ToolReachRow } from '../catalog/generated/tool-reach.js';
import type { WorkCentresRow } from '../catalog/generated/work-centres.js';
import type { Assumption, Finding } from '../problems/finding.js';
import type { Job } from './types.js';

/** A process with what it wants first. */
export interface Process {
  readonly id: string;
  readonly row: ProcessesRow;
  readonly needs: ProcessNeedsRow;
  /** How deep its tool goes and how it drifts, where that is limited. */
  readonly reach?: ToolReachRow;
  /** Rate in the unit of `needs`: the middle of the alloy family's own range, else of the general one. */
  readonly rate: number;
}

/**
 * What every room of planning reads: the job, the catalogue, and the notebook in which used defaults
 * and findings are written down. Reading a default is what records it as an assumption.
 */
export interface PlanningContext {
  readonly job: Job;
  readonly catalog: Catalog;
  readonly material: MaterialsRow;
  readonly quantity: number;
  /** Keeps what is dearer but faster among the choices, for the frontier of money against days. */
  readonly bothAims?: boolean;
  /** Minor currency units in one major unit, e.g. 100. */
  readonly minorPerMajor: number;
  readonly processes: ReadonlyMap<string, Process>;
  readonly workCentres: readonly WorkCentresRow[];
  defaultValue(id: string): number;
  optionalDefault(id: string): number | undefined;
  assume(assumption: Assumption): void;
  find(finding: Finding): void;
  readonly assumptions: () => readonly Assumption[];
  readonly findings: () => readonly Finding[];
}

/**
 * Opens the notebook for one planning run.
 *
 * @param quantity parts in the lot; normally `job.order.quantity`, another number for quantity breaks
 */
export function planningContext(job: Job, catalog: Catalog, quantity: number): PlanningContext {
  const material = catalog.materials.find((row) => row.id === job.part.material);
  if (material === undefined)
    throw new RangeError(`material ${job.part.material} is not in the catalogue`);
  const currency = catalog.currencies.find((row) => row.code === job.order.currency);
  if (currency === undefined)
    throw new RangeError(`currency ${job.order.currency} is not in the catalogue`);
  const assumptions = new Map<string, Assumption>();
  const findings = new Map<string, Finding>();
  const used = new Map<string, number>();
  const defaults = new Map(catalog.planningDefaults.map((row) => [row.id, row]));
  const use = (row: PlanningDefaultsRow): number => {
    assumptions.set(row.id, {
      what: row.what,
      value:
        row.unit === '1' || row.unit === 'year' ? String(row.value) : `${row.value} ${row.unit}`,
      source: row.source,
      confidence: row.confidence,
    });
    return row.value;
  };
  return {
    job,
    catalog,
    material,
    quantity,
    minorPerMajor: 10 ** currency.minorDigits,
    processes: allowedProcesses(job, catalog),
    workCentres: usableWorkCentres(job, catalog),
    defaultValue(id) {
      const known = used.get(id);
      if (known !== undefined) return known;
      const row = defaults.get(id);
      if (row === undefined) throw new RangeError(`planning default ${id} is not in the catalogue`);
      const value = use(row);
      used.set(id, value);
      return value;
    },
    optionalDefault(id) {
      const row = defaults.get(id);
      return row === undefined ? undefined : use(row);
    },
    assume(assumption) {
      assumptions.set(`${assumption.what}|${assumption.value}`, assumption);
    },
    find(finding) {
      findings.set(`${finding.id}|${finding.about ?? ''}`, finding);
    },
    assumptions: () => sortedBy(assumptions),
    findings: () => sortedBy(findings),
  };
}

/** Middle of a range of rates on a logarithmic scale. */
export function middle(low: number, high: number): number {
  return low > 0 ? Math.sqrt(low * high) : (low + high) / 2;
}

function sortedBy<T>(map: ReadonlyMap<string, T>): readonly T[] {
  return [...map].sort(([a], [b]) => (a < b ? -1 : a > b ? 1 : 0)).map(([, value]) => value);
}

function allowedProcesses(job: Job, catalog: Catalog): ReadonlyMap<string, Process> {
  const family = catalog.materials.find((row) => row.id === job.part.material)?.family ?? '';
  const needs = new Map(catalog.processNeeds.map((row) => [row.process, row]));
  const reaches = new Map(catalog.toolReach.map((row) => [row.process, row]));
  const allowed = new Map<string, Process>();
  for (const row of [...catalog.processes].sort((a, b) => (a.id < b.id ? -1 : 1))) {
    const need = needs.get(row.id);
    if (need === undefined) continue;
    if (job.policy.forbidden.includes(row.id)) continue;
    if (!need.families.includes('any') && !need.families.includes(family)) continue;
    const own = catalog.removalRates.find(
      (entry) => entry.process === row.id && entry.family === family,
    );
    const reach = reaches.get(row.id);
    allowed.set(row.id, {
      id: row.id,
      row,
      needs: need,
      ...(reach === undefined ? {} : { reach }),
      rate: middle(own?.rateLow ?? need.rateLow, own?.rateHigh ?? need.rateHigh),
    });
  }
  return allowed;
}

function usableWorkCentres(job: Job, catalog: Catalog): readonly WorkCentresRow[] {
  return [...catalog.workCentres]
    .filter((row) => job.policy.outsideWork || row.sourcing === 'in-house')
    .filter((row) => !job.policy.forbidden.includes(row.id))
    .filter((row) => fits(row, job))
    .sort((a, b) => (a.id < b.id ? -1 : 1));
}

/** The part fits in some orientation: sorted box against sorted capacity. */
function fits(row: WorkCentresRow, job: Job): boolean {
  const { capacityXMm, capacityYMm, capacityZMm } = row;
  if (capacityXMm === undefined || capacityYMm === undefined || capacityZMm === undefined)
    return true;
  const box = job.geometry.boxMm;
  if (box === undefined) return true;
  const room = [capacityXMm, capacityYMm, capacityZMm].sort((a, b) => a - b);
  const part = [...box].sort((a, b) => a - b);
  return part.every((side, axis) => side <= (room[axis] ?? 0));
}
