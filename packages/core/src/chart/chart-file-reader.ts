import type { Loose } from '../job/check-schema.js';
import { type Bound, readLengthMm } from '../job/measures.js';
import type { ReadingLog } from '../job/reading-log.js';
import type { PathStep } from '../job/text-position.js';
import { parseSize } from '../limits/parse-size.js';
import type { Place, Problem } from '../problems/problem.js';
import type { ProcessOption } from '../stack/allocation-types.js';
import type {
  ChartFile,
  CurveInFile,
  CutInFile,
  ProcessInFile,
  WrittenLength,
} from './chart-file.js';
import type {
  BlueprintDimension,
  ChartCut,
  ChartInput,
  CutCost,
  MmRange,
  WorkingLimits,
} from './types.js';

/** Parts of a chart file in mm; each function logs the problems that it meets. */
export interface FileReader {
  readonly chart: () => ChartInput;
  readonly workingDimensions: () => readonly WorkingLimits[] | undefined;
  /** Cuts that a check could not judge. */
  readonly notGiven: () => readonly Problem[];
  readonly costs: () => readonly CutCost[];
}

export function fileReader(
  input: Loose<ChartFile>,
  placeAt: (path: readonly PathStep[]) => Place,
  log: ReadingLog,
): FileReader {
  const unit = input.units ?? 'mm';
  const cuts = input.cuts ?? [];
  const length = (
    written: WrittenLength | undefined,
    path: readonly PathStep[],
    bound: Bound = 'positive',
  ): number | undefined => readLengthMm(written, { unit }, bound, placeAt(path), log);
  const sizeRange = (text: string | undefined, path: readonly PathStep[]): MmRange | undefined => {
    if (text === undefined) return undefined;
    const accept = 'a size with limits: "40 ±0.05", "12 0/-0.043", "19.95-20.05"';
    const reading = parseSize(text, { defaultUnit: unit });
    if (!reading.ok) {
      const message = `${reading.message} (character ${reading.column})`;
      log.problem('bad-size', placeAt(path), message, text, reading.accept);
      return undefined;
    }
    log.findings.push(...reading.findings);
    if (reading.value.form === 'size') {
      const { lowerMm, upperMm, open } = reading.value.size;
      if (lowerMm < upperMm && open === undefined) return { lowerMm, upperMm };
    }
    log.problem('bad-size', placeAt(path), 'the size has no pair of limits', text, accept);
    return undefined;
  };
  const given = cuts.map((cut, index) => sizeRange(cut?.given, ['cuts', index, 'given']));

  const readCut = (cut: Loose<CutInFile>, index: number): ChartCut => {
    const at = (field: string): readonly PathStep[] => ['cuts', index, field];
    const range = given[index];
    const toleranceMm =
      length(cut.tolerance, at('tolerance')) ??
      (range === undefined ? undefined : (range.upperMm - range.lowerMm) / 2);
    return {
      id: cut.id ?? '',
      datum: cut.datum ?? '',
      surface: cut.surface ?? '',
      ...present({
        operation: cut.operation,
        toleranceMm,
        sigmaMm: length(cut.sigma, at('sigma')),
        cp: cut.cp,
        minStockMm: length(cut.minStock, at('minStock'), 'any'),
        maxStockMm: length(cut.maxStock, at('maxStock')),
        roundToMm: length(cut.roundTo, at('roundTo')),
        statedAs: cut.statedAs,
      }),
    };
  };

  const readBlueprint = (): BlueprintDimension[] =>
    (input.blueprint ?? []).flatMap((dimension, index) => {
      if (dimension === undefined) return [];
      const at = (field: string): readonly PathStep[] => ['blueprint', index, field];
      const size = sizeRange(dimension.size, at('size'));
      const lowerMm = length(dimension.lower, at('lower'));
      const upperMm = length(dimension.upper, at('upper'));
      const limits = lowerMm !== undefined || upperMm !== undefined;
      if (dimension.size !== undefined && limits)
        log.problem(
          'inconsistent',
          placeAt(['blueprint', index]),
          'both a size and limits',
          dimension.id,
          'size, or lower and upper',
        );
      if (dimension.size === undefined && (lowerMm === undefined || upperMm === undefined))
        log.problem(
          'missing-field',
          placeAt(['blueprint', index]),
          'the dimension has no pair of limits',
          dimension.id,
          'size, or lower and upper',
        );
      return [
        {
          id: dimension.id ?? '',
          from: dimension.from ?? '',
          to: dimension.to ?? '',
          lowerMm: size?.lowerMm ?? lowerMm ?? 0,
          upperMm: size?.upperMm ?? upperMm ?? 0,
          ...present({ aim: dimension.aim }),
        },
      ];
    });

  const readCurve = (
    curve: Loose<CurveInFile>,
    path: readonly PathStep[],
  ): Omit<Extract<CutCost, { readonly cost: unknown }>, 'cut'> => {
    const power = curve.power ?? 1;
    const scale = (curve.scale ?? 1) * (unit === 'in' ? 25.4 ** power : 1);
    return {
      cost: { scale, power, ...present({ fixed: curve.fixed }) },
      ...present({
        lower: length(curve.lower, [...path, 'lower'], 'from-zero'),
        upper: length(curve.upper, [...path, 'upper']),
      }),
    };
  };

  const readProcess = (
    process: Loose<ProcessInFile>,
    path: readonly PathStep[],
  ): ProcessOption[] => {
    const { id = '', cost, price } = process;
    const tolerance = length(process.tolerance, [...path, 'tolerance']);
    const isGrade = process.tolerance !== undefined || price !== undefined;
    if (isGrade === (cost !== undefined))
      log.problem(
        'inconsistent',
        placeAt(path),
        'neither a grade nor a process with a cost curve',
        id,
        'tolerance and price, or cost',
      );
    if (cost !== undefined) return [{ id, ...readCurve(cost, [...path, 'cost']) }];
    if (tolerance !== undefined && price !== undefined) return [{ id, cost: price, tolerance }];
    if (isGrade)
      log.problem('missing-field', placeAt(path), 'half of a grade', id, 'tolerance and price');
    return [];
  };

  return {
    chart: () => ({
      ...present({
        title: input.title,
        axis: input.axis,
        rule: input.rule,
        coverage: input.coverage,
        roundToMm: length(input.roundTo, ['roundTo']),
      }),
      surfaces: (input.surfaces ?? []).map((surface) => ({
        id: surface?.id ?? '',
        ...present({ name: surface?.name, faces: surface?.faces }),
      })),
      cuts: cuts.map((cut, index) => readCut(cut ?? {}, index)),
      blueprint: readBlueprint(),
    }),
    workingDimensions: () => {
      const limits = cuts.flatMap((cut, index): WorkingLimits[] => {
        const range = given[index];
        return range === undefined ? [] : [{ cut: cut?.id ?? '', ...range }];
      });
      return limits.length > 0 && limits.length === cuts.length ? limits : undefined;
    },
    notGiven: () =>
      cuts.flatMap((cut, index): Problem[] =>
        given[index] === undefined
          ? [
              {
                code: 'missing-field',
                place: placeAt(['cuts', index]),
                message: 'no working dimension to check',
                ...(cut?.id === undefined ? {} : { value: cut.id }),
                accept: '"given": "47.42 0/-0.16" in the cut',
              },
            ]
          : [],
      ),
    costs: () =>
      cuts.flatMap((cut, index): CutCost[] => {
        const path = ['cuts', index];
        if (cut?.cost !== undefined && cut.processes !== undefined)
          log.problem('inconsistent', placeAt(path), 'both a cost and processes', cut.id, 'one');
        if (cut?.cost !== undefined)
          return [{ cut: cut.id ?? '', ...readCurve(cut.cost, [...path, 'cost']) }];
        if (cut?.processes === undefined) return [];
        const processes = cut.processes.flatMap((process, at) =>
          process === undefined ? [] : readProcess(process, [...path, 'processes', at]),
        );
        return [{ cut: cut.id ?? '', processes }];
      }),
  };
}

type Present<T> = { readonly [Key in keyof T]?: Exclude<T[Key], undefined> };

/** Leaves out what is undefined, as optional fields want it. */
function present<T extends object>(fields: T): Present<T> {
  return Object.fromEntries(
    Object.entries(fields).filter(([, value]) => value !== undefined),
  ) as Present<T>;
}
