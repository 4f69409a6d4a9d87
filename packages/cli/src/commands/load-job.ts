import { join } from 'node:path';
import {
  type Assumption,
  type Catalog,
  checkCatalog,
  defaultCatalog,
  type Finding,
  type Job,
  jobVocabulary,
  mergeShop,
  type PartMeasures,
  type Plan,
  type Problem,
  parseNumber,
  planJob,
  type TriangleMesh,
} from '@offplate/core';
import { FileError, InvalidInput, UsageError } from '../failure.js';
import type { Io } from '../io.js';
import { fillFromMesh } from '../read/mesh-geometry.js';
import { readJobFrom } from '../read/read-job.js';
import { readShopFolder } from '../read/shop-folder.js';
import { type Arguments, operand } from './command.js';

// What the verbs that read a job have in common. It loads the core: import it inside `run` only.

export interface LoadedJob {
  readonly job: Job;
  readonly catalog: Catalog;
  /** What is worth saying about the files. */
  readonly findings: readonly Finding[];
  /** What the job does not say and its mesh does. */
  readonly assumptions: readonly Assumption[];
  /** The mesh that the job names. */
  readonly mesh?: TriangleMesh;
  /** What was measured on it. */
  readonly measures?: PartMeasures;
}

interface LoadedCatalog {
  readonly catalog: Catalog;
  readonly findings: readonly Finding[];
}

/** The job of the first operand and the catalogue, with `--shop` and `--quantity` applied. */
export async function loadJob(args: Arguments, io: Io): Promise<LoadedJob> {
  const source = operand(args, 0);
  if (source === '-' && io.stdinIsTerminal)
    throw new UsageError('- reads a job from the standard input: pipe one in');
  const quantity = wholeNumber(args, 'quantity', 1_000_000);
  const shop = loadCatalog(args);
  const { catalog } = shop;
  const {
    job: written,
    problems,
    findings: remarks,
  } = await readJobFrom(source, jobVocabulary(catalog), io.readStdin);
  throwUnreadable(problems, [source, join(source, 'job.json')]);
  if (written === undefined) throw new InvalidInput(problems);
  const filled = await fillFromMesh(written, source);
  const { job, assumptions, mesh, measures } = filled;
  if (job === undefined) throw new InvalidInput(filled.problems);
  const findings = [...shop.findings, ...remarks, ...filled.findings];
  return {
    job: quantity === undefined ? job : { ...job, order: { ...job.order, quantity } },
    catalog,
    findings,
    assumptions,
    ...(mesh === undefined ? {} : { mesh }),
    ...(measures === undefined ? {} : { measures }),
  };
}

/** The plan of the job of the first operand; its findings begin with those about the files. */
export async function loadPlan(args: Arguments, io: Io): Promise<Plan> {
  return planOf(await loadJob(args, io));
}

/** The plan of a job that was read, with what is to be said about its files. */
export function planOf({ job, catalog, findings, assumptions }: LoadedJob): Plan {
  const plan = planJob(job, catalog);
  return {
    ...plan,
    findings: [...findings, ...plan.findings],
    assumptions: [...assumptions, ...plan.assumptions],
  };
}

/** The built-in catalogue, with the shop's tables laid over it and checked when there are any. */
export function loadCatalog(args: Arguments): LoadedCatalog {
  const folder = args.values.get('shop');
  if (folder === undefined) return { catalog: defaultCatalog(), findings: [] };
  const shop = readShopFolder(folder);
  throwUnreadable(shop.problems, [folder]);
  const { catalog, problems } = mergeShop(defaultCatalog(), shop.tables);
  const found = [...shop.problems, ...problems];
  // a table with a problem is left out, so whatever refers to its rows would look wrong too
  const all = found.length > 0 ? found : checkCatalog(catalog);
  if (all.length > 0) throw new InvalidInput(all);
  return { catalog, findings: shop.findings };
}

/** What the user named on the command line and cannot be read is no fault of the data. */
function throwUnreadable(problems: readonly Problem[], named: readonly string[]): void {
  const unreadable = problems.find(
    ({ code, place }) =>
      code === 'file-missing' && place.path === undefined && named.includes(place.file ?? ''),
  );
  if (unreadable !== undefined)
    throw new FileError(`${unreadable.place.file ?? ''} cannot be read: ${unreadable.message}`);
}

/** The value of an option that counts something. */
export function wholeNumber(args: Arguments, name: string, most: number): number | undefined {
  const text = args.values.get(name);
  if (text === undefined) return undefined;
  const reading = parseNumber(text);
  if (reading.ok && Number.isInteger(reading.value) && reading.value >= 1 && reading.value <= most)
    return reading.value;
  throw new UsageError(
    `--${name} cannot be ${JSON.stringify(text)}; accepted: a whole number from 1 to ${most}`,
  );
}
