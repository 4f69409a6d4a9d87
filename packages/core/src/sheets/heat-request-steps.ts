import type { Job } from '../job/types.js';
import type { Operation, Plan, ThermalCycle } from '../plan/types.js';
import { axisFromZero } from './axis.js';
import { loadSketch } from './load-sketch.js';
import { duration, shortest } from './print-numbers.js';
import type { Block, CurveBlock, Field } from './types.js';

/** One step: what to set, the curve, furnace and sensors, and what is checked after it. */
export function heatStepBlocks(
  plan: Plan,
  cycle: ThermalCycle,
  operation: Operation | undefined,
  job: Job | undefined,
): readonly Block[] {
  const title = operation?.title ?? cycle.treatment;
  const where = operation === undefined ? '' : `, ${operation.workCentre.name}`;
  return [
    { type: 'heading', text: `Operation ${cycle.operation}: ${title}${where}` },
    { type: 'fields', across: 3, fields: settings(cycle).filter((field) => field.value !== '') },
    curveBlock(cycle),
    ...loadSketch(plan, cycle, job),
    ...acceptance(plan, cycle),
  ];
}

function curveBlock(cycle: ThermalCycle): Block {
  const hours = cycle.curve.map(([minutes, celsius]) => [minutes / 60, celsius] as const);
  const hottest = Math.max(...cycle.curve.map(([, celsius]) => celsius));
  return {
    type: 'curve',
    title: `Part temperature, ±${shortest(cycle.toleranceC, 0)} °C at the holds`,
    x: axisFromZero('h', cycle.totalMinutes / 60, 8),
    y: axisFromZero('°C', hottest + cycle.toleranceC, 6),
    points: hours,
    band: toleranceBand(cycle),
    marks: (cycle.holds ?? []).map((hold) => ({
      x: holdStart(cycle, hold.temperatureC) / 60,
      y: hold.temperatureC,
      text: `${shortest(hold.temperatureC, 0)} °C, ${duration(hold.minutes)}`,
    })),
    inWords: cycle.curve
      .map(([minutes, celsius]) => `${duration(minutes)}: ${shortest(celsius, 0)} °C`)
      .join('; '),
  };
}

/** The tolerance holds while a temperature is held, not on the way to it. */
function toleranceBand({ curve, toleranceC }: ThermalCycle): NonNullable<CurveBlock['band']> {
  return curve.flatMap(([minutes, celsius], index) => {
    const hour = minutes / 60;
    const none = [hour, celsius, celsius] as const;
    if (!isHeld(curve, index)) return [none];
    const held = [hour, celsius - toleranceC, celsius + toleranceC] as const;
    const begins = curve[index - 1]?.[1] !== celsius;
    const ends = curve[index + 1]?.[1] !== celsius;
    return [...(begins ? [none] : []), held, ...(ends ? [none] : [])];
  });
}

/** The point begins or ends a stretch at one temperature. */
function isHeld(curve: ThermalCycle['curve'], index: number): boolean {
  const here = curve[index]?.[1];
  return curve[index - 1]?.[1] === here || curve[index + 1]?.[1] === here;
}

function holdStart(cycle: ThermalCycle, celsius: number): number {
  const index = cycle.curve.findIndex(
    (point, at) => point[1] === celsius && isHeld(cycle.curve, at),
  );
  return cycle.curve[index]?.[0] ?? 0;
}

function settings(cycle: ThermalCycle): readonly Field[] {
  const second = cycle.holds?.find((hold) => hold.what === 'second soak');
  const equalise = cycle.holds?.find((hold) => hold.what === 'equalise');
  return [
    {
      label: 'Set point',
      value: `${shortest(cycle.temperatureC, 0)} ±${shortest(cycle.toleranceC, 0)} °C`,
    },
    {
      label: 'Soak',
      value: `${duration(cycle.soakMinutes)}, from the coldest load sensor in the band`,
    },
    {
      label: 'Second soak',
      value:
        second === undefined
          ? ''
          : `${shortest(second.temperatureC, 0)} °C, ${duration(second.minutes)}`,
    },
    {
      label: 'Ramp',
      value: `≤ ${shortest(cycle.rampCPerMin, 1)} °C/min${cycle.rampLimit === undefined ? '' : ` (${cycle.rampLimit})`}`,
    },
    {
      label: 'Even out',
      value:
        equalise === undefined
          ? ''
          : `${shortest(equalise.temperatureC, 0)} °C, ${duration(equalise.minutes)}`,
    },
    {
      label: 'Pressure',
      value: cycle.pressureMPa === undefined ? '' : `≥ ${shortest(cycle.pressureMPa, 0)} MPa`,
    },
    { label: 'Atmosphere', value: cycle.atmosphere },
    { label: 'Cooling', value: cycle.cooling },
    {
      label: 'Keep inert to',
      value: cycle.inertBelowC === undefined ? '' : `${shortest(cycle.inertBelowC, 0)} °C`,
    },
    {
      label: 'Open below',
      value: cycle.releaseC === undefined ? '' : `${shortest(cycle.releaseC, 0)} °C`,
    },
    { label: 'Time in all', value: duration(cycle.totalMinutes) },
    { label: 'Parts', value: cycle.onPlate ? 'on the build plate' : 'loose' },
    { label: 'Furnace uniformity', value: cycle.uniformityClass },
    { label: 'Instruments', value: cycle.instrumentation ?? '' },
    { label: 'Load sensors', value: (cycle.sensors ?? []).join('; ') },
    { label: 'Condition after', value: cycle.conditionAfter },
    { label: 'Governing', value: cycle.governing },
    { label: 'Schedule', value: `${cycle.schedule} (${cycle.confidence})` },
  ];
}

function acceptance(plan: Plan, cycle: ThermalCycle): readonly Block[] {
  const checks = cycle.checks ?? [];
  if (checks.length === 0) return [];
  const change = cycle.sizeChange;
  return [
    {
      type: 'table',
      title: 'Checks after the step',
      columns: [
        { title: 'Check', align: 'left' },
        { title: 'On', align: 'left' },
        { title: 'Result', align: 'left', entryWidthMm: 22 },
      ],
      rows: checks.map((check) => [
        check.confidence === 'memory' ? `${check.check} [from memory: confirm]` : check.check,
        check.witness ?? 'parts',
        '',
      ]),
    },
    ...(change === undefined || (change.meanPerMm === 0 && change.highPerMm === change.lowPerMm)
      ? []
      : [
          {
            type: 'paragraph' as const,
            text: `Expected change of length of ${plan.job.part}: ${perMille(change.meanPerMm)} (${perMille(change.lowPerMm)} to ${perMille(change.highPerMm)}) mm per metre.`,
          },
        ]),
  ];
}

function perMille(changePerMm: number): string {
  return shortest(changePerMm * 1000, 2);
}
