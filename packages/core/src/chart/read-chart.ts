import { checkSchema } from '../job/check-schema.js';
import { readJsonText } from '../job/json-text.js';
import { inReadingOrder, readingLog } from '../job/reading-log.js';
import { type PathStep, pathText } from '../job/text-position.js';
import type { Finding } from '../problems/finding.js';
import type { Place, Problem } from '../problems/problem.js';
import { checkCutCosts } from './assign-tolerances.js';
import { fileReader } from './chart-file-reader.js';
import { checkChartInput } from './check-chart-input.js';
import { chartSchema, maxChartTextLength } from './schema.js';
import type { ChartInput, CutCost, WorkingLimits } from './types.js';

export interface ChartReading {
  /** Present when there are no problems. */
  readonly chart?: ChartInput;
  /** For `checkChart`: present when every cut gives its working dimension. */
  readonly workingDimensions?: readonly WorkingLimits[];
  /** What a check would miss: a problem, with its place, for every cut without one. */
  readonly notGiven: readonly Problem[];
  /** For `assignTolerances`: present when a cut has a cost or processes. */
  readonly costs?: readonly CutCost[];
  readonly problems: readonly Problem[];
  readonly findings: readonly Finding[];
}

/**
 * Reads a chart file (schema `chart/1`, JSON): lengths in the file's units or as texts with a unit,
 * blueprint dimensions and given working dimensions as on a drawing. Every problem is found in one
 * go, with line and column; nothing is thrown whatever the text is.
 *
 * @returns lengths in mm; costs in the unit of the file, scaled to tolerances in mm
 * @example
 * readChart({ json: '{ "cuts": ' }).problems[0].code // -> "json-syntax"
 */
export function readChart(source: { readonly json: string; readonly file?: string }): ChartReading {
  const log = readingLog();
  const { json, file } = source;
  const inFile = file === undefined ? {} : { file };
  if (json.length > maxChartTextLength) {
    const accept = `at most ${maxChartTextLength} characters`;
    log.problem('too-large', inFile, 'the chart text is too long', json.length, accept);
    return { notGiven: [], problems: log.problems, findings: [] };
  }
  const parsed = readJsonText(json, file);
  log.problems.push(...parsed.problems);
  if (parsed.value === undefined) return { notGiven: [], problems: log.problems, findings: [] };
  const placeAt = (path: readonly PathStep[]): Place => ({
    ...inFile,
    ...parsed.positionOf(path),
    ...(path.length === 0 ? {} : { path: pathText(path) }),
  });
  const { faults, sound } = checkSchema(chartSchema, parsed.value);
  for (const { path, code, message, value, accept } of faults)
    log.problem(code, placeAt(path), message, value, accept);
  const reader = fileReader(sound ?? {}, placeAt, log);
  const chart = reader.chart();
  const workingDimensions = reader.workingDimensions();
  const costs = reader.costs();
  // what could not be read would only be reported again as missing or contradictory
  const told = log.problems.flatMap(({ place }) => place.path ?? []);
  const report = (found: readonly Problem[], pathOf: (path: string) => PathStep[]): void => {
    for (const problem of found) {
      const path = pathOf(problem.place.path ?? '');
      const where = pathText(path);
      if (told.some((other) => other.startsWith(where) || where.startsWith(other))) continue;
      log.problems.push({ ...problem, place: placeAt(path) });
    }
  };
  if (faults.length === 0)
    report(checkChartInput(withTolerances(chart, costs)), (path) => filePath(path));
  if (log.problems.length === 0)
    report(checkCutCosts(chart, costs), (path) => costPath(path, chart, costs));
  const ok = log.problems.length === 0;
  return {
    ...(ok ? { chart } : {}),
    ...(ok && workingDimensions !== undefined ? { workingDimensions } : {}),
    ...(ok && costs.length > 0 ? { costs } : {}),
    notGiven: reader.notGiven(),
    problems: inReadingOrder(log.problems),
    findings: log.findings,
  };
}

/** A cut with a cost needs no tolerance yet. */
function withTolerances(chart: ChartInput, costs: readonly CutCost[]): ChartInput {
  const costed = new Set(costs.map(({ cut }) => cut));
  const cuts = chart.cuts.map((cut) =>
    costed.has(cut.id) && cut.toleranceMm === undefined ? { ...cut, toleranceMm: 1 } : cut,
  );
  return { ...chart, cuts };
}

/**
 * `costs[0].processes[1].lower` stands at the cut of that cost in the file, the bounds of a curve
 * inside its cost.
 */
function costPath(path: string, chart: ChartInput, costs: readonly CutCost[]): PathStep[] {
  const [, index = 0, ...rest] = filePath(path);
  const cut = chart.cuts.findIndex(({ id }) => id === costs[Number(index)]?.cut);
  const field = rest.at(-1);
  if (field === 'lower' || field === 'upper') rest.splice(-1, 0, 'cost');
  return ['cuts', cut, ...rest];
}

/** `cuts[2].minStockMm` of the chart stands at `cuts[2].minStock` of the file. */
function filePath(path: string): PathStep[] {
  return [...path.matchAll(/\[(\d+)\]|[A-Za-z]+/g)].map(([step, index]) =>
    index === undefined ? step.replace(/Mm$/, '') : Number(index),
  );
}
